"""Problem details (RFC 9457): one shape for every error, and the table of all problems with what each one means."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import orjson
from flask import Response, g, request

from turnrule.judging.faults import Fault

MEDIA_TYPE = "application/problem+json"


@dataclass(frozen=True, slots=True)
class Problem:
    """One kind of problem: its status, its title, and what a caller can do about it."""

    status: int
    title: str
    remedy: str


PROBLEMS: Mapping[str, Problem] = MappingProxyType(
    {
        "malformed_body": Problem(
            400, "The body cannot be read as JSON", "Send one JSON object in UTF-8; errors says what stands in the way."
        ),
        "invalid_parameters": Problem(
            400, "Parameters of the address cannot be taken", "Correct the parameters that errors names."
        ),
        "invalid_header": Problem(400, "A header cannot be taken", "Correct the header that errors names."),
        "bad_request": Problem(400, "The request cannot be read", "Send a well-formed HTTP request."),
        "unauthorized": Problem(
            401,
            "A key is needed",
            "Send Authorization: Bearer and a working key; keys are made with turnrule keys create.",
        ),
        "forbidden": Problem(
            403, "The key may not do this", "Use a key with the scope that detail names, or have one made."
        ),
        "second_person_needed": Problem(
            403,
            "The second entry is somebody else's",
            "Have somebody else enter the limits from the document, under a key of their own.",
        ),
        "third_person_needed": Problem(
            403,
            "The entries differ, and somebody who made none of them settles it",
            "Have a further person enter the limits from the document, under a key of their own.",
        ),
        "not_found": Problem(
            404,
            "There is nothing here",
            "Check the address; a key that is bound to a site sees that site's records only.",
        ),
        "method_not_allowed": Problem(405, "The method is not for this address", "Use one of the methods in Allow."),
        "not_acceptable": Problem(
            406, "The answer cannot be had in that form", "Ask in Accept for one of the types that detail names."
        ),
        "pack_policy": Problem(
            409,
            "The policy belongs to the reference pack",
            "Write a policy under a name of your own that inherits from it.",
        ),
        "entries_differ": Problem(
            409,
            "The second entry differs from the first",
            "Read the document again, at the fields that errors names; what the first entry says is not shown.",
        ),
        "pause_not_over": Problem(
            409,
            "The pause between two entries of one person is not over",
            "Enter it again, from the document, when detail says.",
        ),
        "draft_open": Problem(
            409,
            "A correction of this record is under way",
            "Have the open draft verified and released, or give it up by a withdrawal that names its revision.",
        ),
        "stale_revision": Problem(
            409,
            "The revision is not the newest accepted one",
            "Read the record's revisions again, and name the newest accepted one.",
        ),
        "nothing_to_verify": Problem(
            409, "No draft of this record waits for a second entry", "Look at the record's revisions."
        ),
        "nothing_to_withdraw": Problem(
            409, "There is nothing of this record to withdraw", "Look at the record's revisions."
        ),
        "nothing_to_publish": Problem(
            409,
            "Nothing is verified or withdrawn that is not released yet",
            "Have drafts verified first; /v1/coverage lists those that wait.",
        ),
        "release_race": Problem(
            409,
            "Another release came first",
            "Read what the newest release holds, and publish again if it is still called for.",
        ),
        "not_a_finished_part": Problem(
            409,
            "The verdict is not on a finished part",
            "Have the part judged with stage after_machining, and ask for the certificate of that verdict.",
        ),
        "stale": Problem(
            412, "The resource has changed since it was read", "Read it again, and send its ETag as If-Match."
        ),
        "body_too_large": Problem(413, "The body is too large", "Send at most 256 KiB."),
        "address_too_long": Problem(414, "The address is too long", "Shorten the query to fewer filters."),
        "unsupported_media_type": Problem(
            415,
            "The body is not of a type that is read here",
            "Send application/json in UTF-8, without Content-Encoding.",
        ),
        "invalid_request": Problem(
            422,
            "The request cannot be taken as it stands",
            "Correct every field that errors names, then send it again.",
        ),
        "application_not_found": Problem(
            422,
            "The store holds no limits for this vehicle",
            "Check the names that detail gives; or send limits of your own; or judge by the marking alone.",
        ),
        "application_ambiguous": Problem(
            422, "More than one record is for this part", "Have the records that detail names put in order."
        ),
        "brake_option_needed": Problem(
            422, "The vehicle was built with more than one brake", "Name the brake option in application."
        ),
        "policy_not_found": Problem(
            422, "There is no such policy", "Use a name that detail gives, or leave policy out."
        ),
        "lathe_not_found": Problem(
            422, "There is no such lathe", "Use a name that detail gives, or write the lathe first."
        ),
        "policy_not_for_site": Problem(
            422,
            "The site of the key is judged under another policy",
            "Leave policy out, or name one that inherits from the site's own policy.",
        ),
        "release_not_found": Problem(422, "There is no such release", "Leave release out for the newest one."),
        "batch_refused": Problem(
            422,
            "Items of a batch that is recorded all or none cannot be taken",
            "Correct what errors names, each pointer beginning with the place of its item, or leave atomic out.",
        ),
        "too_many_items": Problem(
            422, "So many items are not recorded all or none", "Send them in parts, or leave atomic out."
        ),
        "idempotency_key_reused": Problem(
            422, "The idempotency key was used with another body", "Use a new key for a new request."
        ),
        "warnings_unanswered": Problem(
            422,
            "Warnings about the limits are not answered",
            "Look at the document again. Where it does say so, send each warning of errors in answered_warnings, "
            "with the reason why it stands.",
        ),
        "invalid_policy": Problem(
            422, "The policy cannot be taken", "Correct what errors names; a policy only tightens."
        ),
        "precondition_required": Problem(
            428,
            "The change must say what it is based on",
            "Send If-Match with the ETag that was read; for a new resource send If-None-Match: *.",
        ),
        "too_many_requests": Problem(429, "Too many requests under this key", "Wait as long as Retry-After says."),
        "headers_too_large": Problem(
            431, "The headers are too large", "Send at most 100 headers of at most 8,190 bytes each."
        ),
        "internal_error": Problem(
            500, "Something went wrong here", "Try again; if it stays, report the request_id. Nothing was recorded."
        ),
        "store_unavailable": Problem(
            503, "The store cannot be reached or written", "Try again as Retry-After says; nothing was recorded."
        ),
        "store_not_migrated": Problem(
            503, "The store is not of this version", "The operator has to run turnrule store migrate."
        ),
    }
)
"""Every problem by its code; `type` of an answer is `/problems/` and the code."""


@dataclass(frozen=True, slots=True)
class ParameterFault:
    """A fault of a query parameter or a header, which no JSON Pointer can name."""

    parameter: str
    code: str
    detail: str


class ProblemError(Exception):
    """Ends a request with this problem."""

    def __init__(
        self,
        code: str,
        detail: str,
        faults: Iterable[Fault | ParameterFault] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail
        self.faults = tuple(faults)
        self.headers = dict(headers or {})

    def as_response(self) -> Response:
        """The answer that tells it."""
        return problem(self.code, self.detail, self.faults, self.headers)


def problem(
    code: str,
    detail: str,
    faults: Iterable[Fault | ParameterFault] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """A problem as a response."""
    content = problem_bytes(code, detail, instance=request.path, request_id=g.get("request_id"), faults=faults)
    response = Response(content, status=PROBLEMS[code].status, mimetype=MEDIA_TYPE)
    response.headers.extend(headers or {})
    return response


def problem_bytes(
    code: str,
    detail: str,
    *,
    instance: str,
    request_id: str | None,
    faults: Iterable[Fault | ParameterFault] = (),
) -> bytes:
    """A problem as it is sent."""
    kind = PROBLEMS[code]
    return _dumped(
        {
            "type": f"/problems/{code}",
            "title": kind.title,
            "status": kind.status,
            "detail": detail,
            "instance": instance,
            "request_id": request_id,
            "errors": [_error(fault) for fault in faults],
        }
    )


def _error(fault: Fault | ParameterFault) -> dict[str, str]:
    if isinstance(fault, ParameterFault):
        return {"pointer": "", "parameter": fault.parameter, "code": fault.code, "detail": fault.detail}
    return {"pointer": fault.pointer, "code": fault.code, "detail": fault.detail}


def _dumped(document: object) -> bytes:
    """JSON, even where an address holds what is no text: that part is shown as escapes."""
    try:
        return orjson.dumps(document)
    except TypeError:
        return orjson.dumps(_showable(document))


def _showable(value: object) -> object:
    if isinstance(value, str):
        return value.encode("utf-8", "backslashreplace").decode()
    if isinstance(value, dict):
        return {name: _showable(inner) for name, inner in value.items()}
    return [_showable(inner) for inner in value] if isinstance(value, list) else value

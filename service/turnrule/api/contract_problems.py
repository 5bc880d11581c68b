"""How errors stand in the contract: the one schema of every problem, and one response for each set of problems."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.contract_examples import Example, examples
from turnrule.api.contract_parts import Schema, ref, several, text, thing, whole
from turnrule.api.problems import MEDIA_TYPE, PROBLEMS

Headers = Mapping[str, Schema]


class ProblemResponse(NamedTuple):
    """The problems that one response may tell; all of them have the same status."""

    codes: tuple[str, ...]
    headers: tuple[str, ...] = ()

    @property
    def status(self) -> str:
        """Its status, as the contract writes it."""
        [status] = {PROBLEMS[code].status for code in self.codes}
        return str(status)


RESPONSES: Mapping[str, ProblemResponse] = MappingProxyType(
    {
        "BadRequest": ProblemResponse(("bad_request",)),
        "BadParameters": ProblemResponse(("invalid_parameters", "bad_request")),
        "BadBody": ProblemResponse(("malformed_body", "invalid_parameters", "bad_request")),
        "BadBodyOrHeader": ProblemResponse(("malformed_body", "invalid_parameters", "invalid_header", "bad_request")),
        "Unauthorized": ProblemResponse(("unauthorized",), ("WWW-Authenticate",)),
        "Forbidden": ProblemResponse(("forbidden",)),
        "OtherPersonNeeded": ProblemResponse(("forbidden", "second_person_needed", "third_person_needed")),
        "NotFound": ProblemResponse(("not_found",)),
        "MethodNotAllowed": ProblemResponse(("method_not_allowed",), ("Allow",)),
        "PolicyOfThePack": ProblemResponse(("pack_policy",)),
        "EntryInTheWay": ProblemResponse(("draft_open", "stale_revision")),
        "SecondEntryInTheWay": ProblemResponse(("entries_differ", "pause_not_over", "nothing_to_verify")),
        "NothingToWithdraw": ProblemResponse(("nothing_to_withdraw", "stale_revision")),
        "NothingToPublish": ProblemResponse(("nothing_to_publish", "release_race")),
        "NotFinished": ProblemResponse(("not_a_finished_part",)),
        "Stale": ProblemResponse(("stale",)),
        "BodyTooLarge": ProblemResponse(("body_too_large",)),
        "AddressTooLong": ProblemResponse(("address_too_long",)),
        "UnsupportedMediaType": ProblemResponse(("unsupported_media_type",)),
        "NotAcceptable": ProblemResponse(("not_acceptable",)),
        "ReplayRefused": ProblemResponse(("invalid_request", "policy_not_found", "release_not_found")),
        "BatchRefused": ProblemResponse(("batch_refused", "too_many_items", "idempotency_key_reused")),
        "RequestRefused": ProblemResponse(
            (
                "invalid_request",
                "application_not_found",
                "application_ambiguous",
                "brake_option_needed",
                "policy_not_found",
                "policy_not_for_site",
                "release_not_found",
                "lathe_not_found",
                "idempotency_key_reused",
            )
        ),
        "SetupRefused": ProblemResponse(
            (
                "invalid_request",
                "application_not_found",
                "application_ambiguous",
                "brake_option_needed",
                "policy_not_found",
                "policy_not_for_site",
                "release_not_found",
                "lathe_not_found",
            )
        ),
        "EntryRefused": ProblemResponse(("invalid_request", "warnings_unanswered", "idempotency_key_reused")),
        "BodyRefused": ProblemResponse(("invalid_request", "idempotency_key_reused")),
        "PolicyRefused": ProblemResponse(("invalid_request", "invalid_policy", "policy_not_found")),
        "LatheRefused": ProblemResponse(("invalid_request",)),
        "SiteRefused": ProblemResponse(("invalid_request", "policy_not_found")),
        "PreconditionRequired": ProblemResponse(("precondition_required",)),
        "TooManyRequests": ProblemResponse(("too_many_requests",), ("Retry-After",)),
        "HeadersTooLarge": ProblemResponse(("headers_too_large",)),
        "InternalError": ProblemResponse(("internal_error",)),
        "Unavailable": ProblemResponse(("store_unavailable", "store_not_migrated"), ("Retry-After",)),
    }
)
"""Every response that is a problem, by its name among the components."""

REQUEST_HEADERS = ("X-Request-ID",)
"""Every answer carries these."""


def problem_schemas() -> dict[str, Schema]:
    """The schemas of a problem."""
    known = "; ".join(f"`{code}`: {fault.meaning}" for code, fault in FAULT_CODES.items())
    fault = thing(
        "One fault of a request.",
        {
            "pointer": text(
                "JSON Pointer (RFC 6901) into the body; empty for the whole of it and for parameters and headers."
            ),
            "code": text(f"A stable code. New ones may be added. {known}", pattern="^[a-z][a-z0-9_]*$"),
            "detail": text("What is wrong and what to do, in a sentence."),
        },
        {"parameter": text("The parameter or header that is at fault, where it is not the body.")},
    )
    problem = thing(
        "A problem (RFC 9457): the one shape of every error.",
        {
            "type": text(
                "The address that explains this kind of problem: /problems/ and its code.", format="uri-reference"
            ),
            "title": text("What kind of problem it is; the same for all of this type."),
            "status": whole("The status of the answer.", minimum=400, maximum=599),
            "detail": text("What happened this time."),
            "instance": text("The path that was asked for."),
            "request_id": text("The id of this request, as in X-Request-ID and in the service's log.", maxLength=64),
            "errors": several(ref("Fault"), "Every fault that was found, all in one answer."),
        },
    )
    return {"Problem": problem, "Fault": fault}


def problem_response(name: str) -> Schema:
    """One response that is a problem, with an example for each code that has one."""
    response = RESPONSES[name]
    shown = {one.component: {"$ref": f"#/components/examples/{one.component}"} for one in _shown(response.codes)}
    content: Schema = {"schema": ref("Problem")}
    if shown:
        content["examples"] = shown
    told = " ".join(f"`{code}`: {PROBLEMS[code].title}. {PROBLEMS[code].remedy}" for code in response.codes)
    return {
        "description": told,
        "headers": header_refs((*REQUEST_HEADERS, *response.headers)),
        "content": {MEDIA_TYPE: content},
    }


def header_refs(names: Sequence[str]) -> Schema:
    """Headers of a response, by reference."""
    return {name: {"$ref": f"#/components/headers/{name}"} for name in names}


def _shown(codes: Sequence[str]) -> list[Example]:
    types = {f"/problems/{code}" for code in codes}
    return [
        one
        for one in examples().values()
        if one.is_problem and isinstance(one.answered, dict) and one.answered["type"] in types
    ]


def header_components() -> dict[str, Schema]:
    """Every header of an answer that the contract speaks of."""
    tag = {"type": "string", "pattern": '^"[0-9a-f]{32}"$'}
    return {
        "X-Request-ID": _header(
            "The id of this request: the caller's own where it can be one, else one that was made.",
            {"type": "string", "pattern": "^[A-Za-z0-9._-]{1,64}$"},
            "7f8a0c4e5b9d4d1e",
        ),
        "ETag": _header(
            "A strong tag of these bytes, for If-None-Match and If-Match.", tag, f'"{"0123456789abcdef" * 2}"'
        ),
        "Cache-Control": _header(
            "A copy may be kept by the caller, and is asked after before each use; where it says immutable, it never "
            "changes, and need not be asked after for a year.",
            {"type": "string"},
            "private, no-cache",
        ),
        "Link": _header(
            "The next page (RFC 8288); not there on the last.",
            {"type": "string", "pattern": '^</[^>]*>; rel="next"$'},
            '</v1/limits?limit=2&after=WzEsIjIwMjYtMTEtMDIiLCJjb3J2YW5lIl0>; rel="next"',
            required=False,
        ),
        "Vary": _header("What else the answer hangs on (RFC 9110, 12.5.5).", {"type": "string"}, "Accept"),
        "Location": _header(
            "The address of what was made.", {"type": "string", "format": "uri-reference"}, "/v1/policies/north_depot"
        ),
        "Idempotency-Replayed": _header(
            "true where this Idempotency-Key came before: these are the first answer's bytes; nothing was recorded.",
            {"type": "string", "const": "true"},
            "true",
            required=False,
        ),
        "Retry-After": _header("Seconds to wait.", {"type": "string", "pattern": "^[0-9]+$"}, "5"),
        "WWW-Authenticate": _header(
            "The scheme that is asked for (RFC 6750).",
            {"type": "string", "pattern": "^Bearer "},
            'Bearer realm="turnrule"',
        ),
        "Allow": _header("The methods of this address.", {"type": "string"}, "GET, HEAD"),
    }


def _header(description: str, schema: Schema, example: str, *, required: bool = True) -> Schema:
    return {"description": description, "required": required, "schema": schema, "example": example}

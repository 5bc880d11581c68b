"""How answers go out: JSON with an ETag where it can be kept, pages with a cursor, and nothing that can be sniffed."""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Mapping
from urllib.parse import urlencode

import orjson
from flask import Response, request

from turnrule.actions.answers import Json
from turnrule.actions.numbers import write_exact
from turnrule.api.problems import ParameterFault, ProblemError

JSON = "application/json"
_TOO_GREAT = 2**63


def json_response(content: bytes, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """JSON bytes as a response."""
    response = Response(content, status=status, mimetype=JSON)
    response.headers.extend(headers or {})
    return response


def json_bytes(document: object) -> bytes:
    """A document as it is sent."""
    return orjson.dumps(document)


def etag_of(content: bytes) -> str:
    """A strong entity tag of these bytes."""
    return f'"{hashlib.sha256(content).hexdigest()[:32]}"'


ASKED_AFTER = "private, no-cache"
"""A copy is kept by the caller and asked after before each use."""

FOR_EVER = "private, max-age=31536000, immutable"
"""What stands at this address never changes (RFC 8246)."""


def kept_response(content: bytes, headers: Mapping[str, str] | None = None, *, immutable: bool = False) -> Response:
    """JSON that the caller may keep: with its ETag, or 304 where the caller has it already.

    `immutable` where this address will be answered with the same bytes for ever.
    """
    etag = etag_of(content)
    keeping = {"ETag": etag, "Cache-Control": FOR_EVER if immutable else ASKED_AFTER, **(headers or {})}
    if _matches(request.headers.get("If-None-Match", ""), etag, weak=True):
        response = Response(status=304)
        response.headers.extend(keeping)
        return response
    return json_response(content, headers=keeping)


def _matches(header: str, etag: str, *, weak: bool) -> bool:
    """True where a list of entity tags holds this one, or is the star (RFC 9110, 13.1)."""
    tags = [tag.strip() for tag in header.split(",")]
    if weak:
        tags = [tag.removeprefix("W/") for tag in tags]
    return "*" in tags or etag in tags


def require_match(content: bytes | None) -> None:
    """Let a change through only where the caller knows what it changes; `content` is None where nothing is there yet.

    Raises the problems 428 and 412.
    """
    if_match, if_none_match = request.headers.get("If-Match"), request.headers.get("If-None-Match")
    if content is None:
        if if_match is not None:
            raise ProblemError("stale", "there is nothing here yet that If-Match could match")
        if if_none_match is None or if_none_match.strip() != "*":
            raise ProblemError("precondition_required", "nothing is here yet; send If-None-Match: * to make it")
        return
    if if_none_match is not None and if_none_match.strip() == "*":
        raise ProblemError("stale", "If-None-Match: * asks that nothing is here, and something is")
    if if_match is None:
        raise ProblemError("precondition_required", "send If-Match with the ETag of what you have read")
    if not _matches(if_match, etag_of(content), weak=False):
        raise ProblemError("stale", "this has changed since you read it; read it again")


def cursor_for(*parts: object) -> str:
    """A place in a list, as the caller hands it back."""
    return base64.urlsafe_b64encode(orjson.dumps(parts)).decode().rstrip("=")


def parts_of(cursor: str, *types: type) -> list[object]:
    """What a cursor was made from. Raises the problem 400 where it was made elsewhere."""
    try:
        parts = orjson.loads(base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True))
    except (binascii.Error, ValueError):
        parts = None
    if not isinstance(parts, list) or len(parts) != len(types) or not all(map(_fits, parts, types)):
        detail = "this is no cursor of this list; begin without after"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("after", "invalid_cursor", detail)])
    return parts


def _fits(part: object, kind: type) -> bool:
    return type(part) is kind and not (isinstance(part, int) and not 0 <= part < _TOO_GREAT)


def page_of(
    items: list[Json], cursor: str | None, beside: Mapping[str, object] | None = None, *, immutable: bool = False
) -> Response:
    """A page of a list: its items, the cursor of the next page in the body and as a Link, null on the last."""
    content = write_exact({"items": items, "next": cursor, **(beside or {})})
    headers = {}
    if cursor is not None:
        query = {**request.args.to_dict(), "after": cursor}
        headers["Link"] = f'<{request.path}?{urlencode(query)}>; rel="next"'
    return kept_response(content, headers, immutable=immutable)

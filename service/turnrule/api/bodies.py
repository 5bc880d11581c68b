"""The body of a request: its type and size checked before a byte of it is read."""

from __future__ import annotations

import re

from flask import request
from werkzeug.exceptions import RequestEntityTooLarge

from turnrule.api.faults import TooLargeError
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.api.problems import ParameterFault, ProblemError

_JSON = re.compile(r'application/json(?:[ \t]*;[ \t]*charset="?utf-8"?)?[ \t]*', re.IGNORECASE)
_VISIBLE = re.compile(r"[!-~]{1,255}")


def json_body() -> bytes:
    """The bytes of a JSON body, all of them. Raises a problem 415 or 400, or `TooLargeError`."""
    encoding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding not in {"", "identity"}:
        raise ProblemError(
            "unsupported_media_type", f"Content-Encoding {encoding!r} is not read; send the body as it is"
        )
    content_type = request.headers.get("Content-Type", "")
    if _JSON.fullmatch(content_type.strip()) is None:
        raise ProblemError("unsupported_media_type", "Content-Type must be application/json, in UTF-8")
    body = _whole_body()
    if len(body) > LARGEST_BODY:
        raise TooLargeError(f"the body is longer than {LARGEST_BODY} bytes")
    if request.content_length not in {None, len(body)}:
        raise ProblemError("bad_request", f"the body ends after {len(body)} bytes, before its Content-Length")
    return body


def _whole_body() -> bytes:
    """What came as the body, and one byte more than is read where it is longer, however it was sent."""
    try:
        return request.get_data(cache=False)
    except RequestEntityTooLarge:
        raise TooLargeError(f"the body is longer than {LARGEST_BODY} bytes") from None
    except Exception:  # noqa: BLE001 - a stream that breaks, or chunks that are none, raise whatever the server has
        raise ProblemError("bad_request", "the body broke off or was not sent as its headers say") from None


def idempotency_key() -> str | None:
    """The Idempotency-Key header, if there is one. Raises a problem 400 where it cannot be a key."""
    keys = request.headers.getlist("Idempotency-Key")
    if not keys:
        return None
    if len(keys) > 1 or _VISIBLE.fullmatch(keys[0]) is None:
        detail = "one Idempotency-Key of 1 to 255 visible ASCII characters"
        raise ProblemError("invalid_header", detail, [ParameterFault("Idempotency-Key", "invalid_text", detail)])
    return keys[0]

"""What the server refuses before the service sees it, told as the service tells every error: as a problem."""

from __future__ import annotations

import secrets
import socket
from typing import Any

from gunicorn.http.errors import LimitRequestHeaders, LimitRequestLine, ParseException
from gunicorn.util import write_nonblock
from gunicorn.workers.gthread import ThreadWorker

from turnrule.api.problems import MEDIA_TYPE, PROBLEMS, problem_bytes
from turnrule.api.request_hooks import HEADERS

_PHRASES = {
    400: "Bad Request",
    414: "URI Too Long",
    431: "Request Header Fields Too Large",
    500: "Internal Server Error",
}


class ProblemWorker(ThreadWorker):
    """A worker whose own refusals are problems; its page would be HTML."""

    def handle_error(self, req: object, client: socket.socket, addr: Any, exc: BaseException) -> None:  # noqa: ANN401
        """Answer a request that is no HTTP, or too long in line or headers, and let go of the connection."""
        del req, addr  # neither can be trusted before it was read
        code, detail = _refusal(exc)
        request_id = secrets.token_hex(16)
        level = self.log.error if code == "internal_error" else self.log.info
        level("refused before it was read: %s (%s)", type(exc).__name__, request_id)
        try:
            write_nonblock(client, refusal(code, detail, request_id))
        except OSError:
            self.log.debug("the caller did not wait for the answer")


def _refusal(error: BaseException) -> tuple[str, str]:
    if isinstance(error, LimitRequestLine):
        return "address_too_long", "the request line is longer than is read"
    if isinstance(error, LimitRequestHeaders):
        return "headers_too_large", "more or longer headers than are read"
    if isinstance(error, ParseException):
        return "bad_request", "this is no well-formed HTTP request"
    return "internal_error", "this should not have happened; it was logged under the request_id"


def refusal(code: str, detail: str, request_id: str) -> bytes:
    """The whole answer, to the last byte."""
    status = PROBLEMS[code].status
    content = problem_bytes(code, detail, instance="", request_id=request_id)
    headers = {
        "Connection": "close",
        "Content-Type": MEDIA_TYPE,
        "Content-Length": str(len(content)),
        "X-Request-ID": request_id,
        **HEADERS,
    }
    head = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    return f"HTTP/1.1 {status} {_PHRASES[status]}\r\n{head}\r\n".encode() + content

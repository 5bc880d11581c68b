"""What happens around every request: its id, its clock, its line in the log, its headers."""

from __future__ import annotations

import logging
import re
import secrets
import time

from flask import Flask, Response, g, request

from turnrule.api.metrics import Metrics
from turnrule.api.problems import ProblemError
from turnrule.store.port import Key

logger = logging.getLogger("turnrule.api")

LONGEST_ADDRESS = 4000
"""Path and query together, in characters."""

_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")

HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
"""Set on every answer that does not set them itself."""


def register_hooks(app: Flask, metrics: Metrics) -> None:
    """Run these around every request of the application."""

    @app.before_request
    def begin() -> None:
        g.begun = time.perf_counter()
        given = request.headers.get("X-Request-ID", "")
        g.request_id = given if _REQUEST_ID.fullmatch(given) else secrets.token_hex(16)
        if len(request.path) + len(request.query_string) > LONGEST_ADDRESS:
            raise ProblemError("address_too_long", f"path and query may have {LONGEST_ADDRESS} characters together")

    @app.after_request
    def finish(response: Response) -> Response:
        seconds = time.perf_counter() - g.begun
        metrics.count_request(response.status_code, seconds)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        response.headers["X-Request-ID"] = g.request_id
        if logger.isEnabledFor(logging.INFO):
            _log(response, seconds)
        return response


def _log(response: Response, seconds: float) -> None:
    """One line for each request: the route and never the address or the body, the key's name and never its secret."""
    key: Key | None = g.get("key")
    logger.info(
        "request",
        extra={
            "request_id": g.request_id,
            "method": request.method,
            "route": request.url_rule.rule if request.url_rule is not None else None,
            "status": response.status_code,
            "milliseconds": round(seconds * 1000, 3),
            "key": key.name if key is not None else None,
            "location": response.headers.get("Location"),
        },
    )

"""Every error as a problem: what the rooms below raise, what Flask raises, and what nobody expected."""

from __future__ import annotations

import logging

from flask import Flask, Response, g
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from turnrule.actions.refusals import RefusedError
from turnrule.api.faults import FaultsError, MalformedError, TooLargeError
from turnrule.api.problems import ProblemError, problem
from turnrule.judging.faults import PartError
from turnrule.pack import PolicyError
from turnrule.store.port import IdempotencyConflictError, StoreError, StoreNotMigratedError

logger = logging.getLogger("turnrule.api")

RETRY_AFTER_SECONDS = "5"

_BY_STATUS = {
    400: ("bad_request", "the request cannot be read"),
    404: ("not_found", "there is nothing at this address"),
    405: ("method_not_allowed", "this address does not take that method"),
    413: ("body_too_large", "the body is longer than is read"),
    414: ("address_too_long", "the address is longer than is read"),
    415: ("unsupported_media_type", "the body is not of a type that is read here"),
}


def register_errors(app: Flask) -> None:
    """Answer every error of this application with a problem."""
    app.register_error_handler(ProblemError, ProblemError.as_response)
    app.register_error_handler(MalformedError, _malformed)
    app.register_error_handler(FaultsError, _faulty)
    app.register_error_handler(PartError, _unjudgeable)
    app.register_error_handler(RefusedError, _refused)
    app.register_error_handler(PolicyError, _loosening)
    app.register_error_handler(TooLargeError, _too_large)
    app.register_error_handler(IdempotencyConflictError, _reused)
    app.register_error_handler(StoreError, _unstored)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _unexpected)


def _malformed(error: MalformedError) -> Response:
    return problem("malformed_body", error.faults[0].detail, error.faults)


def _faulty(error: FaultsError) -> Response:
    return problem("invalid_request", _counted(len(error.faults)), error.faults)


def _unjudgeable(error: PartError) -> Response:
    return problem("invalid_request", _counted(len(error.faults)), error.faults)


def _loosening(error: PolicyError) -> Response:
    return problem("invalid_policy", _counted(len(error.faults)), error.faults)


def _counted(faults: int) -> str:
    return "1 fault; errors names it" if faults == 1 else f"{faults} faults; errors names each"


def _refused(error: RefusedError) -> Response:
    detail = error.faults[0].detail if len(error.faults) == 1 else _counted(len(error.faults))
    return problem(error.code, detail, error.faults)


def _too_large(error: TooLargeError) -> Response:
    return problem("body_too_large", str(error))


def _reused(_error: IdempotencyConflictError) -> Response:
    return problem("idempotency_key_reused", "this Idempotency-Key came before, with another body")


def _unstored(error: StoreError) -> Response:
    """The cause goes to the log: it may name files of this machine."""
    logger.error("store_error", extra={"request_id": g.get("request_id"), "code": error.code, "cause": str(error)})
    code = "store_not_migrated" if isinstance(error, StoreNotMigratedError) else "store_unavailable"
    detail = "nothing was recorded, and so there is no verdict; try again"
    return problem(code, detail, headers={"Retry-After": RETRY_AFTER_SECONDS})


def _http(error: HTTPException) -> Response:
    status = error.code or 500
    unnamed = "bad_request" if 400 <= status < 500 else "internal_error"  # noqa: PLR2004 - the range of a status class
    code, detail = _BY_STATUS.get(status, (unnamed, "the request could not be served"))
    headers = {}
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        headers["Allow"] = ", ".join(sorted(error.valid_methods))
    return problem(code, detail, headers=headers)


def _unexpected(error: Exception) -> Response:
    logger.error("unexpected_error", extra={"request_id": g.get("request_id")}, exc_info=error)
    return problem("internal_error", "this should not have happened; it was logged under the request_id")

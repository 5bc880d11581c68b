"""Every error as a problem: what the rooms below raise, what Flask raises, and what nobody expected."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from typing import NamedTuple

from flask import Flask, Response, g
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from turnrule.actions.refusals import RefusedError
from turnrule.api.faults import FaultsError, MalformedError, TooLargeError
from turnrule.api.problems import ProblemError, problem
from turnrule.judging.faults import Fault, PartError
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
    for known in (FaultsError, PartError, RefusedError, PolicyError, TooLargeError, IdempotencyConflictError):
        app.register_error_handler(known, _known)
    app.register_error_handler(StoreError, _unstored)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _unexpected)


class Told(NamedTuple):
    """An error as a problem: its code, its detail, and what it names."""

    code: str
    detail: str
    faults: Sequence[Fault]


def told(error: Exception) -> Told:
    """The problem that an error of the rooms below is; of one that is not known here, only that it happened."""
    if isinstance(error, FaultsError | PartError | PolicyError | RefusedError):
        return _named(error)
    if isinstance(error, TooLargeError):
        return Told("body_too_large", str(error), ())
    if isinstance(error, IdempotencyConflictError):
        return Told("idempotency_key_reused", "this Idempotency-Key came before, with another body", ())
    if isinstance(error, StoreError):
        code = "store_not_migrated" if isinstance(error, StoreNotMigratedError) else "store_unavailable"
        return Told(code, "nothing was recorded, and so there is no verdict; try again", ())
    return Told("internal_error", "this should not have happened; it was logged under the request_id", ())


def _named(error: FaultsError | PartError | PolicyError | RefusedError) -> Told:
    """An error that names its faults; a malformed body, and a refusal for one reason, tell it in the detail as well."""
    alone = isinstance(error, MalformedError) or (isinstance(error, RefusedError) and len(error.faults) == 1)
    return Told(error.code, error.faults[0].detail if alone else _counted(len(error.faults)), error.faults)


def _counted(faults: int) -> str:
    return "1 fault; errors names it" if faults == 1 else f"{faults} faults; errors names each"


def _known(error: Exception) -> Response:
    return problem(*told(error))


def _unstored(error: StoreError) -> Response:
    """The cause goes to the log: it may name files of this machine."""
    log_store_error(error, g.get("request_id"))
    return problem(*told(error), headers={"Retry-After": RETRY_AFTER_SECONDS})


def log_store_error(error: StoreError, request_id: str | None) -> None:
    """What the store said, for the operator."""
    logger.error("store_error", extra={"request_id": request_id, "code": error.code, "cause": str(error)})


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
    return problem(*told(error))

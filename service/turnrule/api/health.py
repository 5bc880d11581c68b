"""Whether the service lives, whether it is ready, what it has counted, and what each problem means."""

from __future__ import annotations

import orjson
from flask import Blueprint, Response, current_app

from turnrule.api import queries
from turnrule.api.answering import json_bytes, json_response, kept_response
from turnrule.api.keeping_out import desk
from turnrule.api.metrics import Metrics
from turnrule.api.problems import PROBLEMS, Problem, ProblemError
from turnrule.store.port import StoreNotMigratedError

blueprint = Blueprint("health", __name__)


@blueprint.get("/healthz")
def lives() -> Response:
    """Tell that this process answers; nothing else is looked at."""
    return json_response(b'{"status":"alive"}')


@blueprint.get("/readyz")
def ready() -> Response:
    """Tell whether the store can be read and written now."""
    store = desk().store
    if store.pending():
        raise StoreNotMigratedError("migrations are pending")
    store.ping()
    return json_response(orjson.dumps({"status": "ready", "pack": desk().pack.version}))


@blueprint.get("/metrics")
def metrics() -> Response:
    """Give what was counted, for Prometheus."""
    counted: Metrics = current_app.extensions["turnrule.metrics"]
    return counted.as_response()


@blueprint.get("/problems")
def problems() -> Response:
    """List every problem that an answer may name as its type."""
    queries.read_query(queries.NONE)
    return kept_response(json_bytes({"items": [_meaning(code, kind) for code, kind in PROBLEMS.items()]}))


@blueprint.get("/problems/<code>")
def problem_meaning(code: str) -> Response:
    """Explain one problem."""
    queries.read_query(queries.NONE)
    kind = PROBLEMS.get(code)
    if kind is None:
        raise ProblemError("not_found", "there is no problem of this name")
    return kept_response(json_bytes(_meaning(code, kind)))


def _meaning(code: str, kind: Problem) -> dict[str, object]:
    return {
        "code": code,
        "type": f"/problems/{code}",
        "status": kind.status,
        "title": kind.title,
        "remedy": kind.remedy,
    }

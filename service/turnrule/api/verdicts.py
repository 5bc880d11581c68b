"""Verdicts: judge one part and record it; the records."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, current_app

from turnrule.actions.judging_parts import Judged, Sent, earlier, further_faults, judge_part
from turnrule.actions.reading_records import list_verdicts, read_verdict
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadRequest
from turnrule.api import queries
from turnrule.api.answering import cursor_for, json_response, kept_response, page_of, parts_of
from turnrule.api.bodies import idempotency_key, json_body
from turnrule.api.documents import verdict_line, whole_verdict
from turnrule.api.faults import FaultsError
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.metrics import Metrics
from turnrule.api.problems import ProblemError
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.faults import Fault
from turnrule.store.port import VerdictQuery

blueprint = Blueprint("verdicts", __name__)


@blueprint.post("/v1/verdicts")
@needs_key("verdicts")
def judge() -> Response:
    """Judge one part and record the verdict before it is answered."""
    queries.read_query(queries.NONE)
    sent = Sent(caller(), json_body(), idempotency_key())
    judged = earlier(desk(), sent)
    if judged is None:
        judged = judge_part(desk(), _read(sent.body), sent)
    return _answered(judged)


def _read(body: bytes) -> ReadRequest:
    """The request that a body makes, or all faults of its shape, and with them what the catalogue has to say."""
    document = read_json(body)
    try:
        return read_request(document)
    except FaultsError as error:
        raise FaultsError([*error.faults, *_beside(error, document)]) from None


def _beside(error: FaultsError, document: object) -> list[Fault]:
    """Further faults of a faulty request, without those that only echo a fault that was told already."""
    if error.partial is None:
        return []
    try:
        further = further_faults(desk(), error.partial)
    except RefusedError as refusal:
        further = refusal.faults
    told = [fault.pointer for fault in error.faults]
    return [fault for fault in further if not _echoes(fault, told, document)]


def _echoes(fault: Fault, told: list[str], document: object) -> bool:
    """True where a fault stands at, above or below one that was told, or misses what was there and unreadable."""
    if fault.pointer == "/application" and isinstance(document, dict):
        return not document.keys().isdisjoint({"application", "limits", "marking"})
    at = f"{fault.pointer}/"
    return any(f"{pointer}/".startswith(at) or at.startswith(f"{pointer}/") for pointer in told)


def _answered(judged: Judged) -> Response:
    headers = {"Location": f"/v1/verdicts/{judged.record.id}"}
    if judged.replayed:
        headers["Idempotency-Replayed"] = "true"
    else:
        metrics: Metrics = current_app.extensions["turnrule.metrics"]
        metrics.count_verdict(judged.record.ruling)
    return json_response(judged.record.answer, 201, headers)


@blueprint.get("/v1/verdicts")
@needs_key("verdicts", "reports")
def list_recorded() -> Response:
    """List the recorded verdicts that this key may see, oldest first."""
    query = queries.read_query(queries.VERDICTS)
    after = parts_of(query["after"], int)[0] if "after" in query else 0
    limit: int = query["limit"]
    records = list_verdicts(desk(), caller(), _filters(query), after=int(str(after)), limit=limit + 1)
    page = records[:limit]
    cursor = cursor_for(page[-1].sequence) if len(records) > limit else None
    return page_of([verdict_line(record) for record in page], cursor)


def _filters(query: dict[str, Any]) -> VerdictQuery:
    return VerdictQuery(
        site=query.get("site"),
        ruling=query.get("verdict"),
        kind=query.get("kind"),
        make=query.get("make"),
        model=query.get("model"),
        vehicle=query.get("vehicle"),
        reference=query.get("reference"),
        since=query.get("since"),
        until=query.get("until"),
        limits_id=query.get("limits_id"),
        limits_revision=query.get("limits_revision"),
    )


@blueprint.get("/v1/verdicts/<verdict_id>")
@needs_key("verdicts", "reports")
def read(verdict_id: str) -> Response:
    """Read one verdict with everything that it was judged from."""
    queries.read_query(queries.NONE)
    record = read_verdict(desk(), caller(), verdict_id)
    if record is None:
        raise ProblemError("not_found", "there is no such verdict that this key may see")
    return kept_response(whole_verdict(record), immutable=True)

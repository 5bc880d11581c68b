"""Verdicts: judge one part and record it; the records."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, current_app

from turnrule.actions.judging_parts import Judged, Sent, earlier, judge_part
from turnrule.actions.reading_records import list_verdicts, read_verdict
from turnrule.api import queries
from turnrule.api.answering import cursor_for, json_response, kept_response, page_of, parts_of
from turnrule.api.bodies import idempotency_key, json_body
from turnrule.api.documents import verdict_line, whole_verdict
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.metrics import Metrics
from turnrule.api.problems import ProblemError
from turnrule.api.whole_reading import read_wholly
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
        judged = judge_part(desk(), read_wholly(desk(), read_json(sent.body)), sent)
    return _answered(judged)


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

"""Axle verdicts: judge the two parts of an axle each and together, and record them; the records."""

from __future__ import annotations

from flask import Blueprint, Response, current_app

from turnrule.actions.judging_axles import judge_both
from turnrule.actions.reading_records import list_axles, read_axle_record
from turnrule.api import queries
from turnrule.api.answering import cursor_for, kept_response, page_of, parts_of
from turnrule.api.axle_documents import axle_line, whole_axle
from turnrule.api.axle_reading import read_axle
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.metrics import Metrics
from turnrule.api.once import done_once, posted
from turnrule.api.problems import ProblemError
from turnrule.store.limit_records import KeptAnswer
from turnrule.store.port import AxleRecord
from turnrule.store.reference_port import Once

blueprint = Blueprint("axle_verdicts", __name__)


@blueprint.post("/v1/axle-verdicts")
@needs_key("verdicts")
def judge_axle() -> Response:
    """Judge the sides of an axle each and together, and record all verdicts before they are answered."""
    sent = posted()

    def do(once: Once[AxleRecord] | None) -> AxleRecord:
        request = read_axle(desk(), read_json(sent.body))
        judged = judge_both(desk(), request, sent.body, caller(), once=once)
        metrics: Metrics = current_app.extensions["turnrule.metrics"]
        for ruling in judged.own:
            metrics.count_verdict(ruling)
        return judged.record

    return done_once(sent, do, _answered)


def _answered(record: AxleRecord) -> KeptAnswer:
    return KeptAnswer(201, record.answer, f"/v1/axle-verdicts/{record.id}")


@blueprint.get("/v1/axle-verdicts")
@needs_key("verdicts", "reports")
def list_recorded() -> Response:
    """List the recorded axle verdicts that this key may see, oldest first."""
    query = queries.read_query(queries.AXLES)
    after = parts_of(query["after"], int)[0] if "after" in query else 0
    limit: int = query["limit"]
    records = list_axles(
        desk(),
        caller(),
        site=query.get("site"),
        vehicle=query.get("vehicle"),
        after=int(str(after)),
        limit=limit + 1,
    )
    page = records[:limit]
    cursor = cursor_for(page[-1].sequence) if len(records) > limit else None
    return page_of([axle_line(record) for record in page], cursor)


@blueprint.get("/v1/axle-verdicts/<axle_id>")
@needs_key("verdicts", "reports")
def read(axle_id: str) -> Response:
    """Read one axle verdict with everything that it was judged from."""
    queries.read_query(queries.NONE)
    record = read_axle_record(desk(), caller(), axle_id)
    if record is None:
        raise ProblemError("not_found", "there is no such axle verdict that this key may see")
    return kept_response(whole_axle(record), immutable=True)

"""Reports: verdicts counted, what policies asked for and did not get, whom to call back; JSON, NDJSON and CSV.

What may be long is a stream: in NDJSON a line that says `done` ends it, and nothing else does; in CSV the answer ends
without its last chunk where it broke off.
"""

from __future__ import annotations

import itertools
import logging
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from flask import Blueprint, Response, g, request

from turnrule.actions.call_back_lines import CallBack, CallBackDone
from turnrule.actions.calling_back import Step as CallBackStep
from turnrule.actions.calling_back import list_call_backs
from turnrule.actions.compliance_lines import ComplianceLine
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.actions.refusals import RefusedError
from turnrule.actions.reporting_compliance import ComplianceDone, report_compliance
from turnrule.actions.reporting_compliance import Step as ComplianceStep
from turnrule.actions.reporting_verdicts import report_verdicts
from turnrule.api import report_queries
from turnrule.api.answering import JSON, kept_response
from turnrule.api.impact import read_stored
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.lines import NDJSON, Line, as_stream
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.queries import read_query
from turnrule.api.report_documents import (
    call_back_document,
    call_backs_done,
    compliance_document,
    compliance_done,
    verdict_report_document,
)
from turnrule.api.report_tables import (
    CALL_BACK_COLUMNS,
    COMPLIANCE_COLUMNS,
    call_back_rows,
    compliance_row,
    table,
    verdict_report_table,
)
from turnrule.judging.words import Unit

logger = logging.getLogger("turnrule.api")
blueprint = Blueprint("reports", __name__)

CSV = "text/csv"
_SENT_AS = "text/csv; charset=utf-8; header=present"
_CHUNK = 16 * 1024

Step = TypeVar("Step")


@blueprint.get("/v1/reports/verdicts")
@needs_key("reports")
def count_verdicts() -> Response:
    """Count the verdicts that this key may see, and how far they were from their limits."""
    query = read_query(report_queries.VERDICT_REPORT)
    by, unit = report_queries.groups_of(query), Unit(query["unit"])
    wanted = _wanted(JSON)
    try:
        report = report_verdicts(desk(), report_queries.scope_of(query, caller().site), by)
    except RefusedError as error:
        faults = [ParameterFault("by", error.code, str(error))]
        raise ProblemError("invalid_parameters", str(error), faults) from error
    if wanted == CSV:
        content = b"".join(verdict_report_table(report, unit))
    else:
        content = write_exact(verdict_report_document(desk(), report, unit))
    response = kept_response(content, {"Vary": "Accept"})
    if wanted == CSV and response.data:
        response.content_type = _SENT_AS
    return response


@blueprint.get("/v1/reports/compliance")
@needs_key("reports")
def list_compliance() -> Response:
    """List what policies asked for and did not get, as far as this key may see it."""
    query = read_query(report_queries.COMPLIANCE)
    wanted = _wanted(NDJSON)
    scope, windows = report_queries.scope_of(query, caller().site), report_queries.windows_of(query)
    steps = _begun(report_compliance(desk(), scope, windows))
    if wanted == CSV:
        rows = (compliance_row(step) for step in steps if isinstance(step, ComplianceLine))
        return _as_csv(COMPLIANCE_COLUMNS, rows)
    return _as_lines(compliance_lines(desk(), steps))


@blueprint.get("/v1/reports/call-backs")
@needs_key("reports")
def list_vehicles_to_call_back() -> Response:
    """List the axles about which something has to be done, as far as this key may see them."""
    query = read_query(report_queries.CALL_BACKS)
    wanted = _wanted(NDJSON)
    steps = _begun(list_call_backs(desk(), report_queries.scope_of(query, caller().site), read_stored))
    if wanted == CSV:
        rows = (row for step in steps if isinstance(step, CallBack) for row in call_back_rows(step))
        return _as_csv(CALL_BACK_COLUMNS, rows)
    return _as_lines(call_back_lines(desk(), steps))


def compliance_lines(at: Desk, steps: Iterable[ComplianceStep]) -> Iterator[Line]:
    """The lines of a compliance report."""
    for step in steps:
        if isinstance(step, ComplianceLine):
            yield Line(compliance_document(step))
        elif isinstance(step, ComplianceDone):
            yield Line(compliance_done(at, step), at_once=True)
        else:
            yield Line({"looked_at": step.verdicts}, how_far=True)


def call_back_lines(at: Desk, steps: Iterable[CallBackStep]) -> Iterator[Line]:
    """The lines of a call-back list."""
    for step in steps:
        if isinstance(step, CallBack):
            yield Line(call_back_document(step))
        elif isinstance(step, CallBackDone):
            yield Line(call_backs_done(at, step), at_once=True)
        else:
            yield Line({"looked_at": step.verdicts}, how_far=True)


def _wanted(usual: str) -> str:
    """The type of the answer: CSV where the caller rather has that. Raises the problem 406."""
    if "Accept" not in request.headers:
        return usual
    found = request.accept_mimetypes.best_match([usual, CSV])
    if found is None:
        raise ProblemError("not_acceptable", f"this report is answered as {usual} or {CSV}")
    return found


def _begun(steps: Iterator[Step]) -> Iterator[Step]:
    """The same, its first step taken here, where what goes wrong can still be answered with a problem."""
    first = next(steps)
    return itertools.chain((first,), steps)


def _as_lines(lines: Iterator[Line]) -> Response:
    return Response(as_stream(lines, g.request_id), mimetype=NDJSON, headers={"Vary": "Accept"})


def _as_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> Response:
    stream = _in_chunks(table(columns, rows), g.request_id)  # type: ignore[arg-type]  # cells of a table
    return Response(stream, content_type=_SENT_AS, headers={"Vary": "Accept"})


def _in_chunks(lines: Iterable[bytes], request_id: str) -> Iterator[bytes]:
    """The lines in fewer pieces; whatever breaks them is logged and handed on, and the answer has no end."""
    held: list[bytes] = []
    size = 0
    try:
        for line in lines:
            held.append(line)
            size += len(line)
            if size >= _CHUNK:
                yield b"".join(held)
                held, size = [], 0
        yield b"".join(held)
    except Exception:
        logger.exception("stream_broken", extra={"request_id": request_id})
        raise

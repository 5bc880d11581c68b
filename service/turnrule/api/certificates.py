"""Certificates of finished parts: what was measured, with what, against which limits, and what was decided."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.certificates import certificate_of
from turnrule.actions.reading_records import read_verdict
from turnrule.actions.refusals import RefusedError
from turnrule.api import queries
from turnrule.api.answering import kept_response
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.problems import ProblemError

blueprint = Blueprint("certificates", __name__)


@blueprint.get("/v1/verdicts/<verdict_id>/certificate")
@needs_key("verdicts", "reports")
def certify(verdict_id: str) -> Response:
    """The certificate of a verdict on a finished part."""
    queries.read_query(queries.NONE)
    record = read_verdict(desk(), caller(), verdict_id)
    if record is None:
        raise ProblemError("not_found", "there is no such verdict that this key may see")
    try:
        content = certificate_of(record)
    except RefusedError as refusal:
        raise ProblemError(refusal.code, str(refusal)) from None
    return kept_response(content, immutable=True)

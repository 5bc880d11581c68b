"""Checks of quotes: do the lines agree with what was measured? Worked out and answered, never stored."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.checking_quotes import check_lines
from turnrule.actions.quote_answers import quote_answer
from turnrule.api import queries
from turnrule.api.answering import json_response
from turnrule.api.bodies import json_body
from turnrule.api.impact import read_stored
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.quote_reading import read_quote

blueprint = Blueprint("quote_checks", __name__)


@blueprint.post("/v1/quote-checks")
@needs_key("verdicts")
def check() -> Response:
    """Check a quote; the same request can be sent as often as one likes."""
    queries.read_query(queries.NONE)
    here, key = desk().of(caller().site), caller()
    at = here.clock()
    read = read_quote(here, key, read_json(json_body()), at)
    return json_response(quote_answer(here.pack, check_lines(here, key, read, read_stored, at)))

"""Checks at the lathe: is the part mounted right, and what will the cut take? Worked out and answered, never stored."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.setting_up import check_mounted
from turnrule.actions.setup_answers import setup_answer
from turnrule.api import queries
from turnrule.api.answering import json_response
from turnrule.api.bodies import json_body
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import desk, needs_key
from turnrule.api.setup_reading import read_setup

blueprint = Blueprint("setup_checks", __name__)


@blueprint.post("/v1/setup-checks")
@needs_key("verdicts")
def check() -> Response:
    """Check a set-up; the same request can be sent as often as one likes."""
    queries.read_query(queries.NONE)
    read = read_setup(desk(), read_json(json_body()))
    return json_response(setup_answer(desk().pack, check_mounted(desk(), read, desk().clock())))

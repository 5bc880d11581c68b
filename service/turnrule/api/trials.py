"""Policy trials, as a stream of lines: each verdict that a candidate changes, how far it is, and at last the counts.

Each line is a JSON document. The last one, and no other, says `done`; a stream without it did not reach its end, and
is asked for again: nothing was stored.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping
from typing import Any

from flask import Blueprint, Response, g

from turnrule.actions.policies import PolicyView, read_policy
from turnrule.actions.trial_candidates import (
    Candidates,
    Setting,
    by_document,
    by_revision,
    by_setting,
    setting_faults,
)
from turnrule.actions.trial_costs import Prices
from turnrule.actions.trialling import TrialDone, TrialLine, TrialSoFar, run_trial
from turnrule.api import queries
from turnrule.api.bodies import json_body
from turnrule.api.faults import FaultsError
from turnrule.api.impact import read_stored
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.lines import NDJSON, Line, as_stream
from turnrule.api.problems import ProblemError
from turnrule.api.release_shapes import read_shape
from turnrule.api.request_shapes import CODE
from turnrule.api.trial_documents import Told, done_document, line_document
from turnrule.api.trial_shapes import CANDIDATES, DEFAULT_NEWEST, TRIAL
from turnrule.judging.faults import Fault
from turnrule.store.port import VerdictQuery

blueprint = Blueprint("trials", __name__)


@blueprint.post("/v1/policies/<name>/trials")
@needs_key("policies:write", "reports")
def try_policy(name: str) -> Response:
    """Try a candidate on stored verdicts that this key may see; nothing is stored."""
    queries.read_query(queries.NONE)
    body = json_body()
    if re.fullmatch(CODE, name) is None:
        raise ProblemError("not_found", "a policy's name is of small letters, digits and _, and begins with a letter")
    wanted = read_shape(TRIAL, body)
    given = [field for field in CANDIDATES if field in wanted]
    if len(given) != 1:
        detail = f"give one of {', '.join(CANDIDATES)}, and only one"
        raise FaultsError([Fault("", "one_candidate", detail)])
    candidates = _candidates(name, wanted, read_json(body))
    over = wanted.get("over", {})
    steps = run_trial(
        desk(),
        read_stored,
        candidates.each,
        _filters(over),
        newest=over.get("newest", DEFAULT_NEWEST),
        site=caller().site,
    )
    told = Told(candidates, _unit(wanted), _prices(wanted), desk().pack.catalogue.cautions)
    lines = _lines(steps, told, named=wanted.get("name_parts", True))
    # The first step is taken here, where what goes wrong can still be answered with a problem.
    first = next(lines)
    return Response(as_stream(itertools.chain((first,), lines), g.request_id), mimetype=NDJSON)


def _candidates(name: str, wanted: Mapping[str, Any], document: Any) -> Candidates:  # noqa: ANN401 - as it was sent
    if "candidate" in wanted:
        return by_document(desk(), name, document["candidate"])
    if "revision" in wanted:
        return by_revision(desk(), _view(name, wanted["revision"]))
    setting = Setting(**wanted["setting"])
    if faults := list(setting_faults(setting)):
        raise FaultsError(faults)
    return by_setting(desk(), _view(name), setting)


def _view(name: str, revision: int | None = None) -> PolicyView:
    view = read_policy(desk(), name, revision)
    if view is None:
        raise ProblemError("not_found", "there is no such policy or revision")
    return view


def _filters(over: Mapping[str, Any]) -> VerdictQuery:
    return VerdictQuery(**{field: value for field, value in over.items() if field != "newest"})


def _unit(wanted: Mapping[str, Any]) -> str | None:
    unit: str | None = wanted.get("setting", {}).get("unit")
    return unit


def _prices(wanted: Mapping[str, Any]) -> Prices | None:
    return Prices(**wanted["prices"]) if "prices" in wanted else None


def _lines(steps: Iterator[TrialLine | TrialSoFar | TrialDone], told: Told, *, named: bool) -> Iterator[Line]:
    for step in steps:
        if isinstance(step, TrialDone):
            yield Line(done_document(step, told), at_once=True)
        elif isinstance(step, TrialSoFar):
            yield Line({"looked_at": step.looked_at}, how_far=True)
        elif named:
            yield Line(line_document(step), at_once=False)

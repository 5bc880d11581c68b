"""A verdict judged again: whether the same bytes come out, and what differs where they do not."""

from __future__ import annotations

from flask import Blueprint, Response
from marshmallow import ValidationError, fields

from turnrule.actions.answers import Json
from turnrule.actions.impact_lines import Standing
from turnrule.actions.numbers import write_exact
from turnrule.actions.reading_records import read_verdict
from turnrule.actions.replaying import Replay, Under, Versions, Withdrawals, replay
from turnrule.api import queries
from turnrule.api.answering import json_response
from turnrule.api.bodies import json_body
from turnrule.api.bounds import Within
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.fields import Choice, Text, WholeNumber
from turnrule.api.impact import read_stored
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.problems import ProblemError
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Shape

blueprint = Blueprint("replays", __name__)

_GREATEST = 2**31 - 1


class ReplayRequest(Shape):
    """What a verdict is judged again under; what is left out is as it was recorded."""

    release = WholeNumber(Within(least=1, most=_GREATEST), metadata={"description": "Another release."})
    policy = Text(63, pattern=CODE, metadata={"description": "Another policy, or another revision of the same one."})
    policy_revision = WholeNumber(
        Within(least=1, most=_GREATEST),
        metadata={"description": "Which revision of the policy; the newest where the policy is named and this is not."},
    )
    withdrawals: fields.Field[str] = Choice(
        Withdrawals,
        metadata={
            "description": "`as_recorded`: those that counted when it was judged. `all`: every one up to now; a record "
            "that was withdrawn since no longer governs then."
        },
    )


REPLAY = ReplayRequest()


@blueprint.post("/v1/verdicts/<verdict_id>/replays")
@needs_key("verdicts", "reports")
def judge_again(verdict_id: str) -> Response:
    """Judge a recorded verdict again. Nothing is recorded."""
    queries.read_query(queries.NONE)
    body = json_body()
    record = read_verdict(desk(), caller(), verdict_id)
    if record is None:
        raise ProblemError("not_found", "there is no such verdict that this key may see")
    found = replay(desk(), record, read_stored, _under(body))
    return json_response(_content(found))


def _under(body: bytes) -> Under:
    document = read_json(body)
    try:
        values = REPLAY.load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, REPLAY)) from None
    return Under(
        values.get("release"),
        values.get("policy"),
        values.get("policy_revision"),
        Withdrawals(values.get("withdrawals", Withdrawals.AS_RECORDED)),
    )


def _content(found: Replay) -> bytes:
    """The answer; the verdict in it stands as its bytes came out, since these are what is compared."""
    head = write_exact(
        {
            "verdict_id": found.record.id,
            "identical": found.identical,
            "same_versions": found.same_versions,
            "recorded_under": _versions(found.recorded),
            "judged_under": _versions(found.now),
            "before": _standing(found.before),
            "after": None if found.after is None else _standing(found.after),
            "checks": [
                {"check": one.check, "quantity": one.quantity, "before": one.before, "after": one.after}
                for one in found.checks
            ],
            "deciding": list(found.deciding),
            "differs": list(found.differs),
            "cannot_be_judged": None
            if found.obstacle is None
            else {"code": found.obstacle.code, "detail": found.obstacle.detail},
        }
    )
    return head[:-1] + b',"answer":' + (found.answer or b"null") + b"}"


def _versions(versions: Versions) -> Json:
    return {
        "release": versions.release,
        "policy": {"name": versions.policy, "revision": versions.policy_revision},
        "pack": {"version": versions.pack_version, "digest": versions.pack_digest},
        "engine": versions.engine,
        "withdrawals": versions.withdrawals,
    }


def _standing(standing: Standing) -> Json:
    governing = standing.governing
    return {
        "verdict": standing.ruling,
        "governing": governing
        and {
            "check": governing.check,
            "limit": governing.limit,
            "unit": governing.unit,
            "origin": governing.origin,
        },
        "limits_id": standing.limits_id,
        "limits_revision": standing.limits_revision,
        "cut_allowed": standing.cut_allowed,
        "most_total_cut": standing.most_total_cut,
    }

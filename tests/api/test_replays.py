"""Verdicts judged again: to the byte under the same versions, and what changed under others."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.bodies import DRUM, EXAMPLE, EXAMPLE_LIMITS, changed
from tests.api.conftest import Caller, Clock, Joining, publish
from tests.api.test_impact import correct
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import ApiSettings, build_api
from turnrule.pack import Pack
from turnrule.store.limit_records import LimitQuery, LimitRevision, Withdrawal
from turnrule.store.sqlite import open_sqlite

POLICY = '{"inherits": "default", "why": "a harder bench", "unit": "mm", "machining_margin": 0.5}'


@pytest.fixture
def caller(join: Joining) -> Caller:
    """Someone who asks for verdicts."""
    return join("verdicts")


def _rotor(desk: Desk) -> LimitRevision:
    (found,) = desk.store.limits(LimitQuery(make="Corvane", release=1))
    return found


def _corrected(desk: Desk, clock: Clock) -> None:
    """Publish a stricter revision of the rotor's record as the next release."""
    rotor = _rotor(desk)
    correct(desk, clock, rotor, limits=replace(rotor.limits, machining=Decimal("25.5")))


def _withdrawn(desk: Desk, clock: Clock) -> None:
    newest = desk.store.history(_rotor(desk).limits_id)[-1].revision
    desk.store.withdraw(Withdrawal(newest.limits_id, newest.revision, "office", clock(), "the maker has changed it"))


def _judged(caller: Caller, body: str = EXAMPLE) -> bytes:
    response = caller.post("/v1/verdicts", body)
    assert response.status_code == 201
    return bytes(response.data)


def _replayed(caller: Caller, verdict_id: str, body: str = "{}") -> dict[str, Any]:
    response = caller.post(f"/v1/verdicts/{verdict_id}/replays", body)
    assert response.status_code == 200, response.data
    answer: dict[str, Any] = json.loads(response.data)
    return answer


@pytest.mark.parametrize("body", [EXAMPLE, DRUM])
def test_the_same_bytes_come_out_whatever_has_happened_since(
    caller: Caller, join: Joining, desk: Desk, clock: Clock, body: str
) -> None:
    sent = _judged(caller, body)
    verdict_id = json.loads(sent)["id"]
    clock.move(days=400)
    join("policies:write").put("/v1/policies/hard", POLICY, If_None_Match="*")
    _corrected(desk, clock)
    _withdrawn(desk, clock)
    response = caller.post(f"/v1/verdicts/{verdict_id}/replays", "{}")
    found = json.loads(response.data)
    assert (found["identical"], found["same_versions"]) == (True, True)
    assert response.data.endswith(b',"answer":' + sent + b"}")
    assert (found["checks"], found["differs"], found["deciding"]) == ([], [], [])
    assert found["before"] == found["after"]
    assert found["recorded_under"] == found["judged_under"]


def test_another_release_says_which_check_did_it(caller: Caller, desk: Desk, clock: Clock) -> None:
    verdict_id = json.loads(_judged(caller))["id"]
    _corrected(desk, clock)
    found = _replayed(caller, verdict_id, '{"release": 2}')
    assert (found["identical"], found["same_versions"]) == (False, False)
    assert (found["before"]["verdict"], found["after"]["verdict"]) == ("machine", "replace")
    assert {"check": "machining_limit", "quantity": "thickness_after_cut", "before": "pass", "after": "fail"} in found[
        "checks"
    ]
    assert "machining_limit" in found["deciding"]
    assert {"verdict", "limits", "margins", "checks"} <= set(found["differs"])
    assert found["answer"]["id"] == verdict_id
    assert found["judged_under"]["release"] == 2
    assert _replayed(caller, verdict_id, '{"release": 1}')["identical"]


def test_another_policy_says_which_check_did_it(caller: Caller, join: Joining) -> None:
    verdict_id = json.loads(_judged(caller))["id"]
    join("policies:write").put("/v1/policies/hard", POLICY, If_None_Match="*")
    found = _replayed(caller, verdict_id, '{"policy": "hard"}')
    assert (found["before"]["verdict"], found["after"]["verdict"]) == ("machine", "replace")
    assert found["judged_under"]["policy"] == {"name": "hard", "revision": 1}
    assert [check["after"] for check in found["checks"] if check["check"] == "machining_limit"] == ["fail"]
    assert _replayed(caller, verdict_id, '{"policy": "default"}')["identical"]
    assert _replayed(caller, verdict_id, '{"policy": "hard", "policy_revision": 1}')["after"] == found["after"]


def test_withdrawals_since_count_where_they_are_asked_for(caller: Caller, desk: Desk, clock: Clock) -> None:
    verdict_id = json.loads(_judged(caller))["id"]
    _withdrawn(desk, clock)
    found = _replayed(caller, verdict_id, '{"withdrawals": "all"}')
    assert found["after"]["verdict"] == "inconclusive"
    assert (found["recorded_under"]["withdrawals"], found["judged_under"]["withdrawals"]) == (0, 1)
    assert _replayed(caller, verdict_id)["identical"]


@pytest.mark.parametrize(
    ("body", "status", "pointer"),
    [
        ('{"release": 9}', 422, "/release"),
        ('{"policy": "none_such"}', 422, "/policy"),
        ('{"policy_revision": 7}', 422, "/policy"),
        ('{"withdrawals": "some"}', 422, "/withdrawals"),
        ('{"relase": 1}', 422, "/relase"),
        ("[]", 422, ""),
        ("{", 400, ""),
    ],
)
def test_what_is_not_there_is_refused_by_name(caller: Caller, body: str, status: int, pointer: str) -> None:
    verdict_id = json.loads(_judged(caller))["id"]
    response = caller.post(f"/v1/verdicts/{verdict_id}/replays", body)
    assert response.status_code == status
    assert [fault["pointer"] for fault in json.loads(response.data)["errors"]] == [pointer]


def test_only_who_may_see_a_verdict_may_have_it_judged_again(caller: Caller, join: Joining) -> None:
    verdict_id = json.loads(_judged(caller))["id"]
    assert join("verdicts", site="elsewhere").post(f"/v1/verdicts/{verdict_id}/replays", "{}").status_code == 404
    assert join("limits:write").post(f"/v1/verdicts/{verdict_id}/replays", "{}").status_code == 403
    assert join("reports").post(f"/v1/verdicts/{verdict_id}/replays", "{}").status_code == 200
    assert caller.post("/v1/verdicts/01m7q5st000000000000000009/replays", "{}").status_code == 404


def test_a_verdict_from_before_any_release_is_judged_without_one(pack: Pack, clock: Clock, tmp_path: Path) -> None:
    store = open_sqlite(tmp_path / "young.sqlite")
    store.migrate()
    young = Desk(store, pack, clock, new_id)
    caller = Caller(build_api(young, ApiSettings()).test_client(), create_key(young, "shop", ["verdicts"], None).secret)
    body = changed(EXAMPLE, limits={"minimum_machining_thickness": Decimal("24.6"), "discard_thickness": 24})
    sent = json.loads(_judged(caller, write_exact(body).decode()))
    assert sent["release"] is None
    publish(young, EXAMPLE_LIMITS)
    found = _replayed(caller, sent["id"])
    assert (found["identical"], found["same_versions"]) == (True, True)
    now = _replayed(caller, sent["id"], '{"release": 1}')
    assert (now["after"]["limits_id"] is not None, now["identical"]) == (True, False)
    store.close()


READINGS = st.lists(st.integers(2380, 2620).map(lambda value: value / 100), min_size=1, max_size=6)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(READINGS, st.integers(0, 20), st.booleans())
def test_whatever_is_judged_comes_out_again(caller: Caller, track: list[float], runout: int, asked: bool) -> None:  # noqa: FBT001 - drawn
    body = changed(EXAMPLE, thickness=track, lateral_runout=runout / 100)
    if not asked:
        body.pop("cut")
    response = caller.post("/v1/verdicts", json.dumps(body, default=float))
    if response.status_code == 201:
        assert _replayed(caller, json.loads(response.data)["id"])["identical"]

"""Policy trials over HTTP: what is tried on what, how it is told, what is refused, and that nothing is stored."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller, Joining
from tests.api.test_contract import faults_of
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.store.port import VerdictQuery

D = Decimal
VARIED = {"setting": {"field": "wear_allowance", "values": [D("0.1"), D("0.8"), D("1.5")], "unit": "mm"}}


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may read reports, of no site."""
    return join("reports", "policies:write")


@pytest.fixture
def judged(join: Joining) -> None:
    """A part of the contract's example, judged once for each of two sites and once for none."""
    for site in ("North", "South", None):
        assert join("verdicts", site=site).post("/v1/verdicts", EXAMPLE).status_code == 201


def tried(office: Caller, body: object, name: str = "default") -> list[dict[str, Any]]:
    """The documents of a trial that came to its end."""
    response = office.post(f"/v1/policies/{name}/trials", write_exact(body))
    assert response.status_code == 200, response.get_json()
    assert response.mimetype == "application/x-ndjson"
    lines: list[dict[str, Any]] = [read_exact(line) for line in response.data.splitlines()]
    assert faults_of("TrialStream", [json.loads(line) for line in response.data.splitlines()]) == []
    assert [("done" in line) for line in lines] == [False] * (len(lines) - 1) + [True]
    return lines


def faults(office: Caller, body: object, name: str = "default") -> tuple[int, list[tuple[str, str]]]:
    """The status, and pointer and code of every fault."""
    response = office.post(f"/v1/policies/{name}/trials", write_exact(body))
    return response.status_code, [(one["pointer"], one["code"]) for one in response.get_json()["errors"]]


@pytest.mark.usefixtures("judged")
def test_one_setting_at_several_values_is_one_row_each_and_one_line_a_part(office: Caller, desk: Desk) -> None:
    before = desk.store.verdicts(VerdictQuery()), desk.store.events(), desk.store.policies()
    prices = {"currency": "EUR", "machining": D("38.10"), "replacing": D("124.90")}
    *parts, done = tried(office, {**VARIED, "prices": prices})
    assert [row["value"] for row in done["rows"]] == VARIED["setting"]["values"]
    assert [row["verdicts"]["machine"]["replace"] for row in done["rows"]] == [0, 3, 3]
    assert [row["changed"] for row in done["rows"]] == [0, 3, 3]
    assert done["rows"][1]["cost"] == {
        "currency": "EUR",
        "before": D("114.3"),
        "after": D("374.7"),
        "difference": D("260.4"),
        "open_before": 0,
        "open_after": 0,
    }
    assert [one["code"] for one in done["cautions"]] == ["trial_of_readings", "prices_from_caller"]
    assert [[one["verdict"] for one in part["after"]] for part in parts] == [["machine", "replace", "replace"]] * 3
    assert {part["site"] for part in parts} == {"North", "South", None}
    assert all(part["before"]["verdict"] == "machine" for part in parts)
    assert (desk.store.verdicts(VerdictQuery()), desk.store.events(), desk.store.policies()) == before


@pytest.mark.usefixtures("judged")
def test_a_body_as_it_would_be_written_is_tried_and_not_written(office: Caller) -> None:
    candidate = {"unit": "in", "require": ["marking", "history"], "pair_rule": "machine_both"}
    *parts, done = tried(office, {"candidate": candidate, "name_parts": False}, "north")
    assert not [one for one in parts if "id" in one]
    [row] = done["rows"]
    assert (row["value"], row["cost"], row["verdicts"]["machine"]["inconclusive"]) == (None, None, 3)
    assert done["not_tried"] == ["pair_rule"]
    assert [one["code"] for one in done["cautions"]] == ["trial_of_readings"]
    assert office.get("/v1/policies/north").status_code == 404


@pytest.mark.usefixtures("judged")
def test_a_revision_is_tried_on_the_verdicts_that_are_asked_for(office: Caller, join: Joining) -> None:
    body: dict[str, Any] = {"revision": 1, "over": {"site": "North"}}
    assert tried(office, body, "careful_bench")[-1]["looked_at"] == 1
    for over, count in (
        ({"kind": "drum"}, 0),
        ({"make": "corvane", "model": "OSTREL", "axle": "front"}, 3),
        ({"vehicle": "unit 114"}, 3),
        ({"since": "2026-11-02T10:00:00Z", "until": "2026-11-02T10:00:01Z"}, 3),
        ({"until": "2026-11-02T10:00:00Z"}, 0),
        ({"newest": 2}, 2),
    ):
        assert tried(office, {**body, "over": over}, "careful_bench")[-1]["looked_at"] == count, over
    north = join("reports", site="North")
    assert tried(north, {"revision": 1}, "careful_bench")[-1]["looked_at"] == 1
    assert tried(north, {"revision": 1, "over": {"site": "South"}}, "careful_bench")[-1]["looked_at"] == 0


@pytest.mark.parametrize(
    ("body", "name", "expected"),
    [
        ({}, "default", (422, [("", "one_candidate")])),
        ({**VARIED, "revision": 1}, "default", (422, [("", "one_candidate")])),
        ({"candidate": {"unit": "mm", "groove_limit": 1}}, "north", (422, [("/groove_limit", "policy_loosens")])),
        ({"candidate": {"groove_limit": 1}}, "north", (422, [("/candidate/unit", "missing")])),
        ({"candidate": {"unit": "mm"}}, "default", (409, [("", "pack_policy")])),
        ({"candidate": {"unit": "mm", "inherits": "no"}}, "north", (422, [("/inherits", "policy_not_found")])),
        ({"revision": 2}, "default", (404, [])),
        (VARIED, "none", (404, [])),
        (
            {"setting": {"field": "pair_rule", "values": ["advise"]}},
            "default",
            (422, [("/setting/field", "invalid_choice")]),
        ),
        ({"setting": {**VARIED["setting"], "values": []}}, "default", (422, [("/setting/values", "too_few")])),
        (
            {"setting": {**VARIED["setting"], "values": list(range(11))}},
            "default",
            (422, [("/setting/values", "too_many")]),
        ),
        ({"setting": {**VARIED["setting"], "values": [{}]}}, "default", (422, [("/setting/values/0", "wrong_type")])),
        (
            {"setting": {**VARIED["setting"], "values": [D("0.4")]}},
            "fleet_reserve",
            (422, [("/setting/values/0", "policy_loosens")]),
        ),
        ({"revision": 1, "over": {"newest": 10001}}, "default", (422, [("/over/newest", "out_of_range")])),
        (
            {"revision": 1, "prices": {"currency": "euro", "machining": 1}},
            "default",
            (422, [("/prices/currency", "too_long"), ("/prices/replacing", "missing")]),
        ),
    ],
)
def test_what_cannot_be_tried_is_refused_by_field(
    office: Caller, body: dict[str, Any], name: str, expected: tuple[int, list[tuple[str, str]]]
) -> None:
    status, told = faults(office, body, name)
    assert (status, sorted(told)) == (expected[0], sorted(expected[1]))


def test_a_trial_needs_one_of_its_scopes(shop: Caller, join: Joining) -> None:
    assert shop.post("/v1/policies/default/trials", write_exact(VARIED)).status_code == 403
    for scope in ("reports", "policies:write"):
        assert tried(join(scope), VARIED)[-1]["looked_at"] == 0

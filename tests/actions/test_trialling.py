"""A trial over an invented shop's months: what it tells is what judging everything again, one by one, comes to."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from tests.actions.impact_world import SHOP, World
from tests.actions.test_impact import everything
from tests.api.conftest import Clock
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import reach
from turnrule.actions.policies import read_policy, recorded_policy
from turnrule.actions.refusals import RefusedError
from turnrule.actions.trial_candidates import Candidate, Setting, by_document, by_revision, by_setting, setting_faults
from turnrule.actions.trial_costs import Prices, cost_of
from turnrule.actions.trialling import TrialDone, TrialLine, run_trial
from turnrule.api.impact import read_stored
from turnrule.judging.faults import PartError
from turnrule.judging.policy import Policy
from turnrule.judging.words import Ruling
from turnrule.pack import Direction, PolicyError, differences
from turnrule.store.port import VerdictQuery, VerdictRecord

D = Decimal
ALL = 100_000


@pytest.fixture(params=range(3))
def world(request: pytest.FixtureRequest, desk: Desk, clock: Clock) -> World:
    """Some months in an invented shop."""
    lived = World(desk, clock, Random(request.param))
    lived.live()
    return lived


def tried(
    desk: Desk,
    candidates: tuple[Candidate, ...],
    query: VerdictQuery | None = None,
    **more: Any,  # noqa: ANN401 - options of the call
) -> tuple[list[TrialLine], TrialDone]:
    """The lines and the end of a trial."""
    *steps, done = run_trial(desk, read_stored, candidates, query or VerdictQuery(), **{"newest": ALL, **more})
    assert isinstance(done, TrialDone)
    return [step for step in steps if isinstance(step, TrialLine)], done


def again(desk: Desk, record: VerdictRecord, policy: Policy) -> Ruling | None:
    """A stored verdict judged again through the same door as any other; None where it is refused."""
    request = replace(read_stored(record.request), release=record.release)
    try:
        reached = reach(desk, request, record.judged_at, policy=policy, withdrawn=record.withdrawn)
    except (PartError, RefusedError):
        return None
    return reached.verdict.ruling


def test_a_trial_counts_what_judging_each_again_comes_to(world: World) -> None:
    desk = world.desk
    view = read_policy(desk, "default")
    assert view is not None
    candidates = by_setting(desk, view, Setting("wear_allowance", [D("0.2"), D("0.5"), D(1)], "mm")).each
    before = list(everything(desk.store))
    lines, done = tried(desk, candidates)
    assert (done.looked_at, done.lost, done.otherwise) == (len(before), 0, 0)
    for row in done.rows:
        expected = Counter((record.ruling, again(desk, record, row.candidate.policy)) for record in before)
        refused = sum(count for (_, after), count in expected.items() if after is None)
        assert row.refused == refused
        assert dict(row.moved) == {pair: count for pair, count in expected.items() if pair[1] is not None}
    assert [line.verdict.sequence for line in lines] == sorted((line.verdict.sequence for line in lines), reverse=True)
    by_id = {record.id: record for record in before}
    for line in lines:
        record = by_id[line.verdict.id]
        assert line.before.ruling is record.ruling
        for one, candidate in zip(line.after, candidates, strict=True):
            assert (one.standing and one.standing.ruling) == again(desk, record, candidate.policy)
    changed = sum(any(again(desk, record, one.policy) is not record.ruling for one in candidates) for record in before)
    assert len(lines) >= changed
    assert list(everything(desk.store)) == before


def test_a_candidate_stricter_than_what_judged_a_part_never_improves_its_verdict(world: World) -> None:
    desk = world.desk
    own = {
        (r.policy_name, r.policy_revision): recorded_policy(desk, r.policy_name, r.policy_revision)
        for r in everything(desk.store)
    }
    over = read_policy(desk, SHOP)
    assert over is not None
    body = {"unit": "mm", "inherits": "fleet_reserve", "machining_margin": D("0.6"), "discard_margin": D("0.3")}
    candidate = by_document(desk, SHOP, body).each[0]
    stricter = {
        key
        for key, policy in own.items()
        if not any(one.direction is Direction.LOOSER for one in differences(policy, candidate.policy))
    }
    assert len(stricter) >= 3
    lines, done = tried(desk, (candidate,))
    records = {record.id: record for record in everything(desk.store)}
    seen = 0
    for line in lines:
        record = records[line.verdict.id]
        if (record.policy_name, record.policy_revision) in stricter and line.after[0].standing is not None:
            seen += 1
            assert line.after[0].standing.ruling.rank >= line.before.ruling.rank
    assert seen > 10
    assert done.rows[0].changed == len(lines)


def test_the_revision_that_judged_a_part_changes_nothing(world: World) -> None:
    view = read_policy(world.desk, SHOP, 1)
    assert view is not None
    lines, _ = tried(world.desk, by_revision(world.desk, view).each)
    records = {record.id: record for record in everything(world.desk.store)}
    assert not [
        one
        for one in lines
        if records[one.verdict.id].policy_name == SHOP and records[one.verdict.id].policy_revision == 1
    ]


def test_the_newest_of_what_is_asked_for_are_tried_and_a_site_sees_its_own(world: World) -> None:
    view = read_policy(world.desk, "fleet_reserve")
    assert view is not None
    each = by_revision(world.desk, view).each
    every, done = tried(world.desk, each)
    some, few = tried(world.desk, each, newest=40)
    assert few.looked_at == 40 < done.looked_at
    assert some == [line for line in every if line.verdict.sequence > done.looked_at - 40]
    north, _ = tried(world.desk, each, site="north")
    assert north == [line for line in every if line.verdict.site == "north"]
    assert tried(world.desk, each, VerdictQuery(site="south"), site="north")[1].looked_at == 0
    rotors, _ = tried(world.desk, each, VerdictQuery(kind=every[0].verdict.kind))
    assert rotors == [line for line in every if line.verdict.kind == every[0].verdict.kind]


def test_what_was_judged_before_anything_was_released_is_judged_as_then(desk: Desk, clock: Clock) -> None:
    world = World(desk, clock, Random(5))
    world.judge(60)
    early = desk.store.count_verdicts(VerdictQuery())
    world.publish(list(world.first_records()))
    view = read_policy(desk, "fleet_reserve")
    assert early > 10
    assert view is not None
    default = read_policy(desk, "default")
    assert default is not None
    lines, done = tried(desk, by_setting(desk, default, Setting("minimum_points", [D(4)])).each)
    own = {record.id for record in everything(desk.store) if record.policy_name == "default"}
    assert done.lost == 0
    assert not [line for line in lines if line.verdict.id in own]


def test_a_verdict_of_another_pack_is_compared_as_it_stands_today(world: World) -> None:
    desk = replace(world.desk, pack=replace(world.desk.pack, digest="sha256:" + "0" * 64))
    view = read_policy(desk, "fleet_reserve")
    assert view is not None
    each = by_revision(desk, view).each
    (one, done), (other, same) = tried(desk, each), tried(world.desk, each)
    assert [line.verdict.id for line in one] == [line.verdict.id for line in other]
    assert (done.otherwise, done.rows[0].moved) == (0, same.rows[0].moved)


def test_costs_are_exact_and_count_what_is_machined_and_replaced(world: World) -> None:
    view = read_policy(world.desk, "fleet_reserve")
    assert view is not None
    _, done = tried(world.desk, by_revision(world.desk, view).each)
    [row] = done.rows
    prices = Prices("EUR", D("38.10"), D("124.90"))
    cost = cost_of(row, prices)
    was, becomes = Counter[Ruling](), Counter[Ruling]()
    for (before, after), count in row.moved.items():
        was[before] += count
        becomes[after] += count
    assert cost.before == was[Ruling.MACHINE] * D("38.10") + was[Ruling.REPLACE] * D("124.90")
    assert cost.after == becomes[Ruling.MACHINE] * D("38.10") + becomes[Ruling.REPLACE] * D("124.90")
    assert cost.difference == cost.after - cost.before
    assert (cost.open_before, cost.open_after) == (was[Ruling.INCONCLUSIVE], becomes[Ruling.INCONCLUSIVE])


@pytest.mark.parametrize(
    ("setting", "pointers"),
    [
        (Setting("wear_allowance", [D("0.1")]), ["/setting/unit"]),
        (
            Setting("wear_allowance", [D("0.1"), "much", True, D(101)], "mm"),
            ["/setting/values/1", "/setting/values/2", "/setting/values/3"],
        ),
        (
            Setting("minimum_points", [D("4.5"), D(0)], "mm"),
            ["/setting/unit", "/setting/values/0", "/setting/values/1"],
        ),
        (Setting("remaining_distance", [D(5), D(5)], "km"), ["/setting/values"]),
        (Setting("decision_rule", ["guarded", "strict"]), ["/setting/values/1"]),
        (Setting("accept_caller_limits", [D(0)]), ["/setting/values/0"]),
        (Setting("resolution", [D(0)], "in"), ["/setting/values/0"]),
    ],
)
def test_a_setting_takes_its_own_unit_and_values(setting: Setting, pointers: list[str]) -> None:
    assert [fault.pointer for fault in setting_faults(setting)] == pointers


@pytest.mark.parametrize(
    ("setting", "fault"),
    [
        (Setting("wear_allowance", [D("0.6"), D("0.4")], "mm"), "/setting/values/1"),
        (Setting("wear_allowance", [D("0.01")], "in"), "/setting/values/0"),
        (Setting("resolution", [D("0.001")], "mm"), "/setting/values/0"),
        (Setting("decision_rule", ["simple"]), "/setting/values/0"),
        (Setting("accept_caller_limits", [True]), "/setting/values/0"),
    ],
)
def test_a_value_that_loosens_what_is_inherited_is_refused_by_its_place(
    desk: Desk, setting: Setting, fault: str
) -> None:
    view = read_policy(desk, "fleet_reserve")
    assert view is not None
    with pytest.raises(PolicyError) as raised:
        by_setting(desk, view, setting)
    assert [(one.pointer, one.code) for one in raised.value.faults] == [(fault, "policy_loosens")]


def test_a_policy_of_the_store_is_varied_within_what_it_inherits(world: World) -> None:
    view = read_policy(world.desk, SHOP)
    assert view is not None
    assert view.effective.machining_margin > 0
    [candidate] = by_setting(world.desk, view, Setting("machining_margin", [D(0)], "mm")).each
    assert candidate.policy == replace(view.effective, machining_margin=D(0))


def test_fields_that_bind_an_axle_are_named_as_not_tried(desk: Desk) -> None:
    found = by_document(desk, "north", {"unit": "mm", "pair_rule": "replace_both", "axle_difference": D("0.1")})
    assert found.untried == ("axle_difference", "pair_rule")

"""What policies asked for and did not get: each rule by cases worked out by hand, and counted plainly over a fleet.

The rules are this project's own reading of its policies (common practice, no source), and so are their windows.
"""

from __future__ import annotations

import datetime
import json
from collections import Counter
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from tests.actions.fleet_world import judge, live, rotor, withdraw
from tests.api.axles import GOOD, WORN, axle_of
from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.conftest import publish
from turnrule.actions.compliance_lines import ComplianceLine, Rule, Windows
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.policies import write_policy
from turnrule.actions.report_scope import Scope
from turnrule.actions.reporting_compliance import ComplianceDone, report_compliance
from turnrule.api.application import build_api
from turnrule.judging.words import Kind, Ruling
from turnrule.store.port import Key, VerdictRecord

D = Decimal
UNEVEN = [D("25.3")] * 7 + [D("25.34")]
"""Thickness of a rotor that is to be machined."""

GOOD_ROTOR, WORN_ROTOR, OPEN_ROTOR = "25.3", "23.8", "24.002"
TURNED, PAST = "25.1", "24.3"


@pytest.fixture(autouse=True)
def limits(desk: Desk) -> None:
    """The contract's example rotor and a drum, and two policies with a pair rule."""
    publish(desk, EXAMPLE_LIMITS, DRUM_LIMITS)
    office = Key("office", "", frozenset({"policies:write"}), None, desk.clock())
    for name, rule in (("machine_pairs", "machine_both"), ("replace_pairs", "replace_both")):
        write_policy(desk, name, {"unit": "mm", "pair_rule": rule}, office, over=None)


def lines_of(desk: Desk, scope: Scope | None = None, windows: Windows | None = None) -> list[ComplianceLine]:
    """The lines of a report that came to its end, whose counts are those of its lines."""
    *lines, done = report_compliance(desk, scope or Scope(), windows)
    assert isinstance(done, ComplianceDone)
    found = [line for line in lines if isinstance(line, ComplianceLine)]
    counted = Counter(line.rule for line in found)
    assert done.rules == {rule: counted[rule] for rule in Rule}
    return found


def told(desk: Desk, rule: Rule, windows: Windows | None = None) -> list[tuple[str, ...]]:
    """The verdicts of each line of one rule."""
    return [line.verdict_ids for line in lines_of(desk, windows=windows) if line.rule is rule]


def uneven(side: str = "left", **beside: Any) -> dict[str, Any]:  # noqa: ANN401 - fields by name
    return rotor(GOOD_ROTOR, side, thickness=UNEVEN, **beside)


def after(thickness: str, side: str = "left", **beside: Any) -> dict[str, Any]:  # noqa: ANN401 - as above
    return rotor(thickness, side, stage="after_machining", **beside)


def test_a_sound_verdict_shows_nothing(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(GOOD_ROTOR))
    clock.move(days=100)
    assert lines_of(desk) == []


def test_fewer_points_than_the_policy_asks_for(desk: Desk) -> None:
    found = judge(desk, rotor(GOOD_ROTOR, thickness=[D("25.3")] * 3), "north")
    (line,) = lines_of(desk)
    assert (line.rule, line.verdict_ids) == (Rule.FEW_POINTS, (found.id,))
    assert (line.vehicle, line.site, line.side, line.judged_at) == ("unit 1", "north", "left", found.judged_at)
    assert line.evidence == "3 readings on a track, and the policy asks for 4."


@pytest.mark.parametrize(("due", "overdue"), [("2026-11-01", True), ("2026-11-02", False)])
def test_an_overdue_gauge(desk: Desk, due: str, *, overdue: bool) -> None:
    judge(desk, rotor(GOOD_ROTOR, instrument={"calibration_due": due}))
    assert len(told(desk, Rule.GAUGE_OVERDUE)) == overdue


def test_a_reading_that_the_policy_requires_and_no_other(desk: Desk) -> None:
    other = judge(desk, rotor(GOOD_ROTOR, findings=["grooves"]))
    assert json.loads(other.answer)["missing"] == ["groove_depth"]
    office = Key("office", "", frozenset({"policies:write"}), None, desk.clock())
    write_policy(desk, "marked", {"unit": "mm", "require": ["marking"]}, office, over=None)
    found = judge(desk, rotor(GOOD_ROTOR, policy="marked"))
    (line,) = [line for line in lines_of(desk) if line.rule is Rule.READING_MISSING]
    assert line.verdict_ids == (found.id,)
    assert "requires marking" in line.evidence


def test_limits_that_were_withdrawn_after_the_verdict_and_not_before(desk: Desk, clock: Clock) -> None:
    found = judge(desk, rotor(GOOD_ROTOR))
    clock.move(hours=1)
    withdraw(desk)
    judge(desk, rotor(GOOD_ROTOR, marking=24))
    (line,) = [line for line in lines_of(desk) if line.rule is Rule.LIMITS_WITHDRAWN]
    assert line.verdict_ids == (found.id,)
    assert "another rotor's" in line.evidence


def test_machined_although_it_was_to_be_replaced(desk: Desk, clock: Clock) -> None:
    before = judge(desk, rotor(WORN_ROTOR))
    clock.move(hours=2)
    found = judge(desk, after("23.7"))
    (line,) = [line for line in lines_of(desk) if line.rule is Rule.AGAINST_VERDICT]
    assert line.verdict_ids == (found.id, before.id)
    assert "before it was replace" in line.evidence
    assert "past its machining limit" in line.evidence


def test_a_new_part_is_not_the_one_that_was_to_be_replaced(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(WORN_ROTOR))
    clock.move(hours=2)
    judge(desk, after("25.9"))
    assert told(desk, Rule.AGAINST_VERDICT) == []


def test_the_verdict_that_the_finished_part_names_is_the_one_before_it(desk: Desk, clock: Clock) -> None:
    named = judge(desk, rotor("24.2", marking=D("24.5")))
    assert named.ruling is Ruling.REPLACE
    judge(desk, uneven())
    clock.move(hours=2)
    found = judge(desk, after("24.1", before=named.id))
    assert told(desk, Rule.AGAINST_VERDICT) == [(found.id, named.id)]


@pytest.mark.parametrize(("thickness", "past"), [(TURNED, False), (PAST, True)])
def test_cut_past_the_machining_limit(desk: Desk, clock: Clock, thickness: str, *, past: bool) -> None:
    before = judge(desk, uneven())
    clock.move(hours=2)
    found = judge(desk, after(thickness))
    assert told(desk, Rule.AGAINST_VERDICT) == [(found.id, before.id)] * past


def test_machined_although_the_limits_forbid_it(desk: Desk) -> None:
    forbidding = {"machining": "prohibited", "minimum_machining_thickness": D("24.6"), "discard_thickness": D(24)}
    found = judge(desk, after(TURNED, limits=forbidding))
    (line,) = [line for line in lines_of(desk) if line.rule is Rule.AGAINST_VERDICT]
    assert (line.verdict_ids, "must not be machined" in line.evidence) == ((found.id,), True)


def test_machined_against_a_verdict_on_the_other_side_is_not_told(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(WORN_ROTOR, "right"))
    judge(desk, uneven("left"))
    clock.move(hours=2)
    judge(desk, after(TURNED, "left"))
    assert told(desk, Rule.AGAINST_VERDICT) == []


def test_never_measured_after_machining_is_told_when_its_days_are_over(desk: Desk, clock: Clock) -> None:
    found = judge(desk, uneven())
    clock.move(days=14)
    assert told(desk, Rule.NOT_MEASURED_AFTER) == []
    assert told(desk, Rule.NOT_MEASURED_AFTER, Windows(after_days=13)) == [(found.id,)]
    clock.move(seconds=1)
    assert told(desk, Rule.NOT_MEASURED_AFTER) == [(found.id,)]


def test_measured_after_machining_however_late(desk: Desk, clock: Clock) -> None:
    judge(desk, uneven())
    clock.move(days=90)
    judge(desk, after(TURNED))
    assert told(desk, Rule.NOT_MEASURED_AFTER) == []


def test_the_other_side_measured_after_machining_does_not_count(desk: Desk, clock: Clock) -> None:
    found = judge(desk, uneven("left"))
    clock.move(days=1)
    judge(desk, after(TURNED, "right"))
    clock.move(days=30)
    assert told(desk, Rule.NOT_MEASURED_AFTER) == [(found.id,)]


def test_measured_again_before_machining(desk: Desk, clock: Clock) -> None:
    """In time it takes the place of the first verdict; long after, the first is told, with the next wear beside it."""
    judge(desk, uneven())
    clock.move(days=2)
    second = judge(desk, uneven())
    clock.move(days=40)
    third = judge(desk, rotor(GOOD_ROTOR))
    clock.move(days=40)
    assert told(desk, Rule.NOT_MEASURED_AFTER) == [(second.id, third.id)]


PAIRS = [
    ("default", "machine", "serviceable", None),
    ("machine_pairs", "machine", "serviceable", "left"),
    ("machine_pairs", "machine", "machine", None),
    ("machine_pairs", "machine", "replace", None),
    ("machine_pairs", "replace", "serviceable", None),
    ("machine_pairs", "machine", "inconclusive", "left"),
    ("machine_pairs", "machine", None, "left"),
    ("machine_pairs", "serviceable", None, None),
    ("replace_pairs", "replace", "serviceable", "left"),
    ("replace_pairs", "replace", "machine", "left"),
    ("replace_pairs", "replace", "replace", None),
    ("replace_pairs", "replace", None, "left"),
    ("replace_pairs", "machine", "replace", "right"),
]
"""By policy: the verdicts on both sides, and the side that is told of."""


def part(ruling: str, side: str, policy: str) -> dict[str, Any]:
    if ruling == "machine":
        return uneven(side, policy=policy)
    sizes = {"serviceable": GOOD_ROTOR, "replace": WORN_ROTOR, "inconclusive": OPEN_ROTOR}
    return rotor(sizes[ruling], side, policy=policy)


@pytest.mark.parametrize(("policy", "left", "right", "single"), PAIRS)
def test_work_on_one_side_of_two_that_were_judged_apart(
    desk: Desk, clock: Clock, policy: str, left: str, right: str | None, single: str | None
) -> None:
    made: dict[str, VerdictRecord] = {"left": judge(desk, part(left, "left", policy))}
    clock.move(days=3)
    if right is not None:
        made["right"] = judge(desk, part(right, "right", policy))
    for side, ruling in (("left", left), ("right", right)):
        assert ruling is None or made[side].ruling == Ruling(ruling)
    assert told(desk, Rule.SINGLE_SIDE) == []  # the window is open
    clock.move(days=8)
    lines = [line for line in lines_of(desk) if line.rule is Rule.SINGLE_SIDE]
    assert [line.side for line in lines] == ([] if single is None else [single])
    if single is not None:
        others = [record.id for side, record in made.items() if side != single]
        assert lines[0].verdict_ids == (made[single].id, *others)


@pytest.mark.parametrize(
    ("days", "job", "vehicle", "belongs"),
    [
        (7, "job 1", "unit 1", True),
        (8, "job 1", "unit 1", False),
        (1, "job 2", "unit 1", False),
        (1, "job 1", "unit 2", False),
    ],
)
def test_sides_belong_together_by_vehicle_job_and_days(
    desk: Desk, clock: Clock, days: int, job: str, vehicle: str, *, belongs: bool
) -> None:
    judge(desk, uneven("left", policy="machine_pairs", reference="job 1"))
    clock.move(days=days)
    judge(desk, uneven("right", vehicle=vehicle, policy="machine_pairs", reference=job))
    clock.move(days=30)
    assert len(told(desk, Rule.SINGLE_SIDE)) == (0 if belongs else 2)


def test_a_partner_that_was_machined_all_the_same_is_no_single_side(desk: Desk, clock: Clock) -> None:
    judge(desk, uneven("left", policy="machine_pairs"))
    judge(desk, rotor(GOOD_ROTOR, "right", policy="machine_pairs"))
    clock.move(days=1)
    judge(desk, after(TURNED, "right", policy="machine_pairs"))
    clock.move(days=30)
    assert told(desk, Rule.SINGLE_SIDE) == []


def axle(desk: Desk, policy: str, **sides: Any) -> dict[str, Any]:  # noqa: ANN401 - bodies of sides
    """An axle that is judged by an axle verdict."""
    body = axle_of(policy=policy, instrument=None, **{"left": None, "right": None, **sides})
    secret = create_key(desk, f"axles {policy}", ["verdicts"]).secret
    sent = (
        build_api(desk)
        .test_client()
        .post(
            "/v1/axle-verdicts",
            data=body,
            headers={"Authorization": f"Bearer {secret}", "Content-Type": "application/json"},
        )
    )
    assert sent.status_code == 201, sent.get_data(as_text=True)
    answer: dict[str, Any] = sent.get_json()
    return answer


TO_MACHINE = {"thickness": UNEVEN, "lateral_runout": D("0.01")}


def test_an_axle_verdict_on_one_side_alone(desk: Desk) -> None:
    made = axle(desk, "machine_pairs", left=TO_MACHINE)
    (line,) = [line for line in lines_of(desk) if line.rule is Rule.SINGLE_SIDE]
    assert (line.axle_id, line.verdict_ids) == (made["id"], (made["sides"]["left"]["verdict_id"],))


def test_an_axle_verdict_on_both_sides_of_which_one_was_machined(desk: Desk, clock: Clock) -> None:
    made = axle(desk, "machine_pairs", left=TO_MACHINE, right=GOOD)
    clock.move(days=1)
    judge(desk, after(TURNED, "left", vehicle="unit 114"))
    assert told(desk, Rule.SINGLE_SIDE) == []
    clock.move(days=20)
    ids = [made["sides"][side]["verdict_id"] for side in ("left", "right")]
    assert told(desk, Rule.SINGLE_SIDE) == [tuple(ids)]
    judge(desk, after(TURNED, "right", vehicle="unit 114"))
    assert told(desk, Rule.SINGLE_SIDE) == []


def test_an_axle_verdict_by_which_both_were_machined_anyway(desk: Desk, clock: Clock) -> None:
    """Each side is to be machined by itself: that one was not measured afterwards is told of it, and of no pair."""
    made = axle(desk, "machine_pairs", left=TO_MACHINE, right=TO_MACHINE)
    clock.move(days=1)
    judge(desk, after(TURNED, "left", vehicle="unit 114"))
    clock.move(days=20)
    assert told(desk, Rule.SINGLE_SIDE) == []
    assert told(desk, Rule.NOT_MEASURED_AFTER) == [(made["sides"]["right"]["verdict_id"],)]


def test_a_side_that_was_measured_again_counts_by_its_last_verdict(desk: Desk, clock: Clock) -> None:
    judge(desk, uneven("left", policy="machine_pairs"))
    judge(desk, rotor(GOOD_ROTOR, "right", policy="machine_pairs"))
    clock.move(days=1)
    judge(desk, rotor(GOOD_ROTOR, "left", policy="machine_pairs"))
    clock.move(days=30)
    assert told(desk, Rule.SINGLE_SIDE) == []


def test_an_axle_verdict_by_which_both_are_replaced_and_one_was_machined(desk: Desk, clock: Clock) -> None:
    made = axle(desk, "replace_pairs", left=WORN, right=TO_MACHINE)
    assert told(desk, Rule.SINGLE_SIDE) == []
    clock.move(days=1)
    turned = judge(desk, after(TURNED, "right", vehicle="unit 114"))
    assert told(desk, Rule.SINGLE_SIDE) == [(made["sides"]["left"]["verdict_id"], turned.id)]


def test_what_the_scope_leaves_out_still_counts_for_what_it_covers(desk: Desk, clock: Clock) -> None:
    start = clock()
    before = judge(desk, rotor(WORN_ROTOR), "north")
    clock.move(days=1)
    found = judge(desk, after("23.7"), "south")
    lines = lines_of(desk, Scope(site="south"))
    assert [line.verdict_ids for line in lines if line.rule is Rule.AGAINST_VERDICT] == [(found.id, before.id)]
    assert lines_of(desk, Scope(site="north")) == []
    assert lines_of(desk, Scope(until=start + datetime.timedelta(hours=1))) == []
    assert {line.verdict_ids[0] for line in lines_of(desk, Scope(since=start + datetime.timedelta(hours=1)))} == {
        found.id
    }


def test_who_is_bound_to_a_site_sees_nothing_of_another(desk: Desk, clock: Clock) -> None:
    judge(desk, rotor(WORN_ROTOR), "north")
    clock.move(days=1)
    found = judge(desk, after("23.7"), "south")
    lines = lines_of(desk, Scope(bound="south"))
    assert [line.verdict_ids for line in lines if line.rule is Rule.AGAINST_VERDICT] == [(found.id,)]


def _required(desk: Desk, name: object) -> set[str]:
    """What a policy of the pack requires, with what it inherits."""
    document: Any = desk.pack.policies.get(str(name), {})
    return set(document.get("require", ())) | (
        _required(desk, document["inherits"]) if "inherits" in document else set()
    )


@pytest.mark.parametrize("seed", [11, 12])
def test_what_one_verdict_shows_is_counted_as_by_a_plain_count(desk: Desk, clock: Clock, seed: int) -> None:
    """The second count reads the stored answers and requests as text, and goes through no module of the report."""
    made = live(desk, clock, Random(seed), 150)
    gone = desk.store.withdrawals()
    least = {"default": 4, "careful_bench": 8, "fleet_reserve": 8}
    required = {name: _required(desk, name) for name in least}
    expected: Counter[Rule] = Counter()
    for record in made:
        request, answer = json.loads(record.request), json.loads(record.answer)
        expected[Rule.FEW_POINTS] += len(request.get("thickness") or request["diameter"]) < least[record.policy_name]
        due = request.get("instrument", {}).get("calibration_due", "9999-12-31")
        expected[Rule.GAUGE_OVERDUE] += due < record.judged_at.date().isoformat()
        expected[Rule.READING_MISSING] += bool(required[record.policy_name] & set(answer["missing"]))
        expected[Rule.LIMITS_WITHDRAWN] += any(
            one.limits_id == record.limits_id and one.withdrawn_at >= record.judged_at for one in gone
        )
    counted = Counter(line.rule for line in lines_of(desk))
    assert all(expected.values()), expected
    assert {rule: counted[rule] for rule in expected} == expected
    assert {line.kind for line in lines_of(desk)} == {Kind.ROTOR, Kind.DRUM}

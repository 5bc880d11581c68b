"""Counts and margins against a plain count over the same stored verdicts, and against numpy's quantiles."""

from __future__ import annotations

import json
from collections import defaultdict
from decimal import Decimal
from random import Random
from typing import Any

import numpy as np
import pytest

from tests.actions.fleet_world import judge, live, rotor
from tests.api.bodies import EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.conftest import publish
from turnrule.actions import reporting_verdicts
from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError
from turnrule.actions.report_scope import Scope
from turnrule.actions.reporting_verdicts import MARGINS, By, Group, report_verdicts
from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.port import VerdictRecord

NAMED = {
    By.SITE: lambda record: record.site,
    By.VEHICLE: lambda record: record.vehicle,
    By.AXLE: lambda record: record.axle,
    By.MONTH: lambda record: record.judged_at.isoformat()[:7],
    By.MAKE: lambda record: record.make,
    By.POLICY: lambda record: record.policy_name,
    By.KIND: lambda record: record.kind,
}
GROUPINGS = [(), *((one,) for one in By), (By.SITE, By.MONTH), (By.MONTH, By.SITE), (By.VEHICLE, By.AXLE)]


def margin_of(record: VerdictRecord, name: str) -> Decimal | None:
    answer = json.loads(record.answer, parse_float=Decimal, parse_int=Decimal)
    told: Decimal | None = answer["margins"][name]
    return told if told is None or answer["unit"] == "mm" else told * Decimal("25.4")


def assert_counted(group: Group, records: list[VerdictRecord]) -> None:
    """The group counts exactly these, and spreads as numpy says."""
    assert group.verdicts == len(records)
    assert group.rulings == {ruling: sum(record.ruling is ruling for record in records) for ruling in Ruling}
    for name in MARGINS:
        known = [margin for record in records if (margin := margin_of(record, name)) is not None]
        spread = group.margins[name]
        assert spread.known == len(known)
        told = [spread.least, spread.lower_quartile, spread.median, spread.upper_quartile, spread.greatest]
        if not known:
            assert told == [None] * 5
            continue
        assert (told[0], told[4]) == (min(known), max(known))
        expected = np.quantile([float(one) for one in known], [0, 0.25, 0.5, 0.75, 1])
        assert [float(one) for one in told if one is not None] == pytest.approx(list(expected), abs=1e-9)


@pytest.mark.parametrize("seed", [1, 2])
def test_every_grouping_counts_what_a_plain_count_counts(
    desk: Desk, clock: Clock, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("turnrule.actions.sorted_rows.RUN", 7)
    made = live(desk, clock, Random(seed), 120)
    for by in GROUPINGS:
        report = report_verdicts(desk, Scope(), by)
        assert_counted(report.total, made)
        by_name = defaultdict(list)
        for record in made if by else ():
            by_name[tuple(NAMED[one](record) for one in by)].append(record)
        assert {group.names for group in report.groups} == set(by_name)
        assert len(report.groups) == len(by_name)
        for group in report.groups:
            assert_counted(group, by_name[group.names])
        order = [[(name is None, name or "") for name in group.names] for group in report.groups]
        assert order == sorted(order)


def test_only_what_the_scope_covers_is_counted(desk: Desk, clock: Clock) -> None:
    made = live(desk, clock, Random(3), 80)
    middle = made[40].judged_at
    scopes: list[dict[str, Any]] = [
        {"site": "north"},
        {"vehicle": "unit 1"},
        {"make": "CORVANE"},
        {"make": "Harrow", "model": "tander"},
        {"axle": Axle.REAR},
        {"kind": Kind.DRUM},
        {"since": middle},
        {"until": middle},
        {"since": middle, "until": made[60].judged_at, "site": "south"},
    ]
    for asked in scopes:
        report = report_verdicts(desk, Scope(**asked))
        covered = [record for record in made if Scope(**asked).covers(record)]
        assert 0 < len(covered) < len(made), asked
        assert_counted(report.total, covered)
    since = [record for record in made if record.judged_at >= middle]
    assert report_verdicts(desk, Scope(since=middle)).total.verdicts == len(since)


def test_who_is_bound_to_a_site_sees_no_other(desk: Desk, clock: Clock) -> None:
    made = live(desk, clock, Random(4), 40)
    mine = [record for record in made if record.site == "north"]
    report = report_verdicts(desk, Scope(bound="north"), (By.SITE,))
    assert [group.names for group in report.groups] == [("north",)]
    assert_counted(report.total, mine)
    assert report_verdicts(desk, Scope(site="south", bound="north")).total.verdicts == 0


def test_makes_that_differ_in_case_and_spacing_are_one(desk: Desk) -> None:
    publish(desk, EXAMPLE_LIMITS)
    for make in ("Corvane", " CORVANE".strip(), "corvane"):
        body = rotor("25")
        judge(desk, body | {"application": {**body["application"], "make": make}})
    report = report_verdicts(desk, Scope(), (By.MAKE,))
    assert [(group.names, group.verdicts) for group in report.groups] == [(("Corvane",), 3)]


def test_more_groups_than_are_kept_are_refused(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reporting_verdicts, "MOST_GROUPS", 2)
    publish(desk, EXAMPLE_LIMITS)
    for vehicle in ("unit 1", "unit 2"):
        judge(desk, rotor("25", vehicle=vehicle))
    assert len(report_verdicts(desk, Scope(), (By.VEHICLE,)).groups) == 2
    judge(desk, rotor("25", vehicle="unit 3"))
    with pytest.raises(RefusedError, match="more than 2 groups by vehicle") as caught:
        report_verdicts(desk, Scope(), (By.VEHICLE,))
    assert caught.value.code == "too_many_groups"
    assert report_verdicts(desk, Scope(), (By.MAKE,)).total.verdicts == 3


def test_how_far_it_is_is_told(desk: Desk, clock: Clock) -> None:
    live(desk, clock, Random(5), 20)
    heard: list[tuple[int, int]] = []
    report_verdicts(desk, Scope(), (), lambda done, of: heard.append((done, of)))
    assert heard == [(20, 20)]

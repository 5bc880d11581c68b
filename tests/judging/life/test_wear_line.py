"""The readings of the part that is judged: which lie on the line, which do not, and what a policy may rest on."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.samples import rotor as rotor_of
from tests.judging.samples import verdict_on
from turnrule.judging.faults import PartError
from turnrule.judging.part_life import PartLife
from turnrule.judging.parts import EarlierReading, Instrument, Part, Readings, Services
from turnrule.judging.planning_words import DoubtReason, Untold
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, Outcome, Stage

D = Decimal
GROWN, EARLIER, MACHINED = DoubtReason.GROWN, DoubtReason.EARLIER_PART, DoubtReason.MACHINED_SINCE
ASKS = Policy(remaining_distance_km=D(30_000))


def read(*pairs: tuple[int, str], finished: bool = False, expanded: str | None = None) -> tuple[EarlierReading, ...]:
    """Readings from distances in thousands of km and thicknesses."""
    gauge = None if expanded is None else D(expanded)
    return tuple(EarlierReading(D(size), D(1000 * at), expanded=gauge, finished=finished) for at, size in pairs)


def rotor(size: str, at: int, **more: object) -> Part:
    """A good rotor of this thickness at so many thousand km; its discard thickness is 24 mm."""
    part = rotor_of(*[size] * 8, lateral_runout=D("0.03"))
    return replace(part, odometer_km=D(1000 * at), **more)  # type: ignore[arg-type] # fields of a part


def life_in(verdict: Verdict) -> PartLife:
    """The life of a verdict that has one."""
    assert verdict.life is not None
    return verdict.life


def left_out(verdict: Verdict) -> list[tuple[int, DoubtReason]]:
    """Places and reasons of the readings left out."""
    return [(doubt.place, doubt.reason) for doubt in life_in(verdict).life.doubts]


def outcome(verdict: Verdict) -> Outcome:
    """What came of the check of the distance left."""
    return next(check.outcome for check in verdict.checks if check.check is CheckName.REMAINING_DISTANCE)


def test_where_nothing_is_given_for_it_no_life_is_told() -> None:
    assert verdict_on(rotor("25", 30)).life is None


@pytest.mark.parametrize("more", [{"drawn": ()}, {"services": Services(D(15_000))}])
def test_what_is_asked_without_readings_is_told_as_unknown(more: dict[str, object]) -> None:
    verdict = verdict_on(rotor("25", 30, **more), policy=ASKS)
    assert life_in(verdict).life.untold == (Untold.TOO_FEW_READINGS,)
    assert (life_in(verdict).suspect, life_in(verdict).reached) == (False, None)
    assert outcome(verdict) is Outcome.NOT_ASSESSED


def test_a_false_earlier_reading_is_left_out_and_the_policy_still_holds() -> None:
    verdict = verdict_on(
        rotor("24.8", 40, history=read((0, "26"), (10, "25.7"), (20, "25.95"), (30, "25.1"))), policy=ASKS
    )
    assert left_out(verdict) == [(2, GROWN)]
    assert (life_in(verdict).disputed, outcome(verdict)) == (False, Outcome.FAIL)
    assert verdict.figures.remaining_km == 26_666


def test_where_todays_reading_contradicts_an_earlier_one_the_policy_is_not_assessed() -> None:
    verdict = verdict_on(rotor("24.8", 30, history=read((0, "26"), (10, "25.6"), (20, "24.4"))), policy=ASKS)
    assert left_out(verdict) == [(2, GROWN)]
    assert (life_in(verdict).disputed, outcome(verdict)) == (True, Outcome.NOT_ASSESSED)
    assert verdict.figures.remaining_km == 20_000
    assert verdict.room.most_total_cut == verdict_on(rotor("24.8", 30)).room.most_total_cut


@pytest.mark.parametrize(("gauge", "disputed"), [("0.0398", True), ("0.0401", False)])
def test_todays_gauge_and_that_of_the_earlier_reading_both_count(gauge: str, *, disputed: bool) -> None:
    """0.05 mm thicker: 0.03 of a gauge that nobody states, and 0.04 of today's, together are 0.05."""
    today = rotor("25", 30, history=read((20, "24.95"), (0, "26")))
    fine = Instrument(D("0.0001"), D(gauge), D(0))
    assert life_in(verdict_on(replace(today, instrument=fine))).disputed is disputed


@pytest.mark.parametrize(("expanded", "count"), [("0.2", 0), ("0.01", 1)])
def test_a_drawn_reading_brings_its_own_gauge(expanded: str, count: int) -> None:
    drawn = read((0, "25.4"), (10, "25.5"), (20, "25.1"), expanded=expanded)
    assert len(left_out(verdict_on(rotor("25", 30, drawn=drawn)))) == count


def test_readings_before_the_last_machining_are_left_out_those_beside_it_too() -> None:
    drawn = (*read((0, "26"), (10, "25.8")), *read((10, "25.4"), finished=True), *read((10, "25.4"), (20, "25.2")))
    told = read((5, "25.9"), (10, "25.7"), (25, "25.1"))
    verdict = verdict_on(rotor("25", 30, drawn=drawn, history=told, new=read((0, "26"))[0]))
    assert left_out(verdict) == [(0, MACHINED), (1, MACHINED), (5, MACHINED), (6, MACHINED)]
    assert life_in(verdict).life.left_km == 50_000
    assert not life_in(verdict).suspect


def test_a_part_new_since_a_machining_wears_from_its_new_size() -> None:
    drawn = (*read((10, "24.4"), finished=True), *read((30, "25.75")))
    verdict = verdict_on(rotor("25.5", 40, drawn=drawn, new=read((20, "26"))[0]))
    assert left_out(verdict) == [(0, EARLIER)]
    assert life_in(verdict).life.left_km == 60_000
    assert not life_in(verdict).suspect


def test_a_finished_part_wears_on_the_line_of_the_readings_before() -> None:
    part = rotor("25", 40, history=read((0, "26"), (20, "25.6")), stage=Stage.AFTER_MACHINING)
    verdict = verdict_on(part, policy=ASKS)
    assert left_out(verdict) == [(2, MACHINED)]
    assert (verdict.figures.remaining_km, outcome(verdict)) == (D(50_000), Outcome.PASS)


def test_earlier_readings_tell_the_rate_where_no_size_was_read_today() -> None:
    verdict = verdict_on(replace(rotor("25", 40, history=read((0, "26"), (20, "25.6"))), readings=Readings()))
    life = life_in(verdict)
    assert (life.today, life.counted_from) == (False, None)
    assert life.life.untold == (Untold.TOO_FEW_FOR_BOUND, Untold.NO_SIZE)
    assert verdict.figures.wear_per_1000_km == D("0.02")


def test_a_changed_part_is_suspect_and_named() -> None:
    verdict = verdict_on(rotor("25.5", 60, history=read((0, "25"), (20, "24.4"), (50, "25.8"), (40, "25.9"))))
    assert left_out(verdict) == [(0, EARLIER), (1, EARLIER)]
    assert life_in(verdict).suspect


def test_services_are_counted_by_the_estimate_and_by_the_bound() -> None:
    history = read((0, "26.02"), (10, "25.71"), (20, "25.52"), (30, "25.19"))
    verdict = verdict_on(rotor("25", 40, history=history, services=Services(D(2_000))))
    life = life_in(verdict)
    assert life.life.left_km is not None
    assert life.life.at_least_km is not None
    assert life.reached is not None
    assert life.surely_reached is not None
    assert life.reached.count == life.life.left_km // 2_000
    assert life.surely_reached.count == life.life.at_least_km // 2_000
    assert life.surely_reached.count < life.reached.count


def test_a_distance_without_history_is_named_as_missing_once() -> None:
    """Whatever needs today's odometer, it is asked for once."""
    part = replace(rotor("25", 30), odometer_km=None, services=Services(), new=read((0, "26"))[0])
    with pytest.raises(PartError) as refusal:
        verdict_on(part)
    assert [fault.pointer for fault in refusal.value.faults] == ["/vehicle/odometer"]


def test_faults_of_the_life_are_told_together() -> None:
    services = Services(D(0), from_km=D(40_000), at_km=(D(50_000),))
    part = rotor("25", 30, services=services, new=read((31, "26"))[0], history=read((32, "25")))
    with pytest.raises(PartError) as refusal:
        verdict_on(part)
    assert [fault.pointer for fault in refusal.value.faults] == [
        "/history/0/odometer",
        "/when_new/odometer",
        "/services",
        "/services/last",
        "/services/interval",
        "/services/last",
    ]

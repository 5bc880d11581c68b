"""Readings that cannot all be true: which are left out, and that none is left that contradicts another."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.doubts import Doubt, doubts_about
from turnrule.judging.parts import EarlierReading
from turnrule.judging.planning_words import DoubtReason

D = Decimal
GROWN, EARLIER = DoubtReason.GROWN, DoubtReason.EARLIER_PART
U = D("0.01")


def read(*pairs: tuple[int, str]) -> list[EarlierReading]:
    """Readings from distances in thousands of km and sizes."""
    return [EarlierReading(D(size), D(1000 * distance)) for distance, size in pairs]


READING = st.builds(
    EarlierReading,
    size=st.integers(24_000, 26_000).map(lambda count: count * D("0.001")),
    odometer_km=st.integers(0, 12).map(lambda count: D(10_000 * count)),
)
READINGS = st.lists(READING, max_size=9)
READINGS_APART = st.lists(READING, max_size=9, unique_by=lambda reading: reading.odometer_km)
GAUGE = st.integers(0, 400).map(lambda count: count * D("0.001"))


def contradict(one: EarlierReading, other: EarlierReading, expanded: Decimal) -> bool:
    """True where the one at the greater distance is thicker beyond what two gauges explain."""
    early, late = sorted((one, other), key=lambda reading: reading.odometer_km)
    grown = late.size - early.size
    return late.odometer_km > early.odometer_km and grown > 0 and grown**2 > 2 * expanded**2


def test_a_part_that_only_wears_leaves_nothing_in_doubt() -> None:
    assert doubts_about(read((0, "26"), (10, "25.6"), (20, "25.6")), rotor=True, expanded=U) == ()


def test_one_reading_that_is_too_thick_is_named_by_its_place() -> None:
    readings = read((0, "26"), (10, "25.7"), (20, "25.4"), (30, "25.9"), (40, "24.8"))
    assert doubts_about(readings, rotor=True, expanded=U) == (Doubt(3, GROWN, (1, 2)),)


def test_one_reading_that_is_too_thin_is_named_and_not_all_those_after_it() -> None:
    readings = read((0, "26"), (10, "22"), (20, "25.4"), (30, "25.2"), (40, "24.8"))
    assert doubts_about(readings, rotor=True, expanded=U) == (Doubt(1, GROWN, (2, 3, 4)),)


def test_of_two_that_contradict_each_other_the_one_is_left_out_that_the_rest_speak_against() -> None:
    later_is_false = read((0, "26"), (10, "25.5"), (20, "25.9"), (30, "25"))
    assert doubts_about(later_is_false, rotor=True, expanded=U) == (Doubt(2, GROWN, (1,)),)
    earlier_is_false = read((0, "26"), (10, "24.9"), (20, "25.4"), (30, "25.1"))
    assert [one.place for one in doubts_about(earlier_is_false, rotor=True, expanded=U)] == [1]


def test_where_the_rest_tell_nothing_the_one_is_left_out_that_would_hide_wear() -> None:
    earlier_hides_wear = read((0, "25"), (10, "25.5"), (20, "24.9"))
    assert doubts_about(earlier_hides_wear, rotor=True, expanded=U) == (Doubt(0, GROWN, (1,)),)


def test_of_two_readings_that_are_all_there_is_the_later_one_shows_the_growth() -> None:
    assert doubts_about(read((0, "25"), (10, "25.5")), rotor=True, expanded=U) == (Doubt(1, GROWN, (0,)),)


@pytest.mark.parametrize(("later", "in_doubt"), [("25.0141", False), ("25.0142", True)])
def test_growth_is_doubted_beyond_root_two_times_the_gauge(later: str, *, in_doubt: bool) -> None:
    """sqrt 2 x 0.01 is 0.01414..."""
    found = doubts_about(read((0, "25"), (10, later)), rotor=True, expanded=U)
    assert bool(found) is in_doubt


def test_readings_at_one_distance_contradict_nothing() -> None:
    assert doubts_about(read((10, "25"), (10, "25.5")), rotor=True, expanded=U) == ()


def test_a_drum_that_is_read_narrower_is_in_doubt() -> None:
    readings = read((0, "280"), (10, "280.4"), (20, "280.1"), (30, "280.9"))
    assert [one.place for one in doubts_about(readings, rotor=False, expanded=U)] == [2]
    assert [one.place for one in doubts_about(readings, rotor=True, expanded=U)] != [2]


def test_a_part_that_was_changed_in_between_is_known_by_its_readings() -> None:
    readings = read((50, "25.9"), (0, "25"), (20, "24.4"), (60, "25.7"))
    assert doubts_about(readings, rotor=True, expanded=U) == (Doubt(1, EARLIER, (0,)), Doubt(2, EARLIER, (0,)))


def test_the_latest_change_of_the_part_counts() -> None:
    readings = read((0, "20"), (5, "20"), (10, "22"), (15, "22"), (20, "24"), (25, "24"))
    assert [one.place for one in doubts_about(readings, rotor=True, expanded=U)] == [0, 1, 2, 3]


def test_a_single_thin_reading_at_the_start_is_no_earlier_part() -> None:
    readings = read((0, "20"), (10, "26"), (20, "25.7"))
    assert doubts_about(readings, rotor=True, expanded=U) == (Doubt(0, GROWN, (1, 2)),)


def test_a_single_thick_reading_at_the_end_is_no_changed_part() -> None:
    readings = read((0, "26"), (10, "25.7"), (20, "25.4"), (30, "26.5"))
    assert doubts_about(readings, rotor=True, expanded=U) == (Doubt(3, GROWN, (0, 1, 2)),)


@given(READINGS, GAUGE)
def test_no_reading_that_is_left_contradicts_another(readings: list[EarlierReading], expanded: Decimal) -> None:
    out = {doubt.place for doubt in doubts_about(readings, rotor=True, expanded=expanded)}
    kept = [one for place, one in enumerate(readings) if place not in out]
    assert not any(contradict(one, other, expanded) for one, other in itertools.combinations(kept, 2))


@given(READINGS, GAUGE)
def test_every_reading_left_out_contradicts_those_that_are_named(
    readings: list[EarlierReading], expanded: Decimal
) -> None:
    for doubt in doubts_about(readings, rotor=True, expanded=expanded):
        assert doubt.against
        assert all(contradict(readings[doubt.place], readings[other], expanded) for other in doubt.against)


@given(READINGS, GAUGE)
def test_a_drum_is_a_rotor_in_the_mirror(readings: list[EarlierReading], expanded: Decimal) -> None:
    mirrored = [EarlierReading(50 - one.size, one.odometer_km) for one in readings]
    assert doubts_about(mirrored, rotor=False, expanded=expanded) == doubts_about(
        readings, rotor=True, expanded=expanded
    )


@given(
    READINGS_APART.flatmap(lambda readings: st.tuples(st.just(readings), st.permutations(range(len(readings))))), GAUGE
)
def test_the_order_in_which_readings_are_given_does_not_matter(
    drawn: tuple[list[EarlierReading], list[int]], expanded: Decimal
) -> None:
    readings, order = drawn
    shuffled = [readings[place] for place in order]
    found = {order[doubt.place] for doubt in doubts_about(shuffled, rotor=True, expanded=expanded)}
    assert found == {doubt.place for doubt in doubts_about(readings, rotor=True, expanded=expanded)}

"""The life that is left: the rate with its uncertainty, the distance, its lower bound, and what is not told."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.published.data import NORRIS
from turnrule.judging.doubts import Doubt
from turnrule.judging.life import Life, life_of
from turnrule.judging.parts import EarlierReading
from turnrule.judging.planning_words import DoubtReason, Untold

D = Decimal
U = D("0.01")


def read(*pairs: tuple[int, str]) -> list[EarlierReading]:
    """Readings from distances in thousands of km and sizes."""
    return [EarlierReading(D(size), D(1000 * distance)) for distance, size in pairs]


def rotor_life(readings: list[EarlierReading], size: str = "25", discard: str = "24", **more: object) -> Life:
    """The life of a rotor from this size to this discard limit."""
    return life_of(readings, rotor=True, expanded=U, size=D(size), discard=D(discard), **more)  # type: ignore[arg-type]


SCATTERED = read((0, "26.02"), (10, "25.71"), (20, "25.52"), (30, "25.19"), (40, "25.00"))


def test_distance_and_bound_of_a_scattered_history_agree_with_the_reference_library() -> None:
    """scipy.stats.linregress and scipy.stats.t are the reference."""
    found = rotor_life(SCATTERED)
    line = scipy.stats.linregress([0, 10_000, 20_000, 30_000, 40_000], [26.02, 25.71, 25.52, 25.19, 25.00])
    at_most = -line.slope + scipy.stats.t.ppf(0.95, 3) * line.stderr
    assert found.left_km == int(1 / -line.slope)
    assert found.at_least_km == int(1 / at_most)
    assert found.rate is not None
    assert (found.rate.freedom, found.rate.used) == (3, 5)
    assert float(found.rate.per_1000_km) == pytest.approx(-1000 * line.slope, abs=1e-7)
    assert found.rate.at_most_per_1000_km is not None
    assert float(found.rate.at_most_per_1000_km) == pytest.approx(1000 * at_most, abs=1e-7)
    assert (found.doubts, found.untold) == ((), ())


def test_a_wear_line_has_the_certified_rate_and_error_of_norris() -> None:
    """NIST StRD, Norris (READ): a drum that would grow by 1.002 mm a kilometre, to a very coarse gauge."""
    readings = [EarlierReading(y, x) for x, y in NORRIS]
    found = life_of(readings, rotor=False, expanded=D(5), size=D(0), discard=D(1000))
    assert found.rate is not None
    assert found.rate.error is not None
    assert (found.rate.lost / found.rate.over).quantize(D("1E-14")) == D("1.00211681802045")
    assert found.rate.error.quantize(D("1E-18")) == D("0.000429796848199937")
    assert found.rate.freedom == 34
    assert found.left_km == 997


def test_a_perfect_line_has_a_bound_that_is_the_distance_itself() -> None:
    found = rotor_life(read((0, "26"), (10, "25.7"), (20, "25.4"), (30, "25.1")))
    assert found.left_km == found.at_least_km == 33_333


def test_two_readings_give_a_distance_and_no_bound_and_it_is_said() -> None:
    found = rotor_life(read((0, "26"), (20, "25")))
    assert (found.left_km, found.at_least_km) == (D(20_000), None)
    assert found.untold == (Untold.TOO_FEW_FOR_BOUND,)
    assert found.rate is not None
    assert found.rate.at_most_per_1000_km is None


def test_a_reading_that_shows_the_part_growing_is_named_and_not_fitted() -> None:
    found = rotor_life(read((0, "26"), (10, "25.7"), (20, "25.95"), (30, "25.1"), (40, "24.8")))
    assert found.doubts == (Doubt(2, DoubtReason.GROWN, (1,)),)
    assert found.rate is not None
    assert found.rate.used == 4
    assert found.left_km == found.at_least_km == 33_333


def test_readings_that_contradict_each_other_until_one_is_left_tell_no_rate() -> None:
    found = rotor_life(read((0, "25"), (10, "25.5")))
    assert [one.place for one in found.doubts] == [1]
    assert (found.rate, found.left_km, found.untold) == (None, None, (Untold.READINGS_CONTRADICT,))


def test_where_as_many_readings_are_left_out_as_are_kept_nothing_is_told() -> None:
    untold = rotor_life(read((0, "25.4"), (10, "25.8"), (20, "24.8"), (30, "25.2")))
    assert (len(untold.doubts), untold.rate, untold.untold) == (2, None, (Untold.READINGS_CONTRADICT,))
    told = rotor_life(read((0, "26"), (10, "25.2"), (20, "25.8"), (30, "25"), (40, "25.6")))
    assert (len(told.doubts), told.untold) == (2, ())
    assert told.left_km == 100_000


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([], Untold.TOO_FEW_READINGS),
        (read((10, "25")), Untold.TOO_FEW_READINGS),
        (read((10, "25"), (10, "24.9")), Untold.ONE_DISTANCE),
        (read((10, "25"), (20, "25")), Untold.NOT_WEARING),
        (read((10, "25"), (20, "25.01")), Untold.NOT_WEARING),
    ],
)
def test_what_tells_no_rate_says_why(readings: list[EarlierReading], why: Untold) -> None:
    found = rotor_life(readings)
    assert (found.rate, found.left_km, found.at_least_km, found.untold) == (None, None, None, (why,))


def test_a_missing_size_and_a_missing_limit_are_named_and_the_rate_is_told() -> None:
    found = life_of(SCATTERED, rotor=True, expanded=U, size=None, discard=None)
    assert found.rate is not None
    assert (found.left_km, found.at_least_km) == (None, None)
    assert found.untold == (Untold.NO_SIZE, Untold.NO_DISCARD_LIMIT)


def test_a_part_at_its_limit_has_nothing_left() -> None:
    assert rotor_life(SCATTERED, size="24").left_km == 0
    assert rotor_life(SCATTERED, size="23").at_least_km == 0


def test_a_drum_wears_wider() -> None:
    found = life_of(
        read((0, "280"), (10, "280.2"), (20, "280.4")), rotor=False, expanded=U, size=D(281), discard=D(282)
    )
    assert (found.left_km, found.at_least_km) == (D(50_000), D(50_000))


def test_a_known_size_when_new_lets_one_reading_tell_the_rate() -> None:
    found = rotor_life(read((50, "25.5")), new=EarlierReading(D(26), D(30_000)))
    assert (found.left_km, found.at_least_km) == (D(40_000), None)
    assert found.untold == (Untold.TOO_FEW_FOR_BOUND,)


def test_a_known_size_when_new_leaves_one_more_degree_of_freedom() -> None:
    """The reference is the least-squares line through nought, by hand: sum xy / sum xx."""
    found = rotor_life(read((40, "25.7"), (50, "25.5")), new=EarlierReading(D(26), D(30_000)))
    assert found.rate is not None
    rate = (10_000 * 0.3 + 20_000 * 0.5) / (10_000**2 + 20_000**2)
    left = np.array([0.3 - rate * 10_000, 0.5 - rate * 20_000])
    error = np.sqrt(left @ left / 1 / (10_000**2 + 20_000**2))
    assert found.rate.freedom == 1
    assert float(found.rate.per_1000_km) == pytest.approx(1000 * rate, abs=1e-7)
    assert found.at_least_km == int(1 / (rate + scipy.stats.t.ppf(0.95, 1) * error))


def test_a_reading_of_the_very_day_on_which_the_part_was_new_is_its_own() -> None:
    found = rotor_life(read((30, "26"), (50, "25.5")), new=EarlierReading(D(26), D(30_000)))
    assert (found.doubts, found.left_km, found.at_least_km) == ((), D(40_000), D(40_000))


def test_wear_over_a_few_metres_is_wear_all_the_same() -> None:
    readings = [EarlierReading(D("25.5"), D(0)), EarlierReading(D("25.4"), D(1))]
    assert rotor_life(readings).left_km == 10


def test_readings_from_before_the_part_was_new_are_another_parts() -> None:
    readings = read((20, "24.2"), (40, "25.7"), (45, "25.9"), (50, "25.5"), (60, "25.2"))
    found = rotor_life(readings, new=EarlierReading(D(26), D(30_000)))
    assert found.doubts == (
        Doubt(0, DoubtReason.EARLIER_PART, ()),
        Doubt(2, DoubtReason.GROWN, (1,)),
    )
    assert found.rate is not None
    assert found.rate.used == 3


LINE = st.lists(
    st.builds(
        EarlierReading,
        size=st.integers(24_000, 26_000).map(lambda count: count * D("0.001")),
        odometer_km=st.integers(0, 200_000).map(Decimal),
    ),
    min_size=2,
    max_size=9,
)


@given(LINE, st.integers(-100, 2000).map(lambda count: count * D("0.001")))
def test_the_bound_is_never_more_than_the_distance_and_both_fall_with_the_size(
    readings: list[EarlierReading], above: Decimal
) -> None:
    found = rotor_life(readings, size=str(24 + above))
    thinner = rotor_life(readings, size=str(24 + above - D("0.1")))
    if found.left_km is None:
        assert found.rate is None
        return
    assert thinner.left_km is not None
    assert 0 <= thinner.left_km <= found.left_km
    if found.at_least_km is not None:
        assert thinner.at_least_km is not None
        assert thinner.at_least_km <= found.at_least_km <= found.left_km


@given(LINE, st.integers(0, 1000))
def test_rate_and_bound_of_any_readings_agree_with_the_reference_library(
    readings: list[EarlierReading], places: int
) -> None:
    """scipy.stats.linregress is the reference; a gauge so coarse that nothing is in doubt."""
    found = life_of(readings, rotor=True, expanded=D(100), size=D(25) + places, discard=D(24))
    xs, ys = ([float(getattr(one, name)) for one in readings] for name in ("odometer_km", "size"))
    if found.rate is None or found.rate.freedom == 0:
        assert found.at_least_km is None
        return
    line = scipy.stats.linregress(np.array(xs) - np.mean(xs), ys)
    assert float(found.rate.lost / found.rate.over) == pytest.approx(-line.slope, rel=1e-6)
    assert found.rate.error is not None
    assert float(found.rate.error) == pytest.approx(line.stderr, rel=1e-5, abs=1e-16)
    at_most = -line.slope + scipy.stats.t.ppf(0.95, found.rate.freedom) * line.stderr
    assert found.at_least_km is not None
    assert float(found.at_least_km) == pytest.approx((1 + places) / at_most, rel=1e-5, abs=1.5)


@given(LINE, st.integers(1, 1000))
def test_the_life_of_a_drum_is_that_of_a_rotor_in_the_mirror(readings: list[EarlierReading], above: int) -> None:
    mirrored = [EarlierReading(300 - one.size, one.odometer_km) for one in readings]
    drum = life_of(mirrored, rotor=False, expanded=U, size=D(276) - above * D("0.001"), discard=D(276))
    assert drum == rotor_life(readings, size=str(24 + above * D("0.001")))

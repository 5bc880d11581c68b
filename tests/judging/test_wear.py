"""The wear rate and the distance left."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.wear import distance_left, fit, worn_by

D = Decimal
POINT = st.tuples(st.integers(0, 10**6).map(Decimal), st.integers(15_000, 30_000).map(lambda n: n * D("0.001")))


@given(st.lists(POINT, min_size=3, max_size=12, unique_by=lambda point: point[0]))
def test_the_line_is_the_one_that_least_squares_finds(points: list[tuple[Decimal, Decimal]]) -> None:
    """numpy.polyfit is the reference."""
    line = fit(points)
    assert line is not None
    xs, ys = (np.array([float(point[axis]) for point in points]) for axis in (0, 1))
    middle = xs.mean()
    slope, height = np.polyfit(xs - middle, ys, 1)
    assert float(line.slope) == pytest.approx(slope, rel=1e-6, abs=1e-12)
    assert float(line.intercept) == pytest.approx(height - slope * middle, rel=1e-6, abs=1e-6)


def test_two_points_give_a_line_and_nothing_to_judge_it_by() -> None:
    line = fit([(D(0), D(26)), (D(10_000), D("25.5"))])
    assert line is not None
    assert (line.slope, line.intercept, line.slope_error) == (D("-0.00005"), D(26), None)


def test_no_points_and_points_at_one_distance_give_no_line() -> None:
    assert fit([]) is None
    assert fit([(D(5), D(26)), (D(5), D(25))]) is None


@pytest.mark.parametrize(("above", "left"), [("1", 20_000), ("0.99999", 19_999), ("0", 0), ("-1", 0)])
def test_the_distance_left_is_rounded_down_and_never_negative(above: str, left: int) -> None:
    assert distance_left(D(above), D(1), D(20_000)) == left


def test_a_distance_that_comes_out_whole_loses_nothing() -> None:
    """0.2 mm over 33,000 km leaves 0.547 mm for 90,255 km exactly."""
    line = fit([(D(52_600), D("27.401")), (D(85_600), D("27.201"))])
    assert line is not None
    assert distance_left(D("0.547"), -line.rise, line.run) == 90_255
    assert worn_by(D(90_255), -line.rise, line.run) == D("0.547")

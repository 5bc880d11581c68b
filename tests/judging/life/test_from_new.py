"""The wear line of a part whose size when new is known, against certified values and a reference library."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.wear import fit_from_new

D = Decimal
POINT = st.tuples(st.integers(1, 10**6).map(Decimal), st.integers(-5_000, 5_000).map(lambda n: n * D("0.001")))


def test_the_line_through_nought_has_every_certified_digit_of_noint1() -> None:
    """NIST StRD, linear regression, NoInt1 (READ): x 60 to 70, y 130 to 140, no intercept."""
    line = fit_from_new([(D(60 + step), D(130 + step)) for step in range(11)])
    assert line is not None
    assert line.slope_error is not None
    assert line.residual_deviation is not None
    for computed, certified in (
        (line.slope, "2.07438016528926"),
        (line.slope_error, "0.0165289256198347"),
        (line.residual_deviation, "3.56753034006338"),
    ):
        assert computed.quantize(D(certified)) == D(certified)
    assert line.intercept == 0
    assert line.intercept_error is None
    # R squared of a line through nought counts from nought (READ: 0.999365492298663).
    squares = sum(D(130 + step) ** 2 for step in range(11))
    assert (1 - line.residual_deviation**2 * 10 / squares).quantize(D("1E-15")) == D("0.999365492298663")


@given(st.lists(POINT, min_size=2, max_size=12))
def test_the_line_through_nought_is_the_one_that_least_squares_finds(points: list[tuple[Decimal, Decimal]]) -> None:
    """numpy.linalg.lstsq is the reference."""
    line = fit_from_new(points)
    assert line is not None
    xs, ys = (np.array([float(point[axis]) for point in points]) for axis in (0, 1))
    (slope,), *_ = np.linalg.lstsq(xs[:, None], ys, rcond=None)
    assert float(line.slope) == pytest.approx(float(slope), rel=1e-9, abs=1e-15)
    left = ys - slope * xs
    error = np.sqrt(left @ left / (len(points) - 1) / (xs @ xs))
    assert line.slope_error is not None
    assert float(line.slope_error) == pytest.approx(float(error), rel=1e-6, abs=1e-12)


def test_one_reading_gives_a_line_from_new_and_nothing_to_judge_it_by() -> None:
    line = fit_from_new([(D(10_000), D("-0.5"))])
    assert line is not None
    assert (line.slope, line.slope_error, line.residual_deviation) == (D("-0.00005"), None, None)


def test_readings_of_a_part_that_has_not_run_give_no_line() -> None:
    assert fit_from_new([(D(0), D(0))]) is None
    assert fit_from_new([]) is None

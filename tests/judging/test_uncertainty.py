"""Uncertainty and probability, against references outside the project."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.parts import Instrument
from turnrule.judging.policy import InstrumentDefaults
from turnrule.judging.uncertainty import (
    combine,
    conformity,
    expanded_uncertainty,
    of_instrument,
    probability,
    repeatability_of,
)

D = Decimal
SMALL = st.integers(0, 2000).map(lambda count: count * D("0.0001"))


@given(SMALL, SMALL, SMALL)
def test_the_expanded_uncertainty_is_the_least_step_not_below_two_u(
    resolution: Decimal, calibration: Decimal, spread: Decimal
) -> None:
    expanded = Fraction(expanded_uncertainty(resolution, calibration, spread))
    four_u_squared = Fraction(resolution) ** 2 / 3 + Fraction(calibration) ** 2 + 4 * Fraction(spread) ** 2
    step = Fraction(1, 10000)
    assert expanded**2 >= four_u_squared
    assert expanded == 0 or (expanded - step) ** 2 < four_u_squared
    assert expanded % step == 0


@given(st.integers(-60_000, 60_000).map(lambda count: count * D("0.0001")))
def test_the_probability_is_the_normal_distribution_function_to_six_digits(z: Decimal) -> None:
    """scipy.stats.norm is the reference."""
    assert float(probability(z)) == pytest.approx(float(scipy.stats.norm.cdf(float(z))), abs=6e-7)


def test_the_instrument_as_stated_goes_before_the_policy() -> None:
    stated = of_instrument(Instrument(D("0.001"), D("0.002"), D("0.003")), InstrumentDefaults(D(1), D(1), D(1)))
    silent = of_instrument(Instrument(), InstrumentDefaults(D("0.001"), D("0.002"), D("0.003")))
    assert stated == silent == combine(D("0.001"), D("0.002"), D("0.003"))


def test_a_perfect_gauge_is_sure_either_way() -> None:
    perfect = combine(D(0), D(0), D(0))
    assert conformity(D(0), perfect) == 1
    assert conformity(D("-0.0001"), perfect) == 0


def test_one_reading_has_no_repeatability() -> None:
    with pytest.raises(ValueError, match="two readings or more"):
        repeatability_of([D(1)])

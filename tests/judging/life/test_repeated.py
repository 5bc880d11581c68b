"""Repeated readings of one place, against certified values."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.published import data
from tests.judging.published.data import Univariate
from tests.judging.published.sources import Status
from turnrule.judging.lengths import EXACT
from turnrule.judging.repeated import of_readings

D = Decimal


def digits_of_pi(count: int) -> tuple[Decimal, ...]:
    """The first digits of pi, by Machin's formula in whole numbers; the published series has 3 for the 957th, an 8."""
    scale = 10 ** (count + 20)

    def arctangent_of_inverse(whole: int) -> int:
        power: int = scale // whole
        total: int = power
        odd, sign = 1, 1
        while power:
            power //= whole * whole
            odd, sign = odd + 2, -sign
            total += sign * (power // odd)
        return total

    pi = 4 * (4 * arctangent_of_inverse(5) - arctangent_of_inverse(239))
    digits = [D(digit) for digit in D(pi).as_tuple().digits[:count]]
    digits[956] = D(3)
    return tuple(digits)


PI_DIGITS = Univariate("PiDigits", digits_of_pi(5000), "4.53480000000000", "2.86733906028871", Status.READ)
"""NIST StRD (READ in public test suites, with the place of the misprinted digit); the other digits worked out here."""


@pytest.mark.parametrize(
    "certified", [pytest.param(one, id=f"{one.name} [{one.status}]") for one in (*data.UNIVARIATE, PI_DIGITS)]
)
def test_mean_and_deviation_have_every_certified_digit(certified: Univariate) -> None:
    """NIST StRD, univariate summary statistics."""
    found = of_readings(certified.readings)
    assert found.count == len(certified.readings)
    assert found.mean.quantize(D(certified.mean)) == D(certified.mean)
    assert found.deviation.quantize(D(certified.deviation)) == D(certified.deviation)


@pytest.mark.parametrize(
    ("name", "printed", "independent"),
    [
        # NIST StRD, lag-1 autocorrelation: Mavro DERIVED, Lottery MEMORY, the others READ.
        ("Mavro", "0.937989", False),
        ("Michelso", "0.535199668621283", False),
        ("Lew", "-0.307304800605679", False),
        ("Lottery", "-0.120948622967393", True),
        ("PiDigits", "-0.00355099287237972", True),
    ],
)
def test_the_correlation_with_the_next_reading_has_every_certified_digit(
    name: str, printed: str, *, independent: bool
) -> None:
    readings = {one.name: one.readings for one in (*data.UNIVARIATE, PI_DIGITS)}[name]
    found = of_readings(readings)
    assert found.lag_one is not None
    assert found.lag_one.quantize(D(printed)) == D(printed)
    assert found.independent is independent


def test_readings_that_are_all_alike_have_no_spread_and_no_correlation() -> None:
    found = of_readings([D("25.01")] * 5)
    assert (found.mean, found.deviation, found.spread) == (D("25.01"), D(0), D(0))
    assert found.lag_one is None
    assert found.independent


def test_one_reading_says_nothing_of_the_gauge() -> None:
    with pytest.raises(ValueError, match="two readings or more"):
        of_readings([D("25.01")])


@given(st.lists(st.integers(24_000, 26_000).map(lambda count: count * D("0.001")), min_size=2, max_size=40))
def test_the_figures_are_those_of_the_reference_library(readings: list[Decimal]) -> None:
    """numpy is the reference."""
    found = of_readings(readings)
    floats = np.array([float(one) for one in readings])
    assert float(found.mean) == pytest.approx(floats.mean(), rel=1e-12)
    assert float(found.deviation) == pytest.approx(floats.std(ddof=1), rel=1e-9, abs=1e-12)
    assert float(found.spread) == pytest.approx(floats.max() - floats.min(), abs=1e-9)


@given(st.lists(st.integers(-(10**40), 10**40).map(lambda count: D(count).scaleb(-20, EXACT)), min_size=2, max_size=6))
def test_no_digit_of_a_long_reading_is_lost(readings: list[Decimal]) -> None:
    found = of_readings(readings)
    exact = [Fraction(one) for one in readings]
    assert Fraction(found.spread) == max(exact) - min(exact)
    assert abs(Fraction(found.mean) - sum(exact, Fraction(0)) / len(exact)) <= Fraction(1, 2 * 10**20)

"""Exact lengths."""

from __future__ import annotations

import decimal
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.lengths import EXACT, GRID, from_mm, on_grid, plain, quotient, to_mm
from turnrule.judging.words import Unit

D = Decimal
WHOLE = st.integers(-(10**12), 10**12).map(lambda count: count * GRID)


def test_an_inch_is_25_4_millimetres_exactly() -> None:
    """NIST SP 811, appendix B: 1 in = 25.4 mm exactly."""
    assert to_mm(D(1), Unit.IN) == D("25.4")
    assert to_mm(D("0.0001"), Unit.IN) == D("0.00254")


def test_a_length_that_does_not_end_in_inches_is_rounded_as_told() -> None:
    assert from_mm(D("0.0071"), Unit.IN) == D("0.0002795")
    assert from_mm(D(1), Unit.IN, ROUND_FLOOR) == D("0.0393700")
    assert from_mm(D(1), Unit.IN, ROUND_CEILING) == D("0.0393701")
    assert from_mm(D("24.6"), Unit.MM) == D("24.6")


@given(WHOLE, st.integers(1, 10**6).map(Decimal))
def test_a_quotient_is_the_nearest_grid_point_on_the_side_that_is_named(top: Decimal, bottom: Decimal) -> None:
    exact = Fraction(top) / Fraction(bottom)
    floor, ceiling = (Fraction(quotient(top, bottom, mode)) for mode in (ROUND_FLOOR, ROUND_CEILING))
    assert floor <= exact <= ceiling
    assert ceiling - floor in (0, Fraction(GRID))


@given(WHOLE)
def test_what_lies_on_the_grid_is_not_moved(value: Decimal) -> None:
    assert on_grid(value, ROUND_FLOOR) == on_grid(value, ROUND_CEILING) == value


def test_arithmetic_that_would_lose_a_digit_raises() -> None:
    with pytest.raises(decimal.Inexact):
        EXACT.divide(D(1), D(3))


@pytest.mark.parametrize(("given", "shown"), [("24.00", "24"), ("0.10", "0.1"), ("1E+2", "100"), ("0", "0")])
def test_a_plain_number_has_no_trailing_zeros_and_no_exponent(given: str, shown: str) -> None:
    assert str(plain(D(given))) == shown

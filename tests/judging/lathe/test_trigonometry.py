"""Sine, cosine and the direction of a vector, in decimals."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.trace import around, cosine, direction, radians, sine
from turnrule.judging.vectors import Vector, polar, rounded_down, rounded_up, turn

D = Decimal
ANGLE = st.integers(-7_200_000, 7_200_000).map(lambda count: count * D("0.0001"))


@given(ANGLE)
def test_sine_and_cosine_are_those_of_the_platform(degrees: Decimal) -> None:
    """Python's math module is the reference."""
    # A product in binary loses more than a decimal one: the angle is brought into the first turn before it.
    turned = math.radians(float(degrees % 360))
    assert float(cosine(degrees)) == pytest.approx(math.cos(turned), abs=1e-13)
    assert float(sine(degrees)) == pytest.approx(math.sin(turned), abs=1e-13)


@given(ANGLE)
def test_sine_and_cosine_make_a_unit_vector_to_thirty_digits(degrees: Decimal) -> None:
    assert abs(turn(degrees).square - 1) < D("1E-30")


@pytest.mark.parametrize(
    ("degrees", "cos"),
    [
        (0, "1"),
        (60, "0.5"),
        (90, "0"),
        (120, "-0.5"),
        (180, "-1"),
        (240, "-0.5"),
        (270, "0"),
        (300, "0.5"),
        (420, "0.5"),
    ],
)
def test_what_is_rational_is_exact(degrees: int, cos: str) -> None:
    """Niven's theorem: at whole degrees the cosine is rational nowhere else."""
    assert cosine(D(degrees)) == D(cos)
    assert cosine(D(-degrees)) == D(cos)
    assert sine(D(degrees + 90)) == D(cos)


def test_thirty_digits_of_the_cosine_of_45_degrees_are_half_the_root_of_two() -> None:
    half_root = D("0.7071067811865475244008443621048490")
    assert abs(cosine(D(45)) - half_root) < D("1E-32")
    assert abs(sine(D(45)) - half_root) < D("1E-32")


def test_half_a_turn_is_pi() -> None:
    assert radians(D(180)) == D("3.141592653589793238462643383279503")


@given(st.integers(0, 35_999).map(lambda count: count * D("0.01")))
def test_a_vector_points_where_it_was_put(angle: Decimal) -> None:
    vector = polar(D("0.05"), angle)
    assert direction(vector.x, vector.y) == angle
    assert vector.shown.runout == D("0.0500000")
    assert vector.shown.angle == angle


def test_no_vector_points_nowhere() -> None:
    assert direction(D(0), D(0)) is None
    assert Vector(D("1E-9"), D(0)).shown.angle is None


def test_rounding_keeps_what_lies_on_the_grid_but_for_the_arithmetic() -> None:
    assert rounded_up(D("0.06000000000000000000000000000001")) == D("0.0600000")
    assert rounded_up(D("0.06000001")) == D("0.0600001")
    assert rounded_down(D("0.05999999999999999999999999999999")) == D("0.0600000")
    assert rounded_down(D("0.06000009")) == D("0.0600000")


@pytest.mark.parametrize(("degrees", "same"), [("-0.01", "359.99"), ("360", "0"), ("-720", "0"), ("725.5", "5.5")])
def test_an_angle_is_brought_into_the_first_turn(degrees: str, same: str) -> None:
    assert around(D(degrees)) == D(same)

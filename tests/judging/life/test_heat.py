"""What taking metal off means for the heat of a stop."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.faults import PartError
from turnrule.judging.heat import GREY_IRON_DENSITY, Ring, heating, relative_rise, ring_mass, temperature_rise

D = Decimal
SOLID = Ring(D(280), D(180), D(20))
VENTED = Ring(D(280), D(180), D(26), D(10))


def test_five_per_cent_less_metal_is_5_263_per_cent_more_rise() -> None:
    """DERIVED: 1/0.95 - 1."""
    found = heating(SOLID, replace(SOLID, thickness=D(19)))
    assert found.relative_rise == D("0.052632")
    assert not found.overestimated


def test_the_rise_in_kelvin_grows_by_the_relative_rise() -> None:
    """A stop of 675 kJ into four parts (problem READ, figures DERIVED), each losing 5 % of its metal."""
    before = temperature_rise(D(675_000), D(32), D(448))
    after = temperature_rise(D(675_000), D(32) * D("0.95"), D(448))
    assert before.quantize(D("0.001")) == D("47.084")
    rise = heating(SOLID, replace(SOLID, thickness=D(19))).relative_rise
    assert (before * (1 + rise)).quantize(D("0.001")) == after.quantize(D("0.001"))


def test_a_ring_has_the_mass_of_its_volume() -> None:
    """pi/4 (280^2 - 180^2) 20 mm3 of 7,200 kg/m3, by the platform's own pi."""
    expected = math.pi / 4 * (280**2 - 180**2) * 20 * 7200e-9
    assert float(ring_mass(SOLID)) == pytest.approx(expected, abs=5e-7)
    assert ring_mass(SOLID, D(3600)) * 2 == pytest.approx(ring_mass(SOLID), abs=D("2E-6"))
    assert D(7100) <= GREY_IRON_DENSITY <= D(7250)


def test_a_vented_ring_is_told_without_its_vanes_and_says_so() -> None:
    found = heating(VENTED, replace(VENTED, thickness=D("25.2")))
    assert found.overestimated
    assert found.relative_rise == D("0.052632")
    assert found.mass_before == ring_mass(replace(SOLID, thickness=D(16)))
    assert found.mass_after == ring_mass(replace(SOLID, thickness=D("15.2")))


def test_leaving_the_vanes_out_overestimates_the_rise() -> None:
    vanes = D("0.4")
    before, after = ring_mass(VENTED), ring_mass(replace(VENTED, thickness=D(25)))
    without = heating(VENTED, replace(VENTED, thickness=D(25))).relative_rise
    assert without > relative_rise(before + vanes, after + vanes)


def test_a_drum_gets_lighter_from_the_inside() -> None:
    drum = Ring(D(310), D(280), D(50))
    found = heating(drum, replace(drum, inner_diameter=D(282)))
    assert found.relative_rise == D("0.067809")
    assert found.mass_after < found.mass_before


@given(st.integers(50, 400), st.integers(1, 200), st.integers(1, 300), st.integers(0, 100), st.integers(0, 90))
def test_the_rise_is_the_exact_one_rounded_up(inner: int, width: int, iron: int, gap: int, taken: int) -> None:
    metal = iron * D("0.1")
    before = Ring(D(inner + width), D(inner), gap + metal, D(gap))
    after = replace(before, thickness=gap + metal * (1 - taken * D("0.01")))
    exact = 1 / (1 - Fraction(taken, 100)) - 1
    rise = Fraction(heating(before, after).relative_rise)
    assert 0 <= rise - exact < Fraction(1, 10**6)


@pytest.mark.parametrize(
    ("ring", "pointer"),
    [
        (replace(SOLID, inner_diameter=D(280)), "/ring/inner_diameter"),
        (replace(SOLID, inner_diameter=D(-1)), "/ring/inner_diameter"),
        (replace(VENTED, air_gap=D(26)), "/ring/air_gap"),
        (replace(VENTED, air_gap=D(-1)), "/ring/air_gap"),
    ],
)
def test_what_is_no_ring_is_refused_by_its_field(ring: Ring, pointer: str) -> None:
    with pytest.raises(PartError) as refused:
        ring_mass(ring)
    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_a_ring_without_a_hole_is_a_disc() -> None:
    whole, hole = Ring(D(280), D(0), D(20)), Ring(D(180), D(0), D(20))
    assert abs(ring_mass(whole) - ring_mass(hole) - ring_mass(SOLID)) <= D("1E-6")


def test_a_ring_that_has_grown_is_refused() -> None:
    with pytest.raises(PartError) as refused:
        heating(SOLID, replace(SOLID, thickness=D(21)))
    assert [fault.pointer for fault in refused.value.faults] == ["/ring"]


def test_a_ring_that_has_lost_nothing_is_no_hotter() -> None:
    assert heating(SOLID, SOLID).relative_rise == 0

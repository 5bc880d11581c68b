"""Indicator traces: range, first harmonic, the thickest true disc."""

from __future__ import annotations

import cmath
import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.trace import first_harmonic, thickest_true_disc, total_indicator_reading

D = Decimal
READING = st.integers(-5000, 5000).map(lambda count: count * D("0.0001"))


def test_the_total_indicator_reading_is_greatest_minus_least_whatever_the_signs() -> None:
    """Circular run-out, -0.01 to +0.03 gives 0.04 (ASME Y14.5, worked figure READ in a public note)."""
    assert total_indicator_reading([D("-0.01"), D("0.00"), D("0.03"), D("0.01")]) == D("0.04")


def test_the_least_squares_circle_of_the_handbook_is_recovered() -> None:
    """NIST/SEMATECH e-Handbook 2.3.4.4 formulae; R = 100, a = 0.05, b = 0.02, second harmonic 0.01 (DERIVED)."""
    angles = [2 * math.pi * i / 12 for i in range(12)]
    trace = [D(f"{100 + 0.05 * math.cos(x) + 0.02 * math.sin(x) + 0.01 * math.cos(2 * x):.12f}") for x in angles]
    found = first_harmonic(trace)
    assert found.amplitude == D("0.0538516")
    assert found.angle == D("21.80")
    assert found.residual == D("0.0200000")


@given(st.lists(READING, min_size=3, max_size=48))
def test_the_first_harmonic_is_the_one_that_the_fourier_transform_finds(trace: list[Decimal]) -> None:
    """numpy.fft is the reference."""
    found = first_harmonic(trace)
    spectrum = complex(np.fft.rfft([float(reading) for reading in trace])[1])
    amplitude = 2 * abs(spectrum) / len(trace)
    assert float(found.amplitude) == pytest.approx(amplitude, abs=2e-7)
    if amplitude > 1e-3:
        angle = math.degrees(-cmath.phase(spectrum)) % 360
        apart = abs(float(found.angle) - angle)
        assert min(apart, 360 - apart) < 0.02


@given(st.lists(READING, min_size=3, max_size=24))
def test_the_residual_is_the_range_that_least_squares_leaves(trace: list[Decimal]) -> None:
    """numpy.linalg.lstsq on the columns 1, cos, sin is the reference."""
    count = len(trace)
    angles = 2 * np.pi * np.arange(count) / count
    columns = np.column_stack([np.ones(count), np.cos(angles), np.sin(angles)])
    values = np.array([float(reading) for reading in trace])
    solution = np.linalg.lstsq(columns, values, rcond=None)[0]
    left = values - columns @ solution
    assert float(first_harmonic(trace).residual) == pytest.approx(float(np.ptp(left)), abs=2e-7)


@pytest.mark.parametrize(("a", "b", "angle"), [(1, 0, 0), (0, 1, 90), (-1, 0, 180), (0, -1, 270), (-1, -1, 225)])
def test_the_angle_is_where_the_wobble_is_highest(a: int, b: int, angle: int) -> None:
    places = [2 * math.pi * i / 8 for i in range(8)]
    trace = [D(f"{a * math.cos(x) + b * math.sin(x):.15f}") for x in places]
    assert first_harmonic(trace).angle == angle


def test_a_trace_without_a_first_harmonic_has_no_angle() -> None:
    found = first_harmonic([D(1), D(-1), D(1), D(-1)])
    assert (found.amplitude, found.angle) == (D(0), D(0))


def test_a_rotor_with_parallel_faces_loses_its_wobble() -> None:
    trace = [D("0.00"), D("0.02"), D("0.05"), D("0.02")]
    assert thickest_true_disc(trace, [D(25)] * 4) == D("24.95")


def test_a_rotor_that_is_thick_where_it_stands_out_loses_less_than_its_runout() -> None:
    trace = [D("0.00"), D("0.02"), D("0.05"), D("0.02")]
    assert thickest_true_disc(trace, [D("25.00"), D("25.02"), D("25.05"), D("25.02")]) == D("25.00")

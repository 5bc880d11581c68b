"""The engine's decimal arithmetic agrees with NumPy and SciPy on seeded random inputs, within what floats can tell."""

from __future__ import annotations

import math
import random
from decimal import Decimal

import numpy as np
import pytest
import scipy.stats

from turnrule.judging.trace import first_harmonic
from turnrule.judging.uncertainty import expanded_uncertainty, probability, repeatability_of, standard_uncertainty
from turnrule.judging.wear import fit

SEEDS = range(20)


def decimals(generator: random.Random, count: int, low: float, high: float, places: int) -> tuple[Decimal, ...]:
    """Random decimals of so many places."""
    return tuple(Decimal(f"{generator.uniform(low, high):.{places}f}") for _ in range(count))


@pytest.mark.parametrize("seed", SEEDS)
def test_probability_is_that_of_scipy(seed: int) -> None:
    for z in decimals(random.Random(seed), 100, -6, 6, 4):
        assert abs(float(probability(z)) - scipy.stats.norm.cdf(float(z))) <= 5.1e-7, z


@pytest.mark.parametrize("seed", SEEDS)
def test_repeatability_is_that_of_numpy(seed: int) -> None:
    generator = random.Random(seed)
    readings = decimals(generator, generator.randrange(2, 40), 20, 40, 3)
    assert math.isclose(float(repeatability_of(readings)), np.std([float(r) for r in readings], ddof=1), rel_tol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_wear_line_is_that_of_scipy(seed: int) -> None:
    generator = random.Random(seed)
    count = generator.randrange(3, 30)
    distances = decimals(generator, count, 0, 200000, 0)
    sizes = decimals(generator, count, 22, 28, 3)
    line = fit(tuple(zip(distances, sizes, strict=True)))
    assert line is not None
    assert line.slope_error is not None
    assert line.intercept_error is not None
    found = scipy.stats.linregress([float(d) for d in distances], [float(s) for s in sizes])
    assert math.isclose(float(line.slope), found.slope, rel_tol=1e-8, abs_tol=1e-15)
    assert math.isclose(float(line.intercept), found.intercept, rel_tol=1e-8)
    assert math.isclose(float(line.slope_error), found.stderr, rel_tol=1e-8)
    assert math.isclose(float(line.intercept_error), found.intercept_stderr, rel_tol=1e-8)


@pytest.mark.parametrize("seed", SEEDS)
def test_first_harmonic_is_that_of_numpys_least_squares_and_fourier_transform(seed: int) -> None:
    generator = random.Random(seed)
    trace = decimals(generator, generator.randrange(3, 90), -0.2, 0.2, 4)
    found = first_harmonic(trace)
    readings = np.array([float(o) for o in trace])
    turned = 2 * np.pi * np.arange(len(trace)) / len(trace)
    columns = np.column_stack([np.ones(len(trace)), np.cos(turned), np.sin(turned)])
    (_, a, b), *_ = np.linalg.lstsq(columns, readings, rcond=None)
    left = readings - a * np.cos(turned) - b * np.sin(turned)
    transformed = 2 * abs(np.fft.rfft(readings)[1]) / len(trace)
    assert abs(float(found.amplitude) - math.hypot(a, b)) <= 6e-8
    assert abs(float(found.amplitude) - transformed) <= 6e-8
    assert abs(float(found.residual) - float(np.ptp(left))) <= 6e-8
    apart = (float(found.angle) - math.degrees(math.atan2(b, a))) % 360
    assert min(apart, 360 - apart) <= 0.0051


@pytest.mark.parametrize("seed", SEEDS)
def test_uncertainty_is_the_root_of_the_sum_of_squares_rounded_up(seed: int) -> None:
    generator = random.Random(seed)
    for _ in range(50):
        resolution, calibration, repeatability = decimals(generator, 3, 0, 0.1, 4)
        expected = math.sqrt(float(resolution) ** 2 / 12 + float(calibration) ** 2 / 4 + float(repeatability) ** 2)
        standard = standard_uncertainty(resolution, calibration, repeatability)
        assert math.isclose(float(standard), expected, rel_tol=1e-12)
        up = float(expanded_uncertainty(resolution, calibration, repeatability)) - 2 * expected
        assert -1e-12 <= up < 1e-4

"""Student's t against a reference library and against printed tables."""

from __future__ import annotations

from decimal import Decimal

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.student import QUANTILE_GRID, distribution, quantile

D = Decimal
FREEDOM = st.integers(1, 120)
CHANCE = st.integers(5001, 9990).map(lambda count: count * D("0.0001"))


@given(st.integers(-12_000, 12_000).map(lambda count: count * D("0.001")), FREEDOM)
def test_the_distribution_function_is_that_of_the_reference_library(t: Decimal, freedom: int) -> None:
    """scipy.stats.t is the reference."""
    assert float(distribution(t, freedom)) == pytest.approx(float(scipy.stats.t.cdf(float(t), freedom)), abs=1e-12)


@given(CHANCE, FREEDOM)
def test_the_quantile_is_that_of_the_reference_library(chance: Decimal, freedom: int) -> None:
    """scipy.stats.t.ppf is the reference, to 1e-10."""
    expected = float(scipy.stats.t.ppf(float(chance), freedom))
    assert float(quantile(chance, freedom)) == pytest.approx(expected, rel=1e-10, abs=1e-10)


@given(CHANCE, FREEDOM)
def test_the_quantile_is_the_first_of_its_grid_that_is_not_too_low(chance: Decimal, freedom: int) -> None:
    found = quantile(chance, freedom)
    assert distribution(found, freedom) >= chance
    assert distribution(found - 2 * QUANTILE_GRID, freedom) < chance


@pytest.mark.parametrize(
    ("freedom", "printed"),
    [
        # NIST/SEMATECH e-Handbook 1.3.6.7.2, upper critical values of Student's t, column 0.95 (MEMORY).
        (1, "6.314"),
        (2, "2.920"),
        (3, "2.353"),
        (4, "2.132"),
        (5, "2.015"),
        (10, "1.812"),
        (30, "1.697"),
        (100, "1.660"),
    ],
)
def test_the_printed_table_is_reproduced(freedom: int, printed: str) -> None:
    assert quantile(D("0.95"), freedom).quantize(D(printed)) == D(printed)


def test_the_coverage_factor_of_the_end_gauge_is_the_published_one() -> None:
    """GUM H.1 (MEMORY): 99 % coverage at 16 degrees of freedom, k = 2.92."""
    assert quantile(D("0.995"), 16).quantize(D("0.01")) == D("2.92")


@pytest.mark.parametrize("freedom", [1, 2, 7])
def test_one_half_is_not_exceeded_at_nought(freedom: int) -> None:
    assert quantile(D("0.5"), freedom) == 0
    assert distribution(D(0), freedom) == D("0.5")


@pytest.mark.parametrize("chance", ["0.4999", "0", "1", "1.5"])
def test_a_chance_below_one_half_or_of_one_is_refused(chance: str) -> None:
    with pytest.raises(ValueError, match="one half or more"):
        quantile(D(chance), 5)


def test_no_degree_of_freedom_is_refused() -> None:
    with pytest.raises(ValueError, match="one degree of freedom"):
        quantile(D("0.95"), 0)

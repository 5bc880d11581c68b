"""Quartiles of any number of margins: exactly those of exact fractions, and those that numpy gives."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.actions.margins import Picking, Spread

MARGINS = st.decimals("-5", "5", places=8)


def spread_of(margins: list[Decimal]) -> Spread:
    picking = Picking(len(margins))
    for margin in sorted(margins):
        picking.pass_by(margin)
    return picking.spread()


def quartiles(spread: Spread) -> list[Decimal | None]:
    return [spread.least, spread.lower_quartile, spread.median, spread.upper_quartile, spread.greatest]


def test_of_no_margins_nothing_is_told() -> None:
    assert spread_of([]) == Spread(0)


@given(st.lists(MARGINS, min_size=1, max_size=60))
def test_each_quartile_is_that_of_exact_fractions(margins: list[Decimal]) -> None:
    """Definition 7 of R. J. Hyndman and Y. Fan, Sample quantiles in statistical packages, Am. Stat. 50 (1996)."""
    ordered = sorted(map(Fraction, margins))
    expected = []
    for quarter in range(5):
        at = Fraction(quarter * (len(ordered) - 1), 4)
        low = int(at)
        high = min(low + 1, len(ordered) - 1)
        expected.append(ordered[low] + (at - low) * (ordered[high] - ordered[low]))
    found = spread_of(margins)
    assert found.known == len(margins)
    assert [Fraction(value) for value in quartiles(found) if value is not None] == expected


@given(st.lists(MARGINS, min_size=1, max_size=60))
def test_each_quartile_is_that_of_numpy(margins: list[Decimal]) -> None:
    """numpy.quantile with its own default method, in binary floats."""
    expected = np.quantile([float(margin) for margin in margins], [0, 0.25, 0.5, 0.75, 1])
    assert [float(value) for value in quartiles(spread_of(margins)) if value is not None] == pytest.approx(
        list(expected), abs=1e-12
    )


def test_no_digit_is_lost() -> None:
    margins = [Decimal("0.1"), Decimal("0.1") + Decimal("1E-40")]
    assert spread_of(margins).lower_quartile == Decimal("0.1") + Decimal("2.5E-41")

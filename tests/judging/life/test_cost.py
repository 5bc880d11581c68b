"""What each way costs for the life that it buys."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.cost import COST_GRID, Costs, Offer, costs_of
from turnrule.judging.planning_words import Cheaper

D = Decimal
AMOUNT = st.integers(0, 10**6).map(lambda count: count * D("0.01"))
DISTANCE = st.integers(0, 200_000).map(Decimal)


def test_both_ways_are_told_per_thousand_kilometres() -> None:
    found = costs_of(Offer(D("45.00"), D(18_000)), Offer(D("130.00"), D(60_000)))
    assert found == Costs(D("2.5"), D("2.1667"), Cheaper.REPLACING)


def test_machining_may_be_the_cheaper_and_both_may_cost_alike() -> None:
    assert costs_of(Offer(D(20), D(18_000)), Offer(D(130), D(60_000))).cheaper is Cheaper.MACHINING
    assert costs_of(Offer(D(39), D(18_000)), Offer(D(130), D(60_000))).cheaper is Cheaper.ALIKE


@pytest.mark.parametrize("unknown", [Offer(None, D(1)), Offer(D(1), None), Offer(D(1), D(0))])
def test_a_way_that_is_not_known_or_buys_nothing_has_no_cost_per_distance(unknown: Offer) -> None:
    known = Offer(D(1), D(1000))
    assert costs_of(unknown, known) == Costs(None, D(1), None)
    assert costs_of(known, unknown) == Costs(D(1), None, None)


@given(AMOUNT, DISTANCE, AMOUNT, DISTANCE)
def test_the_cheaper_way_is_the_cheaper_by_exact_fractions(
    price: Decimal, distance: Decimal, other_price: Decimal, other_distance: Decimal
) -> None:
    found = costs_of(Offer(price, distance), Offer(other_price, other_distance))
    if not distance or not other_distance:
        assert found.cheaper is None
        return
    one, other = Fraction(price) * 1000 / Fraction(distance), Fraction(other_price) * 1000 / Fraction(other_distance)
    expected = Cheaper.ALIKE if one == other else Cheaper.MACHINING if one < other else Cheaper.REPLACING
    assert found.cheaper is expected
    assert found.machining is not None
    assert 0 <= Fraction(found.machining) - one < Fraction(COST_GRID)

"""What machining and replacing cost for the life that each buys; prices are the caller's, in a currency of theirs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from turnrule.judging.lengths import EXACT, quotient
from turnrule.judging.planning_words import Cheaper

COST_GRID = Decimal("0.0001")
"""A cost per 1,000 km is rounded up on this grid."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A price and the distance that it buys (km), 0 or more each; None where it is not known or not to be had."""

    price: Decimal | None
    distance_km: Decimal | None

    @property
    def per_1000_km(self) -> Decimal | None:
        """The price per 1,000 km, rounded up; None where nothing is known or no distance is bought."""
        if self.price is None or not self.distance_km:
            return None
        return quotient(EXACT.multiply(self.price, Decimal(1000)), self.distance_km, ROUND_CEILING, COST_GRID)


@dataclass(frozen=True, slots=True)
class Costs:
    """The cost per 1,000 km of each way, and which is the cheaper for its life; None where that cannot be told.

    It tells nothing of safety: only a way that the verdict leaves open may be taken.
    """

    machining: Decimal | None
    replacing: Decimal | None
    cheaper: Cheaper | None


def costs_of(machining: Offer, replacing: Offer) -> Costs:
    """Both ways side by side; compared exactly, before any rounding."""
    return Costs(machining.per_1000_km, replacing.per_1000_km, _cheaper(machining, replacing))


def _cheaper(machining: Offer, replacing: Offer) -> Cheaper | None:
    if machining.price is None or replacing.price is None:
        return None
    if not machining.distance_km or not replacing.distance_km:
        return None
    one = EXACT.multiply(machining.price, replacing.distance_km)
    other = EXACT.multiply(replacing.price, machining.distance_km)
    if one == other:
        return Cheaper.ALIKE
    return Cheaper.MACHINING if one < other else Cheaper.REPLACING

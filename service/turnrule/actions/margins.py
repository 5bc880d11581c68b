"""How margins spread: least, quartiles and greatest of any number of them, exactly, though they are never all held."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.lengths import EXACT

_QUARTERS = 4


@dataclass(frozen=True, slots=True)
class Spread:
    """How so many known margins spread, in mm; every figure is None where none is known.

    A quartile that lies between two margins is taken on the straight line between them (the definition that is
    numbered 7 by Hyndman and Fan 1996, and that numpy takes where none is named): the median of two is their middle.
    """

    known: int
    least: Decimal | None = None
    lower_quartile: Decimal | None = None
    median: Decimal | None = None
    upper_quartile: Decimal | None = None
    greatest: Decimal | None = None


class Picking:
    """Picks the figures of a spread out of so many margins that come by in rising order, and keeps no others."""

    __slots__ = ("_known", "_next", "_picked")

    def __init__(self, known: int) -> None:
        self._known = known
        self._next = 0
        last = known - 1
        below = [quarter * last // _QUARTERS for quarter in range(_QUARTERS + 1)] if known else []
        self._picked: dict[int, Decimal | None] = dict.fromkeys((*below, *(min(place + 1, last) for place in below)))

    def pass_by(self, margin: Decimal) -> None:
        """Look at the next margin."""
        if self._next in self._picked:
            self._picked[self._next] = margin
        self._next += 1

    def spread(self) -> Spread:
        """The spread, when all have come by."""
        if not self._known:
            return Spread(0)
        return Spread(self._known, *(self._quartile(quarter) for quarter in range(_QUARTERS + 1)))

    def _quartile(self, quarter: int) -> Decimal | None:
        place, beyond = divmod(quarter * (self._known - 1), _QUARTERS)
        low, high = self._picked[place], self._picked.get(place + 1)
        if low is None or high is None or not beyond:
            return low
        gap = EXACT.multiply(EXACT.subtract(high, low), Decimal(beyond))
        return EXACT.add(low, EXACT.divide(gap, Decimal(_QUARTERS)))

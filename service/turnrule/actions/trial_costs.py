"""What a policy trial costs by the caller's own prices: machining and replacing, before and after."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact

from turnrule.actions.trialling import TrialRow
from turnrule.judging.words import Ruling

_WHOLE = Context(prec=80, traps=[Inexact])
"""Prices and counts are read with fewer digits: no sum of theirs is ever rounded."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What the caller pays for one part, in a currency of theirs."""

    currency: str
    machining: Decimal
    replacing: Decimal


@dataclass(frozen=True, slots=True)
class Cost:
    """The cost of what verdicts ask for, by their own policies and under a candidate; `open` have no price yet.

    Only parts that both can judge are counted.
    """

    before: Decimal
    after: Decimal
    open_before: int
    open_after: int

    @property
    def difference(self) -> Decimal:
        """What the candidate costs more; below 0 where it costs less."""
        return _WHOLE.subtract(self.after, self.before)


def cost_of(row: TrialRow, prices: Prices) -> Cost:
    """The cost of what the verdicts ask for; an inconclusive one costs nothing before it is settled."""
    return Cost(
        _priced(row.before, prices),
        _priced(row.after, prices),
        row.before(Ruling.INCONCLUSIVE),
        row.after(Ruling.INCONCLUSIVE),
    )


def _priced(count: Callable[[Ruling], int], prices: Prices) -> Decimal:
    machining = _WHOLE.multiply(Decimal(count(Ruling.MACHINE)), prices.machining)
    return _WHOLE.add(machining, _WHOLE.multiply(Decimal(count(Ruling.REPLACE)), prices.replacing))

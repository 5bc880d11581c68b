"""What is left in a part: wear rate by least squares of size on distance, and the distance to the discard limit."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from turnrule.judging.lengths import plain

_WORKING = decimal.Context(prec=60)


@dataclass(frozen=True, slots=True)
class WearFit:
    """size = intercept + slope x distance; the errors are None where two points leave nothing to judge them by."""

    slope: Decimal
    intercept: Decimal
    slope_error: Decimal | None
    intercept_error: Decimal | None
    residual_deviation: Decimal | None


def fit(points: Sequence[tuple[Decimal, Decimal]]) -> WearFit | None:
    """The least-squares line through (distance, size); None where all distances are the same.

    Two points give a line, three or more also the standard errors (NIST StRD, linear regression, checks it).
    """
    with decimal.localcontext(_WORKING):
        count = Decimal(len(points))
        if count == 0:
            return None
        mean_x = sum((x for x, _ in points), Decimal(0)) / count
        mean_y = sum((y for _, y in points), Decimal(0)) / count
        spread = sum(((x - mean_x) ** 2 for x, _ in points), Decimal(0))
        if spread == 0:
            return None
        slope = sum(((x - mean_x) * (y - mean_y) for x, y in points), Decimal(0)) / spread
        intercept = mean_y - slope * mean_x
        freedom = count - 2
        if freedom <= 0:
            return WearFit(slope, intercept, None, None, None)
        squares = sum(((y - intercept - slope * x) ** 2 for x, y in points), Decimal(0))
        variance = squares / freedom
        slope_variance = variance / spread
        intercept_variance = variance * (1 / count + mean_x * mean_x / spread)
        return WearFit(slope, intercept, slope_variance.sqrt(), intercept_variance.sqrt(), variance.sqrt())


def distance_left(above_discard: Decimal, wear_rate: Decimal) -> Decimal:
    """Whole kilometres until `above_discard` (mm) is worn away at `wear_rate` (mm/km, over 0), rounded down.

    Nothing is left of a part at or past its limit: 0.
    """
    if above_discard <= 0:
        return Decimal(0)
    with decimal.localcontext(_WORKING):
        return plain((above_discard / wear_rate).to_integral_value(ROUND_FLOOR))

"""What is left in a part: wear rate by least squares of size on distance, and the distance to the discard limit."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from turnrule.judging.lengths import EXACT, plain, quotient

_WORKING = decimal.Context(prec=60)
_FINE = Decimal("1E-30")


@dataclass(frozen=True, slots=True)
class WearFit:
    """size = intercept + slope x distance; the errors are None where two points leave nothing to judge them by.

    `rise` over `run` is the slope exactly, `run` being more than 0: what decides is worked out from these two.
    """

    rise: Decimal
    run: Decimal
    slope: Decimal
    intercept: Decimal
    slope_error: Decimal | None
    intercept_error: Decimal | None
    residual_deviation: Decimal | None


def fit(points: Sequence[tuple[Decimal, Decimal]]) -> WearFit | None:
    """The least-squares line through (distance, size); None where all distances are the same.

    Two points give a line, three or more also the standard errors (NIST StRD, linear regression, checks it).
    """
    with decimal.localcontext(EXACT):
        count = Decimal(len(points))
        total_x = sum((x for x, _ in points), Decimal(0))
        total_y = sum((y for _, y in points), Decimal(0))
        run = count * sum((x * x for x, _ in points), Decimal(0)) - total_x * total_x
        rise = count * sum((x * y for x, y in points), Decimal(0)) - total_x * total_y
    if run == 0:
        return None
    with decimal.localcontext(_WORKING):
        slope, mean_x, spread = rise / run, total_x / count, run / count
        intercept = total_y / count - slope * mean_x
        freedom = count - 2
        if freedom <= 0:
            return WearFit(rise, run, slope, intercept, None, None, None)
        variance = sum(((y - intercept - slope * x) ** 2 for x, y in points), Decimal(0)) / freedom
        slope_error = (variance / spread).sqrt()
        intercept_error = (variance * (1 / count + mean_x * mean_x / spread)).sqrt()
        return WearFit(rise, run, slope, intercept, slope_error, intercept_error, variance.sqrt())


def fit_from_new(points: Sequence[tuple[Decimal, Decimal]]) -> WearFit | None:
    """The least-squares line through nought: loss (mm) since the part was new on distance (km) since then.

    For a part whose size and distance when new are known; None where no distance is other than 0. One reading gives a
    line, two or more also its standard error (NIST StRD, NoInt1, checks it).
    """
    with decimal.localcontext(EXACT):
        run = sum((x * x for x, _ in points), Decimal(0))
        rise = sum((x * y for x, y in points), Decimal(0))
    if run == 0:
        return None
    with decimal.localcontext(_WORKING):
        slope, freedom, start = rise / run, len(points) - 1, Decimal(0)
        if freedom == 0:
            return WearFit(rise, run, slope, start, None, None, None)
        variance = sum(((y - slope * x) ** 2 for x, y in points), Decimal(0)) / freedom
        return WearFit(rise, run, slope, start, (variance / run).sqrt(), None, variance.sqrt())


def distance_left(above_discard: Decimal, lost: Decimal, over: Decimal) -> Decimal:
    """Whole kilometres until `above_discard` (mm) is worn away at `lost` mm over `over` km, rounded down.

    Both are more than 0. Nothing is left of a part at or past its limit: 0.
    """
    if above_discard <= 0:
        return Decimal(0)
    return plain(quotient(EXACT.multiply(above_discard, over), lost, ROUND_FLOOR, Decimal(1)))


def worn_by(distance: Decimal, lost: Decimal, over: Decimal) -> Decimal:
    """The millimetres that wear away over `distance` km at `lost` mm over `over` km, to 30 decimals, rounded up."""
    return quotient(EXACT.multiply(distance, lost), over, ROUND_CEILING, _FINE)

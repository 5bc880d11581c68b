"""Exact lengths: decimals in millimetres, converted without loss, rounded only where a division cannot end.

Every sum, difference and product here is exact: the context traps what would round. The few quotients that
do not end (a mean, a temperature correction, a millimetre figure shown in inches) are rounded on the grid of
0.1 nm, in a direction that the caller names, so that no comparison with a limit on that grid changes by it.
"""

from __future__ import annotations

import decimal
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from turnrule.judging.words import Unit

MM_PER_INCH = Decimal("25.4")
"""One inch, exactly (NIST SP 811, appendix B)."""

GRID = Decimal("1E-7")
"""0.1 nm in mm: the finest step on which a quotient is kept."""

INCH_GRID = Decimal("1E-7")
"""The finest step on which a quotient is shown in inches (2.54 nm)."""

EXACT = decimal.Context(
    prec=160,
    Emin=-999,
    Emax=999,
    traps=[
        decimal.Inexact,
        decimal.InvalidOperation,
        decimal.DivisionByZero,
        decimal.Overflow,
        decimal.Underflow,
    ],
)
"""Arithmetic in which nothing is ever lost without an error; entered once, where a judgement begins."""

_ROUNDING = {
    mode: decimal.Context(prec=160, Emin=-999, Emax=999, rounding=mode)
    for mode in (ROUND_FLOOR, ROUND_CEILING, ROUND_HALF_EVEN)
}


def quotient(
    numerator: Decimal, denominator: Decimal, rounding: str = ROUND_HALF_EVEN, grid: Decimal = GRID
) -> Decimal:
    """`numerator / denominator` on the grid, rounded as told (floor, ceiling or half to even)."""
    context = _ROUNDING[rounding]
    return context.quantize(context.divide(numerator, denominator), grid)


def on_grid(value: Decimal, rounding: str, grid: Decimal = GRID) -> Decimal:
    """`value` unchanged where it lies on the grid, else the neighbour that the rounding names."""
    return _ROUNDING[rounding].quantize(value, grid)


def to_mm(value: Decimal, unit: Unit) -> Decimal:
    """A length in `unit` as exact millimetres. Rule: unit."""
    if unit is Unit.MM:
        return value
    return EXACT.multiply(value, MM_PER_INCH)


def from_mm(value: Decimal, unit: Unit, rounding: str = ROUND_HALF_EVEN) -> Decimal:
    """Millimetres in `unit`: exact where the quotient ends, else on `INCH_GRID`, rounded as told."""
    if unit is Unit.MM:
        return value
    ends = _ROUNDING[ROUND_HALF_EVEN].divide(value, MM_PER_INCH)
    shown = _ROUNDING[ROUND_HALF_EVEN].quantize(ends, _LONG_GRID)
    if shown == ends:
        return shown
    return quotient(value, MM_PER_INCH, rounding, INCH_GRID)


_LONG_GRID = Decimal("1E-40")


def plain(value: Decimal) -> Decimal:
    """The same number without trailing zeros and without an exponent."""
    if value == value.to_integral_value():
        return value.quantize(Decimal(1), context=_ROUNDING[ROUND_HALF_EVEN])
    return value.normalize(_ROUNDING[ROUND_HALF_EVEN])

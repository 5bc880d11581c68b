"""Student's t distribution for whole degrees of freedom, in decimals.

For whole degrees of freedom the distribution function has a closed form (Abramowitz and Stegun 26.7.3 and 26.7.4);
the quantile is found in it by halving an interval, so that a replay gives the same bytes on any machine.
"""

from __future__ import annotations

import decimal
import functools
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import on_grid

_WORKING = decimal.Context(prec=50, rounding=ROUND_HALF_EVEN)
_PI = Decimal("3.14159265358979323846264338327950288419716939937510")
_NEGLIGIBLE = Decimal("1E-50")
_NARROW = Decimal("1E-20")
_HALF = Decimal("0.5")
_HALVINGS, _DOUBLED = 4, 16

QUANTILE_GRID = Decimal("1E-15")
"""A quantile is rounded up on this grid: a bound made with it is never too tight."""


def distribution(t: Decimal, freedom: int) -> Decimal:
    """The chance that Student's t with `freedom` degrees of freedom (1 or more) is at most `t`, to some 45 digits.

    Raises `ValueError` for fewer than one degree of freedom.
    """
    if freedom < 1:
        raise ValueError("Student's t needs one degree of freedom or more")
    with decimal.localcontext(_WORKING):
        within = _within(abs(t), freedom)
        return (1 + within) / 2 if t >= 0 else (1 - within) / 2


def _within(t: Decimal, freedom: int) -> Decimal:
    """The chance of lying between -t and t; t is 0 or more."""
    tangent = t / Decimal(freedom).sqrt()
    square = 1 / (1 + tangent * tangent)
    cosine = square.sqrt()
    sine = tangent * cosine
    if freedom % 2 == 0:
        return sine * _sum_of_powers(square, Decimal(1), 1, freedom // 2)
    rest = sine * _sum_of_powers(square, cosine, 2, freedom // 2)
    return 2 * (_arctangent(tangent) + rest) / _PI


def _sum_of_powers(square: Decimal, first: Decimal, odd: int, terms: int) -> Decimal:
    """first (1 + square odd/(odd+1) (1 + square (odd+2)/(odd+3) (1 + ...))), of so many terms."""
    total, term = Decimal(0), first
    for index in range(terms):
        total += term
        above = odd + 2 * index
        term = term * square * above / (above + 1)
    return total


def _arctangent(ratio: Decimal) -> Decimal:
    """Arctan of 0 or more, in radians: the angle is halved until its series is short."""
    for _ in range(_HALVINGS):
        ratio = ratio / (1 + (1 + ratio * ratio).sqrt())
    square = ratio * ratio
    power = total = ratio
    odd = 1
    while abs(power) > _NEGLIGIBLE:
        power = -power * square
        odd += 2
        total += power / odd
    return total * _DOUBLED


@functools.lru_cache(maxsize=256)
def quantile(chance: Decimal, freedom: int) -> Decimal:
    """The t that is not exceeded with this chance (one half up to, not including, 1), rounded up on `QUANTILE_GRID`.

    Raises `ValueError` for any other chance, and for fewer than one degree of freedom.
    """
    if not _HALF <= chance < 1:
        raise ValueError("a quantile is found for a chance of one half or more, and less than 1")
    if chance == _HALF:
        return Decimal(0)
    with decimal.localcontext(_WORKING):
        low, high = Decimal(0), Decimal(1)
        while distribution(high, freedom) < chance:
            low, high = high, 2 * high
        while high - low > _NARROW:
            middle = (low + high) / 2
            if distribution(middle, freedom) < chance:
                low = middle
            else:
                high = middle
        return on_grid(high, ROUND_CEILING, QUANTILE_GRID)

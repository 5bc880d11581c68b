"""Measurement uncertainty and the probability of conformity, in exact or correctly rounded decimals.

Sources: JCGM 100 (GUM) 4.3 and F.2.2.1 for the resolution term, JCGM 106 clause 7 for the probability.
"""

from __future__ import annotations

import decimal
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.parts import Instrument
from turnrule.judging.policy import InstrumentDefaults

_STEP = Decimal("0.0001")
_STEPS_PER_MM = Decimal(10000)
_SIX_DIGITS = Decimal("0.000001")
_SERIES = decimal.Context(prec=28, rounding=ROUND_HALF_EVEN)
_NEGLIGIBLE = Decimal("1E-12")
_SURE = Decimal(5)
"""Beyond five standard uncertainties the probability is 0 or 1 to six digits."""


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """The standard uncertainty (mm, to 28 digits; for the probability only) and U = 2u (mm, rounded up; decides)."""

    standard: Decimal
    expanded: Decimal


def combine(resolution: Decimal, calibration: Decimal, repeatability: Decimal) -> Uncertainty:
    """u^2 = (resolution/sqrt 12)^2 + (calibration U/2)^2 + s^2, all in mm; U = 2u rounded up to 0.0001 mm.

    The square root is compared as integers, so that U is never a step too small. Rule: uncertainty.
    """
    total = resolution * resolution + 3 * calibration * calibration + 12 * repeatability * repeatability
    return Uncertainty(
        _SERIES.sqrt(_SERIES.divide(total, Decimal(12))), _STEP * _ceiling_root(total * _STEPS_PER_MM * _STEPS_PER_MM)
    )


def _ceiling_root(three_squares: Decimal) -> int:
    """The least integer k with 3 k^2 >= `three_squares`."""
    root = math.isqrt(int(three_squares) // 3)
    while 3 * root * root < three_squares:
        root += 1
    return root


def expanded_uncertainty(resolution: Decimal, calibration: Decimal, repeatability: Decimal) -> Decimal:
    """U (k = 2) in mm, rounded up to the next 0.0001 mm."""
    return combine(resolution, calibration, repeatability).expanded


def standard_uncertainty(resolution: Decimal, calibration: Decimal, repeatability: Decimal) -> Decimal:
    """U/2 before rounding, in mm."""
    return combine(resolution, calibration, repeatability).standard


def of_instrument(stated: Instrument, defaults: InstrumentDefaults) -> Uncertainty:
    """The uncertainty of one reading: what the request states, and the policy's figure where it is silent."""
    return combine(
        defaults.resolution if stated.resolution is None else stated.resolution,
        defaults.expanded_uncertainty if stated.expanded_uncertainty is None else stated.expanded_uncertainty,
        defaults.repeatability if stated.repeatability is None else stated.repeatability,
    )


def probability(z: Decimal) -> Decimal:
    """The standard normal distribution function at z, rounded half to even to six digits.

    A series in decimals rather than the platform's `erf`, so that a replay gives the same bytes anywhere.
    """
    if z >= _SURE:
        return Decimal("1.000000")
    if z <= -_SURE:
        return Decimal("0.000000")
    square = _SERIES.multiply(z, z)
    term = total = z
    odd = 1
    while abs(term) > _NEGLIGIBLE:
        odd += 2
        term = _SERIES.divide(_SERIES.multiply(term, square), Decimal(odd))
        total = _SERIES.add(total, term)
    density = _SERIES.divide(_SERIES.exp(_SERIES.divide(-square, Decimal(2))), _ROOT_TWO_PI)
    value = _SERIES.add(Decimal("0.5"), _SERIES.multiply(total, density))
    return value.quantize(_SIX_DIGITS, context=_SERIES)


_ROOT_TWO_PI = Decimal("2.506628274631000502415765285")


def conformity(beyond: Decimal, uncertainty: Uncertainty) -> Decimal:
    """The probability that a figure `beyond` (mm) on the safe side of its limit truly conforms."""
    if uncertainty.standard == 0:
        return Decimal("1.000000") if beyond >= 0 else Decimal("0.000000")
    return probability(_SERIES.divide(beyond, uncertainty.standard))


def repeatability_of(readings: Sequence[Decimal]) -> Decimal:
    """The sample standard deviation of repeated readings of one place, in their unit.

    Raises `ValueError` for fewer than two readings.
    """
    if len(readings) < 2:  # noqa: PLR2004 - one reading has no spread
        raise ValueError("a standard deviation needs two readings or more")
    context = decimal.Context(prec=60)
    mean = context.divide(sum(readings, Decimal(0)), Decimal(len(readings)))
    squares = Decimal(0)
    for reading in readings:
        off = context.subtract(reading, mean)
        squares = context.add(squares, context.multiply(off, off))
    return _SERIES.sqrt(context.divide(squares, Decimal(len(readings) - 1)))

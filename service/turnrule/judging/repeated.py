"""Repeated readings of one place: what they say of the gauge.

Sources: NIST/SEMATECH e-Handbook 1.3.5 (mean, sample standard deviation) and 1.3.5.12 (autocorrelation).
"""

from __future__ import annotations

import decimal
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import EXACT, on_grid, plain, quotient
from turnrule.judging.uncertainty import repeatability_of

REPEATED_GRID = Decimal("1E-20")
"""Mean, deviation and correlation are kept on this grid, half to even."""

_WORKING = decimal.Context(prec=60)
_BOUND_SQUARED = 4


@dataclass(frozen=True, slots=True)
class Repeated:
    """Repeated readings in figures, in their unit: mean, sample standard deviation, greatest minus least.

    `lag_one` is the correlation of each reading with the next; None where all are alike. `independent` is false where
    it is beyond 2/sqrt n: something drifts or swings, and the deviation then says less than it seems to.
    """

    count: int
    mean: Decimal
    deviation: Decimal
    spread: Decimal
    lag_one: Decimal | None
    independent: bool


def of_readings(readings: Sequence[Decimal]) -> Repeated:
    """The figures of two repeated readings or more, in the order of reading.

    The deviation is the gauge's repeatability. Raises `ValueError` for fewer than two readings.
    """
    with decimal.localcontext(EXACT):
        deviation = repeatability_of(readings)
        mean = quotient(sum(readings, Decimal(0)), Decimal(len(readings)), ROUND_HALF_EVEN, REPEATED_GRID)
        spread = max(readings) - min(readings)
    lag = _lag_one(readings) if spread else None
    return Repeated(
        len(readings),
        plain(mean),
        _kept(deviation),
        spread,
        None if lag is None else _kept(lag),
        lag is None or _WORKING.multiply(_WORKING.power(lag, 2), len(readings)) <= _BOUND_SQUARED,
    )


def _kept(value: Decimal) -> Decimal:
    return plain(on_grid(value, ROUND_HALF_EVEN, REPEATED_GRID))


def _lag_one(readings: Sequence[Decimal]) -> Decimal:
    """The correlation of each reading with the next one; the readings are not all alike."""
    with decimal.localcontext(_WORKING):
        mean = sum(readings, Decimal(0)) / len(readings)
        off = [reading - mean for reading in readings]
        squares = sum((one * one for one in off), Decimal(0))
        return sum((one * next_one for one, next_one in itertools.pairwise(off)), Decimal(0)) / squares

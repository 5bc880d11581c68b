"""A once-per-turn wobble as a vector: as long as its total indicator reading (mm), pointing at its high spot.

Angles run along the part from its mark, in degrees. Kept to 34 digits and rounded only when shown; the trigonometry
is decimal, so that a replay gives the same bytes on any machine.
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import on_grid
from turnrule.judging.trace import circle, cosine, direction, sine

FINE = decimal.Context(prec=34, rounding=ROUND_HALF_EVEN)
"""The arithmetic of vectors; what is shown is rounded on the grid of 0.1 nm."""

_HELD = Decimal("1E-25")
"""What 34 digits surely hold of a length in mm: what lies below is the arithmetic's own."""


def rounded_up(value: Decimal) -> Decimal:
    """The next multiple of 0.1 nm; a value that lies on one but for the last digits of the arithmetic stays there."""
    return on_grid(on_grid(value, ROUND_HALF_EVEN, _HELD), ROUND_CEILING)


def rounded_down(value: Decimal) -> Decimal:
    """The last multiple of 0.1 nm, in the same way."""
    return on_grid(on_grid(value, ROUND_HALF_EVEN, _HELD), ROUND_FLOOR)


@dataclass(frozen=True, slots=True)
class Wobble:
    """A wobble as it is told: TIR in mm, half to even on 0.1 nm, and where it is highest, in degrees to a hundredth.

    No angle where there is no wobble.
    """

    runout: Decimal
    angle: Decimal | None


@dataclass(frozen=True, slots=True)
class Vector:
    """A wobble in the part's frame; also used as a complex number x + iy."""

    x: Decimal
    y: Decimal

    def __add__(self, other: Vector) -> Vector:
        with decimal.localcontext(FINE):
            return Vector(self.x + other.x, self.y + other.y)

    def __sub__(self, other: Vector) -> Vector:
        with decimal.localcontext(FINE):
            return Vector(self.x - other.x, self.y - other.y)

    def __mul__(self, other: Vector) -> Vector:
        with decimal.localcontext(FINE):
            return Vector(self.x * other.x - self.y * other.y, self.x * other.y + self.y * other.x)

    def over(self, divisor: Decimal) -> Vector:
        """The same direction, `divisor` times shorter; `divisor` is not 0."""
        with decimal.localcontext(FINE):
            return Vector(self.x / divisor, self.y / divisor)

    @property
    def mirrored(self) -> Vector:
        """The complex conjugate."""
        return Vector(self.x, self.y.copy_negate())

    @property
    def square(self) -> Decimal:
        """The length, squared."""
        with decimal.localcontext(FINE):
            return self.x * self.x + self.y * self.y

    @property
    def length(self) -> Decimal:
        """The TIR, mm, without the last digits of the arithmetic."""
        return on_grid(FINE.sqrt(self.square), ROUND_HALF_EVEN, _HELD)

    @property
    def shown(self) -> Wobble:
        """The wobble as it is told."""
        runout = on_grid(self.length, ROUND_HALF_EVEN)
        return Wobble(runout, direction(self.x, self.y) if runout else None)

    def along(self, count: int) -> tuple[Decimal, ...]:
        """The indicator readings that this wobble alone gives at so many equal steps, about their middle (mm)."""
        with decimal.localcontext(FINE):
            return tuple((self.x * c + self.y * s) / 2 for c, s in circle(count))


NOTHING = Vector(Decimal(0), Decimal(0))


def polar(runout: Decimal, angle: Decimal) -> Vector:
    """The wobble of this TIR (mm) with its high spot at this angle (degrees)."""
    with decimal.localcontext(FINE):
        return Vector(runout * cosine(angle), runout * sine(angle))


def turn(degrees: Decimal) -> Vector:
    """The unit vector by which to multiply so as to turn by so many degrees towards greater angles."""
    return Vector(cosine(degrees), sine(degrees))


def of_trace(trace: Sequence[Decimal]) -> Vector:
    """The once-per-turn part of an equally spaced trace of three readings or more, the first one at the mark.

    TIR is twice the amplitude of the least-squares circle (NIST/SEMATECH e-Handbook 2.3.4.4).
    """
    points = circle(len(trace))
    with decimal.localcontext(FINE):
        scale = Decimal(4) / len(trace)
        return Vector(
            scale * sum((o * c for o, (c, _) in zip(trace, points, strict=True)), Decimal(0)),
            scale * sum((o * s for o, (_, s) in zip(trace, points, strict=True)), Decimal(0)),
        )


def total(vectors: Sequence[Vector]) -> Vector:
    """The sum."""
    result = NOTHING
    for vector in vectors:
        result += vector
    return result

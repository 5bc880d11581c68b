"""Traces and scratches of wobbles that are known, for the tests: written from the definitions, in binary floats."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from turnrule.judging.scratch import Arc, Scratch
from turnrule.judging.separation import Doubt

SURE = Doubt(Decimal(0), Decimal(0), Decimal(0))
INDICATOR = Doubt(Decimal("0.002"), Decimal(2), Decimal("0.02"))


def apart(one: Decimal | float, other: Decimal | float) -> float:
    """How far two angles are apart, degrees."""
    gap = abs(float(one) - float(other)) % 360
    return min(gap, 360 - gap)


def wobble(part: complex, seat: complex, turned: float) -> complex:
    """What the two add up to on the part with the part turned so far on its seat; TIR vectors."""
    return part + seat * complex(math.cos(math.radians(turned)), -math.sin(math.radians(turned)))


def polar(runout: float, angle: float) -> complex:
    """A TIR vector."""
    return runout * complex(math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def trace(once: complex, count: int = 36, *, form: Sequence[float] = (), places: int = 9) -> tuple[Decimal, ...]:
    """An indicator trace of a wobble, with more of the part's own form on top of it."""
    readings = []
    for step in range(count):
        angle = 2 * math.pi * step / count
        height = (once * complex(math.cos(angle), -math.sin(angle))).real / 2
        readings.append(Decimal(f"{height + (form[step] if form else 0):.{places}f}"))
    return tuple(readings)


def scratch(once: complex, depth: float, *, places: int = 6) -> Scratch:
    """The scratch that a tool fed in by `depth` leaves on this wobble."""
    runout = abs(once)
    half = math.degrees(math.acos(1 - 2 * depth / runout))
    centre = math.degrees(math.atan2(once.imag, once.real))
    start, end = ((centre + side * half) % 360 for side in (-1, 1))
    return Scratch(
        Decimal(f"{depth:.9f}"),
        arcs=(Arc(Decimal(f"{start:.{places}f}") % 360, Decimal(f"{end:.{places}f}") % 360),),
    )

"""The part's own form, out of several traces of the same face with the part turned in between.

Averaging at the same places of the part keeps what belongs to the part and spreads what belongs to the seat: of that,
only some harmonics are left (N-position theorem: Estler, Evans and Shao, NIST publication 820842).
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import on_grid
from turnrule.judging.separation import same_turn
from turnrule.judging.trace import first_harmonic, total_indicator_reading
from turnrule.judging.vectors import FINE, Vector, total, turn

_HIGHEST_NAMED = 12
_LEAKS = Decimal("1E-9")
"""A sum of unit vectors no longer than this, each, is one of exactly nothing."""


@dataclass(frozen=True, slots=True)
class OwnForm:
    """The part by itself: its trace about its middle, the range of it, and the range without the once-per-turn part.

    In mm, half to even on 0.1 nm. `mixed_harmonics`: which of the seat's, 2 to 12 a turn, are still in it.
    """

    trace: tuple[Decimal, ...]
    runout: Decimal
    residual: Decimal
    mixed_harmonics: tuple[int, ...]


def own_form(traces: Sequence[Sequence[Decimal]], turned: Sequence[Decimal], seat: Vector) -> OwnForm | None:
    """The part's own form, `seat` being the wobble (at no turn) of what it sat on; lengths in mm.

    The traces begin at the part's mark. None for fewer than two, for traces of different lengths, or without a turn.

    Rule: own_form.
    """
    lengths = {len(trace) for trace in traces}
    if len(traces) < 2 or len(lengths) > 1 or same_turn(turned):  # noqa: PLR2004 - two to compare
        return None
    trace = own_trace(traces, turned, seat)
    return OwnForm(
        trace=tuple(on_grid(reading, ROUND_HALF_EVEN) for reading in trace),
        runout=on_grid(total_indicator_reading(trace), ROUND_HALF_EVEN),
        residual=first_harmonic(trace).residual,
        mixed_harmonics=mixed_harmonics(turned, len(trace)),
    )


def own_trace(traces: Sequence[Sequence[Decimal]], turned: Sequence[Decimal], seat: Vector) -> tuple[Decimal, ...]:
    """The traces, all of one length, averaged at the same places of the part, without the seat's wobble; unrounded."""
    count = Decimal(len(traces))
    left = seat * total([turn(phi.copy_negate()) for phi in turned]).over(count)
    with decimal.localcontext(FINE):
        averaged = [sum(readings, Decimal(0)) / count for readings in zip(*traces, strict=True)]
        level = sum(averaged, Decimal(0)) / len(averaged)
        return tuple(o - level - w for o, w in zip(averaged, left.along(len(averaged)), strict=True))


def mixed_harmonics(turned: Sequence[Decimal], readings: int) -> tuple[int, ...]:
    """Which harmonics of the seat, 2 to 12 and as far as so many readings show them, averaging leaves in the part's.

    For N positions equally spaced over a turn: N, 2N, 3N and so on.
    """
    spokes = [turn(phi) for phi in turned]
    powers, mixed = spokes, []
    for harmonic in range(2, min(_HIGHEST_NAMED, readings // 2) + 1):
        powers = [power * spoke for power, spoke in zip(powers, spokes, strict=True)]
        if total(powers).length > _LEAKS * len(turned):
            mixed.append(harmonic)
    return tuple(mixed)

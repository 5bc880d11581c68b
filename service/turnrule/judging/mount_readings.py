"""What is read of a face on the lathe, each reading by itself: the sum of the part's wobble and the mount's."""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative, too_few
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.scratch import Scratch, ScratchReading, faults_of_scratch, read_scratch
from turnrule.judging.separation import Doubt, Placed, faults_of_doubt, faults_of_turn, placed_trace
from turnrule.judging.trace import first_harmonic
from turnrule.judging.vectors import FINE, Wobble

_REMEDY = {
    Note.WHOLE_TURN_SCRATCHED: Missing.SHALLOWER_SCRATCH,
    Note.SCRATCH_TOO_SHORT: Missing.DEEPER_SCRATCH,
    Note.LOCAL_HIGH_SPOT: Missing.TRACE,
    Note.SEVERAL_ARCS: Missing.TRACE,
}

ROUNDING = Decimal("1E-15")
"""What 34 digits may lose (mm); nothing that a gauge could show."""


@dataclass(frozen=True, slots=True)
class MountReading:
    """One face, scratched or indicated once, with the part turned on the arbor by `turned` degrees since the first.

    Either a scratch or an equally spaced trace (mm), whose first reading is at the part's mark.
    """

    turned: Decimal
    scratch: Scratch | None = None
    trace: tuple[Decimal, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading by itself: the sum of the part's wobble and the mount's, as far as the reading tells it.

    Without an angle where a scratch has none. `residual`: the range of a trace without its once-per-turn part (mm).
    """

    wobble: Wobble | None
    scratch: ScratchReading | None = None
    residual: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading, worked out: its vector where it has one, and the bounds of its length."""

    turned: Decimal
    seen: Seen
    placed: Placed | None
    least: Decimal
    most: Decimal | None


def faults_of_readings(readings: Sequence[MountReading], doubt: Doubt, limit: Decimal) -> Iterator[Fault]:
    """Every fault of the readings, the uncertainties and the limit."""
    yield from faults_of_doubt(doubt)
    yield from negative("/limit", limit)
    if not readings:
        yield Fault("/readings", "too_few_readings", "give one reading of the face or more")
    for index, reading in enumerate(readings):
        pointer = f"/readings/{index}"
        yield from faults_of_turn(f"{pointer}/turned", reading.turned)
        if (reading.scratch is None) is not bool(reading.trace):
            yield Fault(pointer, "scratch_or_trace", "give either a scratch or a trace, one of the two")
        if reading.scratch is not None:
            yield from faults_of_scratch(reading.scratch, f"{pointer}/scratch")
        if reading.trace:
            yield from too_few(f"{pointer}/trace", len(reading.trace))


def take(reading: MountReading, doubt: Doubt) -> Taken:
    """One reading worked out by itself."""
    if reading.scratch is None:
        placed = placed_trace(reading.trace, reading.turned, doubt)
        length = placed.wobble.length
        seen = Seen(placed.wobble.shown, residual=first_harmonic(reading.trace).residual)
        return Taken(reading.turned, seen, placed, max(Decimal(0), length - placed.error), length + placed.error)
    scratch = read_scratch(reading.scratch, doubt)
    if scratch.vector is None or scratch.error is None:
        wobble = None if scratch.runout is None else Wobble(scratch.runout, None)
        least = scratch.at_least if scratch.wobbles_once else Decimal(0)
        return Taken(reading.turned, Seen(wobble, scratch), None, least, scratch.at_most)
    placed = Placed(reading.turned, scratch.vector, scratch.error)
    return Taken(reading.turned, Seen(scratch.vector.shown, scratch), placed, scratch.at_least, scratch.at_most)


def differ(one: Taken, other: Taken) -> bool:
    """True where the two patterns differ by more than their doubt."""
    if one.placed is not None and other.placed is not None:
        with decimal.localcontext(FINE):
            return (one.placed.wobble - other.placed.wobble).length > one.placed.error + other.placed.error + ROUNDING
    return other.most is not None and one.least > other.most


def notes_of(taken: Sequence[Taken]) -> list[Note]:
    """What the scratches say of themselves, each once."""
    every = [note for one in taken if one.seen.scratch is not None for note in one.seen.scratch.notes]
    return list(dict.fromkeys(every))


def missing_of(taken: Sequence[Taken]) -> tuple[Missing, ...]:
    """What each reading that has no vector would need in order to have one."""
    needed: list[Missing] = []
    for one in taken:
        if one.placed is None and one.seen.scratch is not None:
            remedies = [_REMEDY[note] for note in one.seen.scratch.notes if note in _REMEDY]
            needed += remedies or [Missing.ANGLES_OF_THE_SCRATCH]
    return tuple(dict.fromkeys(needed))

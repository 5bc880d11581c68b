"""Is the part mounted right? Its own wobble and the mount's, told apart by turning the part on the arbor.

The pattern that stays on the same place of the part is the part's own; what moves with the turn is the mount's.
Answered for what the readings can tell; what is missing is named, and nothing is guessed.
"""

from __future__ import annotations

import decimal
import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.lathe_faults import refuse
from turnrule.judging.lathe_words import LookAt, Missing, Mounted, Note
from turnrule.judging.lengths import on_grid
from turnrule.judging.mount_readings import (
    ROUNDING,
    MountReading,
    Seen,
    Taken,
    differ,
    faults_of_readings,
    missing_of,
    notes_of,
    take,
)
from turnrule.judging.part_form import OwnForm, own_form
from turnrule.judging.separation import Doubt, Separated, chord, same_turn, separate
from turnrule.judging.trace import radians
from turnrule.judging.vectors import FINE, Wobble, rounded_down, rounded_up

GREATEST_MOUNT_RUNOUT = Decimal("0.025")
"""A mount that wobbles more than this (mm) is to be made again (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MountCheck:
    """How the part sits, and what of its wobble is whose; mm and degrees, None for what cannot be told.

    `mount` points to where the mount's wobble lay on the part at the first reading. `each_at_least` (rounded down) and
    `each_at_most` (rounded up) bound the mount's TIR and the part's alike where only magnitudes are known.
    `metal_cost` is the thickness (on a drum: diameter) that cutting in this mount would cost, rounded up: its TIR.
    `misfit` is how far the worst of three readings or more is from what the two wobbles add up to.
    """

    mounted: Mounted
    limit: Decimal
    seen: tuple[Seen, ...]
    mount: Wobble | None = None
    mount_uncertainty: Decimal | None = None
    part: Wobble | None = None
    part_uncertainty: Decimal | None = None
    each_at_least: Decimal | None = None
    each_at_most: Decimal | None = None
    metal_cost: Decimal | None = None
    misfit: Decimal | None = None
    form: OwnForm | None = None
    look_at: tuple[LookAt, ...] = ()
    missing: tuple[Missing, ...] = ()
    notes: tuple[Note, ...] = ()


_SEATING = (
    LookAt.SEATS_DIRTY,
    LookAt.BURR_ON_SEAT,
    LookAt.CONE_SIZE,
    LookAt.SPACER_ORDER,
    LookAt.NUT_TORQUE,
    LookAt.ARBOR_RUNOUT,
    LookAt.BEARING_PLAY,
)
"""In the order in which they are quickest ruled out (common practice, no source)."""

_LOOSE = (LookAt.NUT_TORQUE, LookAt.BEARING_PLAY, LookAt.SEATS_DIRTY, LookAt.CONE_SIZE)
_BENT = (LookAt.NUT_TORQUE, LookAt.SPACER_ORDER, LookAt.PART_DISTORTED)


def check_mounting(
    readings: Sequence[MountReading], doubt: Doubt, limit: Decimal = GREATEST_MOUNT_RUNOUT
) -> MountCheck:
    """Mounted right or mount again, and whose the wobble is. Raises `LatheDataError`.

    AGAIN where the mount's TIR less its U is over the limit; RIGHT where the TIR is within it and U is fine enough to
    have shown a mount at the limit; between the two it cannot be told, and a finer reading is asked for.

    Rule: mounted_right.
    """
    refuse(faults_of_readings(readings, doubt, limit))
    taken = [take(reading, doubt) for reading in readings]
    separated = separate([one.placed for one in taken if one.placed is not None], doubt)
    if separated is not None:
        return _solved(readings, taken, separated, doubt, limit)
    if not same_turn([one.turned for one in taken]):
        return _bounded(taken, doubt, limit)
    return _unsolved(taken, limit)


def _solved(
    readings: Sequence[MountReading], taken: Sequence[Taken], separated: Separated, doubt: Doubt, limit: Decimal
) -> MountCheck:
    """Two vectors or more at different turns: both wobbles are known."""
    mounted = _judged(separated, limit)
    traces = [reading for reading in readings if reading.trace]
    form = own_form([r.trace for r in traces], [r.turned for r in traces], separated.seat)
    loose = separated.misfit > _unexplained(taken, separated, doubt)
    with decimal.localcontext(FINE):
        near = abs(separated.seat.length - limit) < separated.seat_error
    said = {
        Note.TRACES_OF_DIFFERENT_LENGTH: len({len(reading.trace) for reading in traces}) > 1,
        Note.FORM_PARTLY_MIXED: form is not None and bool(form.mixed_harmonics),
        Note.SOME_READINGS_NOT_USED: any(one.placed is None for one in taken),
        Note.DOES_NOT_REPEAT: loose,
        Note.WITHIN_UNCERTAINTY: near,
        Note.CUT_WOULD_LEAVE_RUNOUT: mounted is Mounted.AGAIN,
    }
    finer = (Missing.FINER_READING,) if mounted is Mounted.CANNOT_TELL else ()
    return MountCheck(
        mounted,
        limit,
        tuple(one.seen for one in taken),
        mount=separated.seat.shown,
        mount_uncertainty=rounded_up(separated.seat_error),
        part=separated.own.shown,
        part_uncertainty=rounded_up(separated.own_error),
        metal_cost=rounded_up(separated.seat.length),
        misfit=on_grid(separated.misfit, ROUND_HALF_EVEN),
        form=form,
        look_at=_look_at(taken, mounted, loose=loose),
        missing=(*finer, *missing_of(taken)),
        notes=(*notes_of(taken), *(note for note, holds in said.items() if holds)),
    )


def _judged(separated: Separated, limit: Decimal) -> Mounted:
    """The mount's TIR and its U against the limit."""
    runout, error = separated.seat.length, separated.seat_error
    with decimal.localcontext(FINE):
        if runout - error > limit:
            return Mounted.AGAIN
    return Mounted.RIGHT if runout <= limit and error <= limit else Mounted.CANNOT_TELL


def _unexplained(taken: Sequence[Taken], separated: Separated, doubt: Doubt) -> Decimal:
    """How badly readings may fit by their own doubt alone (mm of TIR)."""
    with decimal.localcontext(FINE):
        own = max(one.placed.error for one in taken if one.placed is not None)
        return own + separated.seat.length * radians(doubt.angle) + ROUNDING


def _bounded(taken: Sequence[Taken], doubt: Doubt, limit: Decimal) -> MountCheck:
    """Magnitudes only: nothing but what they leave possible is told."""
    least, most = _bounds(taken, doubt)
    mounted = Mounted.CANNOT_TELL
    if least > limit:
        mounted = Mounted.AGAIN
    elif most is not None and most <= limit:
        mounted = Mounted.RIGHT
    return MountCheck(
        mounted,
        limit,
        tuple(one.seen for one in taken),
        each_at_least=least,
        each_at_most=most,
        look_at=_look_at(taken, mounted),
        missing=missing_of(taken),
        notes=(*notes_of(taken), Note.MAGNITUDES_ONLY),
    )


def _bounds(taken: Sequence[Taken], doubt: Doubt) -> tuple[Decimal, Decimal | None]:
    """What the lengths alone leave possible: |w1| - |w2| <= |M| |1 - exp(-i phi)| <= |w1| + |w2|; so too for |R|."""
    least, most = Decimal(0), []
    for one, other in itertools.combinations(taken, 2):
        if same_turn([one.turned, other.turned]):
            continue
        shortest, longest = chord(one.turned - other.turned, doubt)
        with decimal.localcontext(FINE):
            for high, low in ((one, other), (other, one)):
                if low.most is not None:
                    least = max(least, (high.least - low.most) / longest)
            if one.most is not None and other.most is not None and shortest:
                most.append((one.most + other.most) / shortest)
    return rounded_down(least), rounded_up(min(most)) if most else None


def _unsolved(taken: Sequence[Taken], limit: Decimal) -> MountCheck:
    """One reading, or several without a turn: the sum of both wobbles, and whether it comes back the same."""
    notes = notes_of(taken)
    loose = any(differ(one, other) for one, other in itertools.permutations(taken, 2))
    if loose:
        notes.append(Note.DIFFERS_WITHOUT_TURNING)
    first = Missing.SECOND_READING if len(taken) == 1 else Missing.TURN_OF_THE_PART
    return MountCheck(
        Mounted.CANNOT_TELL,
        limit,
        tuple(one.seen for one in taken),
        look_at=_look_at(taken, Mounted.CANNOT_TELL, loose=loose),
        missing=(first, *missing_of(taken)),
        notes=tuple(notes),
    )


def _look_at(taken: Sequence[Taken], mounted: Mounted, *, loose: bool = False) -> tuple[LookAt, ...]:
    """What to look at, the likeliest first."""
    notes = notes_of(taken)
    listed = (
        *(_LOOSE if loose else ()),
        *(_SEATING if mounted is Mounted.AGAIN else ()),
        *(_BENT if Note.SEVERAL_ARCS in notes else ()),
        *((LookAt.HIGH_SPOT,) if Note.LOCAL_HIGH_SPOT in notes else ()),
    )
    return tuple(dict.fromkeys(listed))

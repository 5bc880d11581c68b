"""Hub and rotor told apart from readings at several index positions, and the position that makes their sum least.

The rotor is turned on the hub by whole stud spacings; angles run along the rotor from its mark. At the turn phi the
two add up to R + H exp(-i phi), H being the hub's wobble as it lies on the rotor at no turn.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative, not_an_angle, refuse, too_few
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.lengths import on_grid
from turnrule.judging.part_form import OwnForm, own_form
from turnrule.judging.separation import (
    Doubt,
    Placed,
    Separated,
    faults_of_doubt,
    faults_of_turn,
    placed_trace,
    separate,
)
from turnrule.judging.trace import around, radians, total_indicator_reading
from turnrule.judging.vectors import FINE, Vector, Wobble, polar, rounded_up, turn

_HUNDREDTH = Decimal("0.01")
_TURN = Decimal(360)
_MOST_STUDS = 60


@dataclass(frozen=True, slots=True)
class IndexReading:
    """The rotor read on its hub, turned on it by `turned` degrees since the first reading.

    Either an equally spaced trace (mm, the first reading at the rotor's mark), or the TIR (mm) with the angle of its
    high spot.
    """

    turned: Decimal
    trace: tuple[Decimal, ...] = ()
    runout: Decimal | None = None
    high_spot: Decimal | None = None


@dataclass(frozen=True, slots=True)
class IndexPosition:
    """What the sum is at one position: its once-per-turn wobble, and the whole TIR where traces tell it (mm)."""

    turned: Decimal
    wobble: Wobble
    whole: Decimal | None

    @property
    def remaining(self) -> Decimal:
        """The runout to go by: the whole where it is known."""
        return self.wobble.runout if self.whole is None else self.whole


@dataclass(frozen=True, slots=True)
class MatchMounting:
    """Hub and rotor apart, and every position of the rotor on the hub; mm and degrees, None for what cannot be told.

    `turn_by` is how far to turn the rotor from where it is now to `best`, `gain` by how much the runout falls there.
    """

    rotor: Wobble | None
    hub: Wobble | None
    rotor_uncertainty: Decimal | None = None
    hub_uncertainty: Decimal | None = None
    misfit: Decimal | None = None
    form: OwnForm | None = None
    positions: tuple[IndexPosition, ...] = ()
    now: IndexPosition | None = None
    best: IndexPosition | None = None
    turn_by: Decimal | None = None
    gain: Decimal | None = None
    missing: tuple[Missing, ...] = ()
    notes: tuple[Note, ...] = ()


def stud_positions(studs: int) -> tuple[Decimal, ...]:
    """The turns that so many equally spaced studs allow, in degrees to 34 digits. Raises `LatheDataError`."""
    if not 1 <= studs <= _MOST_STUDS:
        refuse([Fault("/studs", "not_a_count_of_studs", f"{studs} is not a count of studs; give 1 to {_MOST_STUDS}")])
    with decimal.localcontext(FINE):
        return tuple(_TURN * place / studs for place in range(studs))


def match_mounting(
    readings: Sequence[IndexReading], turns: Sequence[Decimal], doubt: Doubt, now: Decimal | None = None
) -> MatchMounting:
    """Where on the hub the rotor runs truest. Raises `LatheDataError`.

    `turns`: the positions that the studs allow, as turns since the first reading (`stud_positions`). `now`: how the
    rotor sits at present, that of the last reading unless told. The least whole TIR is best where traces of one
    length tell it, else the least once-per-turn wobble; of equals the present place, then the first.

    Rule: match_mounting.
    """
    refuse(_faults(readings, turns, doubt, now))
    placed = [_place(reading, doubt) for reading in readings]
    separated = separate(placed, doubt)
    if separated is None:
        seen = Missing.SECOND_READING if len(placed) == 1 else Missing.TURN_OF_THE_PART
        return MatchMounting(None, None, missing=(seen,))
    traces = [reading.trace for reading in readings if reading.trace]
    whole = len(traces) == len(readings)
    form = own_form(traces, [reading.turned for reading in readings], separated.seat) if whole else None
    return _matched(separated, form, turns, placed[-1].turned if now is None else now, _notes(traces, form))


def _faults(
    readings: Sequence[IndexReading], turns: Sequence[Decimal], doubt: Doubt, now: Decimal | None
) -> Iterator[Fault]:
    yield from faults_of_doubt(doubt)
    if not readings:
        yield Fault("/readings", "too_few_readings", "give the readings of one index position or more")
    if not turns:
        yield Fault("/positions", "no_positions", "give the positions that the studs allow")
    for index, phi in enumerate(turns):
        yield from faults_of_turn(f"/positions/{index}", phi)
    if now is not None:
        yield from faults_of_turn("/now", now)
    for index, reading in enumerate(readings):
        yield from _faults_of(reading, f"/readings/{index}")


def _faults_of(reading: IndexReading, pointer: str) -> Iterator[Fault]:
    yield from faults_of_turn(f"{pointer}/turned", reading.turned)
    spot = reading.runout is not None and reading.high_spot is not None
    half = (reading.runout is None) is not (reading.high_spot is None)
    if half or spot is bool(reading.trace):
        yield Fault(pointer, "trace_or_high_spot", "give either a trace, or the runout with the angle of its high spot")
    yield from negative(f"{pointer}/runout", reading.runout)
    if reading.high_spot is not None:
        yield from not_an_angle(f"{pointer}/high_spot", reading.high_spot)
    if reading.trace:
        yield from too_few(f"{pointer}/trace", len(reading.trace))


def _place(reading: IndexReading, doubt: Doubt) -> Placed:
    """The reading as a vector with its U."""
    if reading.runout is None or reading.high_spot is None:
        return placed_trace(reading.trace, reading.turned, doubt)
    with decimal.localcontext(FINE):
        # A TIR is the difference of two readings, and its high spot is one angle.
        error = (2 * doubt.reading**2 + (reading.runout * radians(doubt.angle)) ** 2).sqrt()
    return Placed(reading.turned, polar(reading.runout, reading.high_spot), error)


def _notes(traces: Sequence[Sequence[Decimal]], form: OwnForm | None) -> list[Note]:
    notes = []
    if len({len(trace) for trace in traces}) > 1:
        notes.append(Note.TRACES_OF_DIFFERENT_LENGTH)
    if form is not None and form.mixed_harmonics:
        notes.append(Note.FORM_PARTLY_MIXED)
    return notes


def _matched(
    separated: Separated, form: OwnForm | None, turns: Sequence[Decimal], now: Decimal, notes: list[Note]
) -> MatchMounting:
    positions = tuple(_position(separated, form, phi) for phi in turns)
    present = _position(separated, form, now)
    # The rotor's own place comes first: it is not turned for nothing.
    best = min((present, *positions), key=lambda position: position.remaining)
    with decimal.localcontext(FINE):
        gain = present.remaining - best.remaining
        unsure = (separated.own_error**2 + separated.seat_error**2).sqrt()
        turn_by = around(best.turned - present.turned)
    if gain <= unsure:
        notes.append(Note.WITHIN_UNCERTAINTY)
    return MatchMounting(
        rotor=separated.own.shown,
        hub=separated.seat.shown,
        rotor_uncertainty=rounded_up(separated.own_error),
        hub_uncertainty=rounded_up(separated.seat_error),
        misfit=on_grid(separated.misfit, ROUND_HALF_EVEN),
        form=form,
        positions=positions,
        now=present,
        best=best,
        turn_by=turn_by,
        gain=gain,
        missing=() if form is not None else (Missing.TRACE,),
        notes=tuple(notes),
    )


def _position(separated: Separated, form: OwnForm | None, turned: Decimal) -> IndexPosition:
    """The sum of both wobbles with the rotor turned so far."""
    hub = separated.seat * turn(turned.copy_negate())
    shown = around(on_grid(around(turned), ROUND_HALF_EVEN, _HUNDREDTH))
    return IndexPosition(shown, (separated.own + hub).shown, None if form is None else _whole(form, hub))


def _whole(form: OwnForm, hub: Vector) -> Decimal:
    """The TIR of the rotor's own form with the hub's wobble under it."""
    with decimal.localcontext(FINE):
        summed = [o + w for o, w in zip(form.trace, hub.along(len(form.trace)), strict=True)]
        return on_grid(total_indicator_reading(summed), ROUND_HALF_EVEN)

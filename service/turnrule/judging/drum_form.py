"""The form of a drum from several tracks: out of round, bell-mouthed, tapered, barrelled, eccentric.

A track is read at one distance from the open edge: diameters at equal angles, and where there is one an indicator
trace of the bore as it turns on the lathe. Diameters cannot show that the bore is off centre: only a trace can.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative, not_positive, refuse, too_few
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.lengths import EXACT, on_grid, quotient
from turnrule.judging.trace import first_harmonic, total_indicator_reading
from turnrule.judging.vectors import FINE, Wobble, of_trace, rounded_up

_PER_MM = Decimal("1E-9")
_RATE = decimal.Context(prec=60)


class Place(StrEnum):
    """A track by its name, where its distance from the open edge was not measured."""

    OPEN = "open"
    MIDDLE = "middle"
    CLOSED = "closed"


_SHARES = {Place.OPEN: Decimal(0), Place.MIDDLE: Decimal("0.5"), Place.CLOSED: Decimal(1)}


@dataclass(frozen=True, slots=True)
class DrumTrack:
    """One track: where it is, its diameters (mm), and the trace of its bore (mm, larger further from the axis).

    Either the distance from the open edge (mm) or the place by name, the same way for every track.
    """

    distance: Decimal | None = None
    place: Place | None = None
    diameters: tuple[Decimal, ...] = ()
    trace: tuple[Decimal, ...] = ()


@dataclass(frozen=True, slots=True)
class TrackForm:
    """One track by itself, mm: `mean` and `out_of_round` from diameters, the rest from the trace (None: not read).

    `runout` is the TIR of the bore on the lathe; `eccentricity` half the TIR of its once-per-turn part, towards the
    place where the bore is furthest from the axis; `residual` the range without it.
    """

    mean: Decimal | None
    out_of_round: Decimal | None
    runout: Decimal | None
    eccentricity: Wobble | None
    residual: Decimal | None


@dataclass(frozen=True, slots=True)
class DrumForm:
    """All tracks, from the open edge inwards, mm; None for what takes more tracks, diameters or distances.

    `taper` is the difference of the two ends (rounded up) and `slope` the least-squares rise of diameter for each mm
    into the drum (below 0: wider at the open edge). `bell_mouth` is by how much the open edge is wider than the closed
    end, 0 where it is not. `barrel` is how far the tracks between are wider than the line through the ends, where that
    is most; below 0: narrower. `least_finished` is the least diameter, rounded up, at which a bore true to the lathe
    has no uncut place left.
    """

    tracks: tuple[TrackForm, ...]
    bell_mouth: Decimal | None
    taper: Decimal | None
    slope: Decimal | None
    barrel: Decimal | None
    least_finished: Decimal | None
    missing: tuple[Missing, ...]
    notes: tuple[Note, ...] = ()


def form_of(tracks: Sequence[DrumTrack], *, runout: Decimal | None = None, groove: Decimal = Decimal(0)) -> DrumForm:
    """The form of the drum, and the least diameter that cleans it up. Raises `LatheDataError`.

    `runout`: the TIR of the bore on the lathe, for the tracks that have no trace of their own; `groove`: the deepest
    groove, on the radius. Both in mm. Rule: drum_form.
    """
    refuse(_faults(tracks, runout, groove))
    with decimal.localcontext(EXACT):
        placed = sorted(tracks, key=_depth)
        sized = [track for track in placed if track.diameters]
        bell, taper, barrel = _across(sized)
        return DrumForm(
            tracks=tuple(_track_form(track) for track in placed),
            bell_mouth=bell,
            taper=taper,
            slope=_slope(sized),
            barrel=barrel,
            least_finished=_least_finished(placed, runout, groove) if len(sized) == len(placed) else None,
            missing=_missing(placed, sized, runout),
            notes=(Note.RUNOUT_TAKEN_AS_NOTHING,) if runout is None and not all(t.trace for t in placed) else (),
        )


def _faults(tracks: Sequence[DrumTrack], runout: Decimal | None, groove: Decimal) -> Iterator[Fault]:
    yield from negative("/runout", runout)
    yield from negative("/groove_depth", groove)
    if not tracks:
        yield Fault("/tracks", "no_tracks", "give one track or more")
    for index, track in enumerate(tracks):
        yield from _faults_of(track, f"/tracks/{index}")
    if any(track.place is None for track in tracks) and any(track.place is not None for track in tracks):
        yield Fault("/tracks", "distances_or_places", "give the distance of every track, or the place of every track")
    elif len({track.distance if track.place is None else track.place for track in tracks}) < len(tracks):
        yield Fault("/tracks", "same_track_twice", "give each track once")


def _faults_of(track: DrumTrack, pointer: str) -> Iterator[Fault]:
    if (track.distance is None) is (track.place is None):
        yield Fault(pointer, "distance_or_place", "give either the distance from the open edge or the place, not both")
    yield from negative(f"{pointer}/distance", track.distance)
    if not track.diameters and not track.trace:
        yield Fault(pointer, "nothing_read", "give the diameters of the track, or its trace, or both")
    for at, diameter in enumerate(track.diameters):
        yield from not_positive(f"{pointer}/diameters/{at}", diameter)
    if track.trace:
        yield from too_few(f"{pointer}/trace", len(track.trace))


def _depth(track: DrumTrack) -> Decimal:
    """How far in the track is: mm, or its share of the way where only its place is known."""
    if track.place is not None:
        return _SHARES[track.place]
    return Decimal(0) if track.distance is None else track.distance


def _track_form(track: DrumTrack) -> TrackForm:
    mean = out_of_round = run = eccentricity = residual = None
    if track.diameters:
        mean = quotient(sum(track.diameters, Decimal(0)), Decimal(len(track.diameters)))
        out_of_round = total_indicator_reading(track.diameters)
    if track.trace:
        run = total_indicator_reading(track.trace)
        eccentricity = of_trace(track.trace).over(Decimal(2)).shown
        residual = first_harmonic(track.trace).residual
    return TrackForm(mean, out_of_round, run, eccentricity, residual)


def _mean(track: DrumTrack) -> Decimal:
    """The mean diameter, to 60 digits."""
    return _RATE.divide(sum(track.diameters, Decimal(0)), Decimal(len(track.diameters)))


def _across(sized: Sequence[DrumTrack]) -> tuple[Decimal | None, Decimal | None, Decimal | None]:
    """Bell-mouth, taper and barrel, from the tracks with diameters."""
    if len(sized) < 2:  # noqa: PLR2004 - two ends
        return None, None, None
    with decimal.localcontext(_RATE):
        first, last = sized[0], sized[-1]
        wider = _mean(first) - _mean(last)
        bell = rounded_up(max(wider, Decimal(0)))
        width = _depth(last) - _depth(first)
        bulges = [
            _mean(track) - _mean(first) + wider * (_depth(track) - _depth(first)) / width for track in sized[1:-1]
        ]
        barrel = on_grid(max(bulges, key=abs), ROUND_HALF_EVEN) if bulges else None
        return bell, rounded_up(abs(wider)), barrel


def _slope(sized: Sequence[DrumTrack]) -> Decimal | None:
    """Least-squares rise of the mean diameter per mm of depth, to nine decimals; None without distances."""
    if len(sized) < 2 or sized[0].distance is None:  # noqa: PLR2004 - two ends
        return None
    with decimal.localcontext(_RATE):
        count = Decimal(len(sized))
        middle = sum((_depth(track) for track in sized), Decimal(0)) / count
        spread = sum(((_depth(track) - middle) ** 2 for track in sized), Decimal(0))
        rise = sum(((_depth(track) - middle) * _mean(track) for track in sized), Decimal(0)) / spread
        return on_grid(rise, ROUND_HALF_EVEN, _PER_MM)


def _least_finished(tracks: Sequence[DrumTrack], runout: Decimal | None, groove: Decimal) -> Decimal:
    """The least true bore about the lathe's axis that contains every track, and its grooves."""
    with decimal.localcontext(FINE):
        return rounded_up(max(_reach(track, runout) for track in tracks) + 2 * groove)


def _reach(track: DrumTrack, runout: Decimal | None) -> Decimal:
    """The diameter of the least bore about the lathe's axis that contains this track.

    With a trace: the mean diameter and twice what the bore stands out beyond its mean, but no less than the greatest
    diameter. Without one: the greatest diameter and the TIR, as for any drum.
    """
    greatest = max(track.diameters)
    if not track.trace:
        return greatest + (runout or Decimal(0))
    level = sum(track.trace, Decimal(0)) / len(track.trace)
    return max(greatest, _mean(track) + 2 * (max(track.trace) - level))


def _missing(placed: Sequence[DrumTrack], sized: Sequence[DrumTrack], runout: Decimal | None) -> tuple[Missing, ...]:
    """What would have to be read for the whole form to be known."""
    missing = []
    if len(sized) < len(placed):
        missing.append(Missing.DIAMETERS)
    if len(placed) < 3:  # noqa: PLR2004 - both ends and one between
        missing.append(Missing.SECOND_TRACK if len(placed) == 1 else Missing.THIRD_TRACK)
    if any(track.distance is None for track in placed):
        missing.append(Missing.DISTANCES)
    if not all(track.trace for track in placed):
        missing.append(Missing.TRACE)
        if runout is None:
            missing.append(Missing.RUNOUT)
    return tuple(missing)

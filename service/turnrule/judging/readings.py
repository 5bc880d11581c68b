"""Readings into figures: sizes at 20 C, form, runout, and the size that is true before any cut.

A rotor's sizes are thicknesses (safe side: greater), a drum's are diameters (safe side: smaller).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from turnrule.judging.lengths import quotient
from turnrule.judging.parts import Part
from turnrule.judging.trace import first_harmonic, thickest_true_disc, total_indicator_reading
from turnrule.judging.verdict import Harmonic
from turnrule.judging.words import Kind, LatheKind, RunoutPlace

REFERENCE_TEMPERATURE = Decimal(20)
"""Lengths hold at 20 C (ISO 1)."""

GREY_IRON = Decimal("10.5E-6")
"""Linear expansion per kelvin of grey iron, where the record gives none (common practice, no source)."""

FAR_FROM_REFERENCE = Decimal(20)


@dataclass(frozen=True, slots=True)
class Track:
    """One track of sizes at 20 C, mm."""

    sizes: tuple[Decimal, ...]

    @property
    def span(self) -> Decimal:
        """Greatest minus least: thickness variation, or out-of-round."""
        return max(self.sizes) - min(self.sizes)


@dataclass(frozen=True, slots=True)
class Trued:
    """The runout that the cut must true (mm), where it comes from, and the size inside it (None: no size read).

    `excess` is how much more the part wobbles at the lathe than the trace shows that `clean_up` comes from.
    """

    runout: Decimal
    known: bool
    may_include_hub: bool
    clean_up: Decimal | None
    from_trace: bool
    excess: Decimal


@dataclass(frozen=True, slots=True)
class Measured:
    """Everything that the readings alone come to."""

    tracks: tuple[Track, ...]
    least: Decimal | None
    greatest: Decimal | None
    mean: Decimal | None
    variation: Decimal | None
    points: int
    taper: Decimal | None
    lateral_runout: Decimal | None
    harmonic: Harmonic | None
    trued: Trued
    growth: Decimal
    far_from_reference: bool

    def worst(self, kind: Kind) -> Decimal | None:
        """The size that is nearest its limit: least thickness or greatest diameter."""
        return self.least if kind.is_rotor else self.greatest


def measure(part: Part, *, expansion_per_k: Decimal | None, lathe: LatheKind) -> Measured:
    """The figures of one part; `lathe` is where it is to be cut, `expansion_per_k` the record's own if any."""
    readings = part.readings
    growth = _growth(readings.part_temperature_c, expansion_per_k)
    tracks = tuple(
        Track(_at_reference(sizes, growth, rotor=part.kind.is_rotor))
        for sizes in (readings.track, readings.inner_track)
        if sizes
    )
    every = [size for track in tracks for size in track.sizes]
    trace = readings.runout_trace
    runout = _lateral_runout(readings.lateral_runout, trace)
    away = readings.part_temperature_c
    return Measured(
        tracks=tracks,
        least=min(every) if every else None,
        greatest=max(every) if every else None,
        mean=quotient(sum(every, Decimal(0)), Decimal(len(every))) if every else None,
        variation=max(track.span for track in tracks) if tracks else None,
        points=min((len(track.sizes) for track in tracks), default=0),
        taper=_taper(tracks),
        lateral_runout=runout,
        harmonic=first_harmonic(trace) if trace else None,
        trued=_trued(part, tracks, runout, lathe),
        growth=growth,
        far_from_reference=away is not None and abs(away - REFERENCE_TEMPERATURE) > FAR_FROM_REFERENCE,
    )


def _growth(temperature: Decimal | None, expansion_per_k: Decimal | None) -> Decimal:
    """How many times longer the part is than at 20 C; 1 where its temperature is not given."""
    if temperature is None:
        return Decimal(1)
    expansion = GREY_IRON if expansion_per_k is None else expansion_per_k
    return 1 + expansion * (temperature - REFERENCE_TEMPERATURE)


def _at_reference(sizes: Sequence[Decimal], growth: Decimal, *, rotor: bool) -> tuple[Decimal, ...]:
    """Sizes at 20 C, rounded to 0.1 nm against the part, so that no comparison with a limit changes by it.

    Rule: temperature.
    """
    if growth == 1:
        return tuple(sizes)
    rounding = ROUND_FLOOR if rotor else ROUND_CEILING
    return tuple(quotient(size, growth, rounding) for size in sizes)


def _taper(tracks: Sequence[Track]) -> Decimal | None:
    """Difference of the two tracks' means, rounded up to 0.1 nm; None without a second track."""
    if len(tracks) < 2:  # noqa: PLR2004 - taper is a matter of two tracks
        return None
    outer, inner = (track.sizes for track in tracks[:2])
    apart = abs(sum(outer, Decimal(0)) * len(inner) - sum(inner, Decimal(0)) * len(outer))
    return quotient(apart, Decimal(len(outer) * len(inner)), ROUND_CEILING)


def _lateral_runout(stated: Decimal | None, trace: Sequence[Decimal]) -> Decimal | None:
    """The TIR as read, or the trace's; where both are given, the greater."""
    given = [value for value in (stated, total_indicator_reading(trace) if trace else None) if value is not None]
    return max(given) if given else None


def _trued(part: Part, tracks: Sequence[Track], lateral: Decimal | None, lathe: LatheKind) -> Trued:
    """The runout that the cut has to true, and the size that is left when it has. Rule: runout_to_be_trued."""
    readings = part.readings
    setup = readings.setup_runout
    on_vehicle = lathe is LatheKind.ON_VEHICLE
    source = lateral if on_vehicle and part.kind.is_rotor else setup
    hub = False
    if source is None and part.kind.is_rotor:
        source = lateral
        hub = source is not None and readings.runout_read_on is RunoutPlace.VEHICLE
    runout = Decimal(0) if source is None else source
    paired = bool(tracks) and bool(readings.runout_trace) and len(readings.runout_trace) == len(tracks[0].sizes)
    excess = Decimal(0)
    if paired:
        if not on_vehicle and setup is not None:
            excess = max(excess, setup - total_indicator_reading(readings.runout_trace))
        size: Decimal | None = _inside_trace(readings.runout_trace, tracks) - excess
    elif not tracks:
        size = None
    elif part.kind.is_rotor:
        size = min(min(track.sizes) for track in tracks) - runout
    else:
        size = max(max(track.sizes) for track in tracks) + runout
    return Trued(runout, source is not None, hub, size, paired, excess)


def _inside_trace(trace: Sequence[Decimal], tracks: Sequence[Track]) -> Decimal:
    """The thickest true disc over all tracks; a track that was not read at the trace's angles gives up the TIR."""
    sizes = []
    for track in tracks:
        if len(track.sizes) == len(trace):
            sizes.append(thickest_true_disc(trace, track.sizes))
        else:
            sizes.append(min(track.sizes) - total_indicator_reading(trace))
    return min(sizes)

"""What a caller asks of a set-up: readings of the mount, of the hub, of both faces or of a drum's tracks.

Lengths in mm, angles in degrees; what is left out is None or empty.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.drum_form import DrumTrack
from turnrule.judging.index_positions import IndexReading
from turnrule.judging.lathe_words import Given
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.parts import Part
from turnrule.judging.planes import FaceTraces


@dataclass(frozen=True, slots=True)
class Hub:
    """The part read on its hub: `studs` equally spaced, or the `turns` that can be made; `now` is how it sits."""

    readings: tuple[IndexReading, ...]
    studs: int | None = None
    turns: tuple[Decimal, ...] = ()
    now: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Chosen:
    """A figure to go by, and where it was taken from."""

    value: Decimal
    given: Given


@dataclass(frozen=True, slots=True)
class PassDepths:
    """The least and the greatest depth of a pass (mm)."""

    least: Decimal
    greatest: Decimal
    given: Given


@dataclass(frozen=True, slots=True)
class SetupRequest:
    """One part at the lathe or on its hub. `part` holds its size, its cut, its grooves and what its limits are.

    `faces` are the traces and the thickness of a rotor without its grooves, `track_runout` the TIR of a drum's bore
    for the tracks that have no trace. `depths` are those of a pass; None: those of good practice.
    """

    part: Part
    readings: tuple[MountReading, ...] = ()
    hub: Hub | None = None
    faces: FaceTraces | None = None
    tracks: tuple[DrumTrack, ...] = ()
    track_runout: Decimal | None = None
    angle_uncertainty: Decimal | None = None
    covered_uncertainty: Decimal | None = None
    mount_limit: Decimal | None = None
    depths: PassDepths | None = None

"""What a caller sends to be judged: one part, its readings, its instrument and the cut in mind.

Every length is in millimetres, every angle in degrees, every distance in kilometres. The reader of the
outer rooms has checked shapes and signs; `Part.faults` lists what only the whole can show.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from decimal import Decimal

from turnrule.judging.words import Axle, Face, Kind, LatheKind, Ruling, RunoutPlace, Side, Stage, Unit, Zero


@dataclass(frozen=True, slots=True)
class Instrument:
    """The gauge, as far as the request states it; the policy fills in the rest.

    `resolution` is one digital step, `expanded_uncertainty` the certificate's U (k = 2),
    `repeatability` a standard deviation; all in mm.
    """

    resolution: Decimal | None = None
    expanded_uncertainty: Decimal | None = None
    repeatability: Decimal | None = None
    calibration_due: datetime.date | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class ReportedFinding:
    """Something seen on the part: a code of the catalogue, with what was measured of it (mm)."""

    code: str
    face: Face | None = None
    depth: Decimal | None = None
    length: Decimal | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class AskedCut:
    """The cut a caller asks for: both faces of a rotor, or the depth on a drum's radius (mm, 0 or more)."""

    inboard: Decimal | None = None
    outboard: Decimal | None = None
    depth: Decimal | None = None
    zero: Zero = Zero.THINNEST_POINT


@dataclass(frozen=True, slots=True)
class CutMade:
    """The cut that a finished part was given: metal off both faces of a rotor, or off a drum's radius (mm)."""

    inboard: Decimal | None = None
    outboard: Decimal | None = None
    depth: Decimal | None = None


@dataclass(frozen=True, slots=True)
class BeforeMachining:
    """What an earlier verdict found of the same part before it was machined (mm, at 20 C); None where it found none.

    `worst` is the least thickness or the greatest diameter, `clean_up` the size that truing leaves of it, `expanded`
    the gauge's U (k = 2).
    """

    id: str
    digest: str
    ruling: Ruling
    worst: Decimal | None
    mean: Decimal | None
    clean_up: Decimal | None
    expanded: Decimal


@dataclass(frozen=True, slots=True)
class EarlierReading:
    """An earlier reading of the same part: least thickness or greatest diameter (mm) at a distance (km).

    `expanded` is the U of the gauge that read it (mm), where it is known. `verdict` is the stored verdict that it was
    drawn from, `finished` whether it was read after machining; None and false for what a caller tells.
    """

    size: Decimal
    odometer_km: Decimal
    read_on: datetime.date | None = None
    expanded: Decimal | None = None
    verdict: str | None = None
    finished: bool = False


@dataclass(frozen=True, slots=True)
class Services:
    """When the vehicle is serviced, in km: every `interval_km`, counted from `from_km`, or at the odometers `at_km`.

    `from_km` is the odometer of the last service; 0 counts in round multiples of the interval.
    """

    interval_km: Decimal | None = None
    from_km: Decimal = Decimal(0)
    at_km: tuple[Decimal, ...] = ()


@dataclass(frozen=True, slots=True)
class Application:
    """The vehicle and place that the part is fitted to, as the caller names it."""

    make: str
    model: str
    year: int
    axle: Axle
    brake_option: str | None = None


@dataclass(frozen=True, slots=True)
class Readings:
    """What was measured, in mm; an empty tuple or None is a reading that was not taken.

    `track` and `inner_track` are thicknesses (rotor) or diameters (drum) at equal angles; `runout_trace`
    is an indicator trace of the outboard face at equal angles, larger where the face stands further outboard.
    """

    track: tuple[Decimal, ...] = ()
    inner_track: tuple[Decimal, ...] = ()
    lateral_runout: Decimal | None = None
    runout_trace: tuple[Decimal, ...] = ()
    runout_read_on: RunoutPlace = RunoutPlace.VEHICLE
    setup_runout: Decimal | None = None
    grooves: dict[Face, Decimal] = field(default_factory=dict)
    surface_roughness: Decimal | None = None
    part_temperature_c: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One part to be judged, with everything that the caller said of it.

    `drawn` are the readings that were drawn from stored verdicts, in the order of odometer and record; None where that
    was not asked for. `new` is the size and odometer at which the part was new.
    """

    unit: Unit
    kind: Kind
    readings: Readings
    stage: Stage = Stage.BEFORE_MACHINING
    application: Application | None = None
    side: Side | None = None
    marking: Decimal | None = None
    findings: tuple[ReportedFinding, ...] = ()
    instrument: Instrument = Instrument()
    cut: AskedCut | None = None
    cut_made: CutMade | None = None
    before: BeforeMachining | None = None
    lathe: LatheKind | None = None
    odometer_km: Decimal | None = None
    history: tuple[EarlierReading, ...] = ()
    drawn: tuple[EarlierReading, ...] | None = None
    new: EarlierReading | None = None
    services: Services | None = None

    @property
    def faces(self) -> tuple[Face, ...]:
        """The friction faces of this kind of part."""
        return (Face.INBOARD, Face.OUTBOARD) if self.kind.is_rotor else (Face.DEPTH,)

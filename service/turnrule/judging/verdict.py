"""What a judgement answers: figures, governing limits, checks, margins, room, cautions, the verdict itself.

All lengths in mm; the outer rooms turn them into the caller's unit and into JSON.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from turnrule.judging.limits import Governing
from turnrule.judging.part_life import PartLife
from turnrule.judging.parts import BeforeMachining
from turnrule.judging.words import CheckName, Face, Level, Machining, Origin, Outcome, Ruling, Sense, Zero


@dataclass(frozen=True, slots=True)
class Check:
    """One check: what was held against which limit, by how much guard, and what came of it.

    `measure` names what `value` and `limit` are counted in: `length` (mm), `km`, `points`, or None.
    `probability` is the probability of conformity (JCGM 106); it decides nothing.
    """

    check: CheckName
    outcome: Outcome
    quantity: str | None = None
    value: Decimal | None = None
    limit: Decimal | None = None
    sense: Sense | None = None
    guard_band: Decimal | None = None
    probability: Decimal | None = None
    origin: Origin | None = None
    source: str | None = None
    reason: str | None = None
    measure: str | None = "length"


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution of the catalogue with its text filled in."""

    code: str
    level: Level
    text: str


@dataclass(frozen=True, slots=True)
class Harmonic:
    """First-harmonic amplitude (mm) and angle (degrees) of a trace, and the range (mm) of what is left without it."""

    amplitude: Decimal
    angle: Decimal
    residual: Decimal


@dataclass(frozen=True, slots=True)
class Figures:
    """What the readings come to. `least`, `greatest`, `mean` are thicknesses or diameters at 20 C."""

    least: Decimal | None = None
    greatest: Decimal | None = None
    mean: Decimal | None = None
    variation: Decimal | None = None
    taper: Decimal | None = None
    lateral_runout: Decimal | None = None
    harmonic: Harmonic | None = None
    runout_to_true: Decimal | None = None
    clean_up: Decimal | None = None
    after_cut: Decimal | None = None
    wear_per_1000_km: Decimal | None = None
    remaining_km: Decimal | None = None


@dataclass(frozen=True, slots=True)
class JudgedCut:
    """The cut that was judged: asked for or planned; `least_cleaning` is given where an asked one falls short.

    `standing` is the metal of a wobbling face above the tool's zero, by face; empty where the zero is first contact.
    """

    depths: dict[Face, Decimal]
    zero: Zero
    asked: bool
    allowed: bool | None
    cleans_up: bool
    least_cleaning: dict[Face, Decimal] | None = None
    least_cleaning_allowed: bool | None = None
    standing: dict[Face, Decimal] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Gauge:
    """The gauge as it was taken: what the request states, and the policy's figure where it is silent (mm)."""

    resolution: Decimal
    expanded_uncertainty: Decimal
    repeatability: Decimal
    stated: frozenset[str]


@dataclass(frozen=True, slots=True)
class MetalTaken:
    """The metal that a finished part was cut by: as told, and by the readings before and after; None: not known.

    `told` is the change of size that the depths come to, `truing` what truing the part cost besides, `both` the
    expanded uncertainty of the two gauges together. `grew` where the part is larger than before beyond that.
    """

    depths: dict[Face, Decimal] | None
    told: Decimal | None
    before: BeforeMachining | None
    by_least: Decimal | None = None
    by_mean: Decimal | None = None
    truing: Decimal | None = None
    both: Decimal | None = None
    agrees: bool | None = None
    grew: bool | None = None


@dataclass(frozen=True, slots=True)
class Margins:
    """How far the deciding size stays on the safe side of its limits; negative when past."""

    to_machining_limit: Decimal | None
    to_discard_limit: Decimal | None
    guard_band: Decimal


@dataclass(frozen=True, slots=True)
class Settling:
    """What would settle an undecided check: a missing figure, a safer reading, or a finer gauge (mm)."""

    check: CheckName
    missing: str | None = None
    reading_needed: Decimal | None = None
    expanded_uncertainty_at_most: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Room:
    """The question solved backwards, exactly; a figure is None where nothing would do.

    Who shows these with fewer digits rounds cuts down, and the reading to its safe side.
    """

    most_total_cut: Decimal | None
    most_cut_per_face: Decimal | None
    reading_needed: Decimal | None
    settled_by: tuple[Settling, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits that govern, by the quantity that they bind."""

    discard: Governing | None
    machining: Governing | None
    lateral_runout: Governing | None
    thickness_variation: Governing | None
    out_of_round: Governing | None
    taper: Governing | None
    groove_depth: Governing
    permission: Machining
    limits_id: str | None
    revision: int | None
    source: str | None


@dataclass(frozen=True, slots=True)
class GoverningCheck:
    """The check that decides the verdict, with its limit and origin."""

    check: CheckName
    limit: Decimal | None
    origin: Origin | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """The whole judgement of one part."""

    ruling: Ruling
    summary: str
    governing: GoverningCheck | None
    figures: Figures
    margins: Margins
    room: Room
    limits: Limits
    cut: JudgedCut | None
    life: PartLife | None
    checks: tuple[Check, ...]
    cautions: tuple[Caution, ...]
    next_steps: tuple[str, ...]
    gauge: Gauge
    metal: MetalTaken | None = None
    missing: tuple[str, ...] = field(default=())

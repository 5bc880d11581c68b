"""A cut to be made on a lathe: how deep, where, with what finish, and what the part's build allows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative, not_positive
from turnrule.judging.lengths import EXACT
from turnrule.judging.words import Face

DIAL = Decimal("0.001")
"""The step (mm) in which depths are dialled and feeds chosen where nothing else is said."""

_HALF = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Surface:
    """What the tool sweeps, mm: the greatest diameter that it cuts at, the mean one, the width that it is fed over."""

    diameter: Decimal
    mean_diameter: Decimal
    width: Decimal

    @classmethod
    def ring(cls, outer: Decimal, inner: Decimal) -> Surface:
        """The friction face of a rotor, by its outer and inner diameter."""
        return cls(
            outer, EXACT.multiply(EXACT.add(outer, inner), _HALF), EXACT.multiply(EXACT.subtract(outer, inner), _HALF)
        )

    @classmethod
    def bore(cls, diameter: Decimal, width: Decimal) -> Surface:
        """The friction face of a drum."""
        return cls(diameter, diameter, width)


@dataclass(frozen=True, slots=True)
class PracticeFigures:
    """What a drilled, slotted or composite part allows, and the codes of the cautions that go with it."""

    greatest_depth: Decimal | None = None
    greatest_speed: Decimal | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """A cut to be made.

    `cut` holds the depth of each face from the tool's zero, `standing` the metal of a wobbling face above that zero
    (nothing where the cut is counted from first contact). `wanted_roughness` is Ra in mm.
    """

    cut: Mapping[Face, Decimal]
    standing: Mapping[Face, Decimal] = field(default_factory=dict)
    surface: Surface | None = None
    wanted_roughness: Decimal | None = None
    figures: PracticeFigures = PracticeFigures()
    on_vehicle_only: bool = False
    dial: Decimal = DIAL


def faults_of_job(job: Job) -> Iterator[Fault]:
    """Every fault of a job; none when its passes can be planned."""
    if not job.cut:
        yield Fault("/cut", "missing", "say how deep each face is cut")
    for name, depths in (("cut", job.cut), ("standing", job.standing)):
        for face, depth in depths.items():
            yield from negative(f"/{name}/{face.value}", depth)
    if job.surface is not None:
        yield from not_positive("/surface/diameter", job.surface.diameter)
        yield from not_positive("/surface/mean_diameter", job.surface.mean_diameter)
        yield from not_positive("/surface/width", job.surface.width)
    bounds = {
        "/wanted_roughness": job.wanted_roughness,
        "/figures/greatest_depth": job.figures.greatest_depth,
        "/figures/greatest_speed": job.figures.greatest_speed,
        "/dial": job.dial,
    }
    for pointer, value in bounds.items():
        if value is not None:
            yield from not_positive(pointer, value)

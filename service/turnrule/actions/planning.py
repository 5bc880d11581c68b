"""What follows a verdict at the lathe: the passes of the cut that may be made, and what the cut means for heat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.actions.desk import Desk
from turnrule.actions.lathes import lathe_for
from turnrule.actions.requests import Dimensions, ReadRequest
from turnrule.judging.catalogue import Catalogue
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.heat import Heating, Ring, heating
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_job import DIAL, Job, Surface
from turnrule.judging.lathe_practice import IRON_DENSITY, figures_for
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.lengths import MM_PER_INCH
from turnrule.judging.limits import Record
from turnrule.judging.parts import Part
from turnrule.judging.passes import PassPlan, plan_passes
from turnrule.judging.planning_words import NoPlan, PlannedFor
from turnrule.judging.verdict import JudgedCut, Verdict
from turnrule.judging.words import Construction, Face, LatheKind, Machining, Ruling, Unit
from turnrule.store.port import VerdictRecord

_DIAL_IN = Decimal("0.0001") * MM_PER_INCH
"""The step in which depths are dialled where the caller works in inches: a tenth of a thousandth."""


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """The passes of one cut, or why there are none. `plan` is None where no cut may be made at all."""

    planned_for: PlannedFor | None
    plan: PassPlan | None
    none_because: NoPlan | None = None


@dataclass(frozen=True, slots=True)
class AtTheLathe:
    """What is known of the lathe, and what it will do.

    `kind` where the request names a kind or a profile; `cut` where a profile was named and a cut was judged; `heating`
    where the dimensions of the part and the size after the cut are known.
    """

    kind: LatheKind | None = None
    profile: LatheProfile | None = None
    cut: PlannedCut | None = None
    heating: Heating | None = None


def named_lathe(desk: Desk, request: ReadRequest) -> LatheProfile | None:
    """The profile that a request names, if it names one. Raises `RefusedError` where there is none of that name."""
    asked = request.lathe
    return None if asked is None else lathe_for(desk, asked.name, asked.revision)


def recorded_lathe(desk: Desk, record: VerdictRecord) -> LatheProfile | None:
    """The revision of the profile that the passes of a stored verdict were planned with, if they were."""
    if record.lathe_name is None:
        return None
    return lathe_for(desk, record.lathe_name, record.lathe_revision)


def dimension_faults(request: ReadRequest) -> Iterator[Fault]:
    """Dimensions that no part can have which was read as this one was."""
    given, readings = request.dimensions, request.part.readings
    if given is None:
        return
    sizes = (*readings.track, *readings.inner_track)
    inner, outer = given.inner_diameter, given.outer_diameter
    if request.part.kind.is_rotor:
        if inner is not None and outer is not None and inner >= outer:
            yield Fault("/dimensions/inner_diameter", "inner_past_outer", "give an inner diameter below the outer one")
        if sizes and given.air_gap >= min(sizes):
            detail = "give the gap between the cheeks; it is smaller than the part is thick, and 0 in a solid one"
            yield Fault("/dimensions/air_gap", "gap_past_thickness", detail)
    elif sizes and outer is not None and outer <= max(sizes):
        yield Fault("/dimensions/outer_diameter", "inner_past_outer", "give an outer diameter above the bore's")


def at_the_lathe(
    catalogue: Catalogue, request: ReadRequest, verdict: Verdict, record: Record | None, profile: LatheProfile | None
) -> AtTheLathe:
    """What follows a verdict at the lathe. Raises `PartError` for a job that cannot be planned as it stands."""
    part = request.part
    cut = None
    if profile is not None and verdict.cut is not None:
        cut = _planned(catalogue, request, verdict, record, profile)
    kind = profile.kind if profile is not None else part.lathe
    return AtTheLathe(kind, profile, cut, _heating(catalogue, part, verdict, request.dimensions))


def _planned(
    catalogue: Catalogue, request: ReadRequest, verdict: Verdict, record: Record | None, profile: LatheProfile
) -> PlannedCut:
    judged = verdict.cut
    if judged is None:  # pragma: no cover - the caller has looked
        raise AssertionError
    chosen, depths = _chosen(verdict, judged)
    if depths is None:
        return PlannedCut(None, None, chosen if isinstance(chosen, NoPlan) else None)
    built = _built(record, request)
    job = Job(
        cut=depths,
        standing={face: judged.standing.get(face, Decimal(0)) for face in depths},
        surface=_surface(request.part, verdict, request.dimensions),
        wanted_roughness=request.wanted_roughness,
        figures=figures_for(built, catalogue),
        on_vehicle_only=verdict.limits.permission is Machining.ON_VEHICLE_ONLY,
        dial=DIAL if request.part.unit is Unit.MM else _DIAL_IN,
    )
    try:
        plan = plan_passes(job, profile)
    except LatheDataError as error:  # pragma: no cover - profiles and requests are checked before
        raise PartError(error.faults) from error
    because = NoPlan.LATHE_CANNOT if plan.refusals else None
    return PlannedCut(chosen if isinstance(chosen, PlannedFor) else None, plan, because)


def _chosen(verdict: Verdict, judged: JudgedCut) -> tuple[PlannedFor | NoPlan, dict[Face, Decimal] | None]:
    """The cut that may be made, or why none may: a part that is replaced or open is not put on the lathe."""
    if verdict.ruling is Ruling.MACHINE and not judged.cleans_up and judged.least_cleaning_allowed:
        return PlannedFor.LEAST_CLEANING, judged.least_cleaning
    if not judged.allowed:
        return NoPlan.LIMIT_IS_MISSING if judged.allowed is None else NoPlan.CUT_NOT_ALLOWED, None
    if verdict.ruling is Ruling.REPLACE:
        return NoPlan.PART_IS_REPLACED, None
    if verdict.ruling is Ruling.INCONCLUSIVE:
        return NoPlan.VERDICT_IS_OPEN, None
    return PlannedFor.CUT, judged.depths


def _built(record: Record | None, request: ReadRequest) -> tuple[Construction | None, ...]:
    limits = (record.limits if record is not None else None, request.caller)
    return tuple(one.construction for one in limits if one is not None)


def _surface(part: Part, verdict: Verdict, given: Dimensions | None) -> Surface | None:
    """What the tool sweeps; of a drum at the greatest diameter that it comes to."""
    if given is None:
        return None
    if part.kind.is_rotor:
        if given.outer_diameter is None or given.inner_diameter is None:  # pragma: no cover - the shape asks for both
            return None
        return Surface.ring(given.outer_diameter, given.inner_diameter)
    bore = verdict.figures.after_cut or verdict.figures.greatest
    return None if bore is None or given.width is None else Surface.bore(bore, given.width)


def _heating(catalogue: Catalogue, part: Part, verdict: Verdict, given: Dimensions | None) -> Heating | None:
    """What the cut that was judged means for the heat of the same stop; None where that is not known."""
    before, after = verdict.figures.mean, verdict.figures.after_cut
    if given is None or before is None or after is None:
        return None
    rings = (_ring(part, given, before), _ring(part, given, after))
    if rings[0] is None or rings[1] is None:
        return None
    try:
        return heating(rings[0], rings[1], catalogue.practice[IRON_DENSITY].value)
    except PartError:  # the cut would leave no ring, or takes nothing off: there is nothing to tell
        return None


def _ring(part: Part, given: Dimensions, size: Decimal) -> Ring | None:
    """The ring at a size: a rotor's thickness, or a drum's bore."""
    if given.outer_diameter is None:
        return None
    if not part.kind.is_rotor:
        return None if given.width is None else Ring(given.outer_diameter, size, given.width)
    return (
        None if given.inner_diameter is None else Ring(given.outer_diameter, given.inner_diameter, size, given.air_gap)
    )

"""From checks to the verdict: what replaces the part, what leaves it open, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.assessment import Assessment
from turnrule.judging.case import Case
from turnrule.judging.cuts import groove_is_known
from turnrule.judging.findings import needs_depth
from turnrule.judging.verdict import Check, GoverningCheck
from turnrule.judging.words import CheckName, Outcome, Overdue, Reading, Ruling

_MISSING_LIMIT = {
    (CheckName.MACHINING_LIMIT, True): "minimum_machining_thickness",
    (CheckName.MACHINING_LIMIT, False): "maximum_machining_diameter",
    (CheckName.DISCARD_LIMIT, True): "discard_thickness",
    (CheckName.DISCARD_LIMIT, False): "discard_diameter",
}


@dataclass(frozen=True, slots=True)
class Decision:
    """The ruling, the check that made it, and the names of what is missing."""

    ruling: Ruling
    governing: Check | None
    missing: tuple[str, ...]


def decide(case: Case, assessment: Assessment) -> Decision:
    """Replace before inconclusive before machine before serviceable."""
    missing = tuple(dict.fromkeys(_missing(case, assessment)))
    failing = _replacing(assessment)
    if failing:
        return Decision(Ruling.REPLACE, failing[0], missing)
    open_checks = _unproven(assessment)
    if open_checks or missing:
        return Decision(Ruling.INCONCLUSIVE, _first_open(assessment, open_checks), missing)
    ruling = Ruling.MACHINE if assessment.needs_machining else Ruling.SERVICEABLE
    return Decision(ruling, _tightest(assessment, machined=assessment.needs_machining), ())


def as_governing(check: Check | None) -> GoverningCheck | None:
    """The governing check as the answer names it."""
    return None if check is None else GoverningCheck(check.check, check.limit, check.origin)


def _replacing(assessment: Assessment) -> list[Check]:
    """The failing checks that replace the part, in the order of the rules."""
    deciding = [assessment.findings, assessment.discard]
    if assessment.finished is not None:
        deciding += [assessment.permitted, assessment.finished]
    if assessment.made is not None:
        deciding += assessment.made.outcomes
    if assessment.needs_machining:
        deciding.append(assessment.permitted)
        deciding += [check for cut in assessment.cuts for check in cut.outcomes]
    deciding.append(assessment.remaining)
    return [check for check in deciding if check.outcome is Outcome.FAIL]


def _strength(assessment: Assessment, *, machined: bool) -> list[Check]:
    """The strength checks that bear on the verdict."""
    held = [assessment.discard]
    if assessment.finished is not None:
        held.append(assessment.finished)
    if machined:
        held += [check for cut in assessment.cuts for check in (cut.machining, cut.discard)]
    return held


def _unproven(assessment: Assessment) -> list[Check]:
    held = _strength(assessment, machined=assessment.needs_machining)
    return [check for check in held if check.outcome is Outcome.UNPROVEN]


def _first_open(assessment: Assessment, unproven: list[Check]) -> Check | None:
    """The first check that is left open; None where only a required reading is missing."""
    if unproven:
        return unproven[0]
    held = _strength(assessment, machined=assessment.needs_machining)
    left = [check for check in held if check.outcome is Outcome.NOT_ASSESSED]
    return left[0] if left else None


def _tightest(assessment: Assessment, *, machined: bool) -> Check:
    """Of the strength checks that pass, the one with the least to spare beyond its guard band."""
    held = _strength(assessment, machined=machined)
    return min(held, key=_spare)


def _spare(check: Check) -> Decimal:
    if check.value is None or check.limit is None or check.guard_band is None:  # pragma: no cover - passes
        raise AssertionError(check)
    beyond = check.value - check.limit
    return abs(beyond) - check.guard_band


def _missing(case: Case, assessment: Assessment) -> Iterator[str]:
    """What a verdict that is not `replace` would need and does not have."""
    rotor = case.part.kind.is_rotor
    if case.measured.worst(case.part.kind) is None:
        yield "thickness" if rotor else "diameter"
    if case.withdrawn is not None and case.origins.caller is None:
        yield "limits_record"
    if not case.discard.basis:
        yield _MISSING_LIMIT[CheckName.DISCARD_LIMIT, rotor]
    if (assessment.needs_machining or case.finished) and not case.machining.basis:
        yield _MISSING_LIMIT[CheckName.MACHINING_LIMIT, rotor]
    if any(needs_depth(case.part, weighed) for weighed in case.weighed):
        yield "groove_depth"
    yield from (reading.value for reading in sorted(case.policy.require) if not _was_read(case, assessment, reading))
    due = case.part.instrument.calibration_due
    if case.policy.calibration_overdue is Overdue.INCONCLUSIVE and due is not None and due < case.on:
        yield "calibration_due"
    if case.policy.limits_review_due is Overdue.INCONCLUSIVE and review_is_due(case):
        yield "review_due"
    if nominal_is_missing(case):
        yield "nominal_thickness" if rotor else "nominal_diameter"


def review_is_due(case: Case) -> bool:
    """True where the record's review date has passed."""
    record = case.origins.record
    return record is not None and record.review_due is not None and record.review_due < case.on


def nominal_is_missing(case: Case) -> bool:
    """True where a law in force counts from the nominal size and nothing gives it."""
    counted = any(law.oversize is not None for law in case.laws)
    return counted and not case.origins.candidates("nominal")


def _was_read(case: Case, assessment: Assessment, reading: Reading) -> bool:
    """True where a reading that the policy requires was taken, or is none of this kind of part or stage."""
    readings, rotor = case.part.readings, case.part.kind.is_rotor
    form = {check.check: check.outcome for check in assessment.form}
    enough = case.measured.points >= case.policy.minimum_points
    spread = CheckName.THICKNESS_VARIATION if rotor else CheckName.OUT_OF_ROUND
    taken = {
        Reading.THICKNESS: not rotor or bool(readings.track),
        Reading.THICKNESS_INNER: not rotor or bool(readings.inner_track),
        Reading.THICKNESS_VARIATION: not rotor or enough or form[spread] is Outcome.FAIL,
        Reading.DIAMETER: rotor or bool(readings.track),
        Reading.DIAMETER_INNER: rotor or bool(readings.inner_track),
        Reading.OUT_OF_ROUND: rotor or enough or form[spread] is Outcome.FAIL,
        Reading.TAPER: case.measured.taper is not None,
        Reading.LATERAL_RUNOUT: not rotor or case.measured.lateral_runout is not None,
        Reading.SETUP_RUNOUT: readings.setup_runout is not None,
        Reading.GROOVE_DEPTH: groove_is_known(case.part),
        Reading.MARKING: case.part.marking is not None,
        Reading.PART_TEMPERATURE: readings.part_temperature_c is not None,
        Reading.SURFACE_ROUGHNESS: not case.finished or readings.surface_roughness is not None,
        Reading.HISTORY: bool(case.part.history),
    }
    return taken[reading]

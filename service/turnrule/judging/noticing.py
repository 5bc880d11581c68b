"""Which cautions a case calls for, beside its checks."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from turnrule.judging.assessment import Assessment, CutChecks, plan_of
from turnrule.judging.case import Case
from turnrule.judging.cautions import CautionList, shown
from turnrule.judging.cuts import Cut
from turnrule.judging.findings import needs_depth
from turnrule.judging.finished import metal_taken
from turnrule.judging.governing import marking_disagrees
from turnrule.judging.limits import Governing
from turnrule.judging.ruling import nominal_is_missing, review_is_due
from turnrule.judging.verdict import Caution, Check
from turnrule.judging.words import (
    CheckName,
    Construction,
    Face,
    LatheKind,
    Machining,
    Origin,
    Outcome,
    Reading,
    RunoutPlace,
    Zero,
)

_FORM = frozenset({CheckName.THICKNESS_VARIATION, CheckName.OUT_OF_ROUND, CheckName.LATERAL_RUNOUT, CheckName.TAPER})
_BUILT = {
    Construction.COMPOSITE: "composite_part",
    Construction.COATED: "coated_part",
    Construction.DRILLED: "drilled_or_slotted_part",
    Construction.SLOTTED: "drilled_or_slotted_part",
}


def cautions_of(case: Case, assessment: Assessment, listed: Iterable[Check]) -> tuple[Caution, ...]:
    """Every caution of one judgement, loudest first."""
    book = CautionList(case.catalogue)
    if case.limits.permission is Machining.ON_VEHICLE_ONLY and case.part.lathe is None:
        book.add("on_vehicle_lathe_only")
    about_the_record(case, book)
    about_limits(case, book, machined=assessment.needs_machining or case.finished)
    _about_readings(case, assessment, book)
    _about_findings(case, book)
    _about_instrument(case, listed, book)
    if assessment.main is not None or case.finished:
        _about_machining(case, assessment, book)
    _about_metal(case, book)
    _about_life(case, assessment, book)
    book.add("follow_service_data")
    book.add("dust_hazard")
    return book.loudest_first()


def about_the_record(case: Case, book: CautionList) -> None:
    """Whether the record may be used, and who vouches for it."""
    if case.withdrawn is not None:
        book.add("limits_withdrawn", text=case.withdrawn)
    if case.origins.record is not None and case.origins.record.by_one_person:
        book.add("entered_by_one_person")


def about_limits(case: Case, book: CautionList, *, machined: bool) -> None:
    """What the limits rest on, and which are missing; `machined` where the machining limit is needed."""
    unit, origins = case.part.unit, case.origins
    machining = case.limits.machining
    if case.part.marking is not None and marking_disagrees(case.part.marking, origins):
        known = origins.candidates("discard")[0].value
        book.add("marking_disagrees", value=shown(case.part.marking, unit), limit=shown(known, unit))
    if case.part.marking is not None and not origins.candidates("discard"):
        book.add("marking_only")
    if origins.caller is not None:
        book.add("limits_from_caller")
    derived = _derived(machining)
    if derived is not None:
        book.add("limit_derived", limit=shown(derived, unit))
    if review_is_due(case) and origins.record is not None:
        book.add("limits_review_due", date=str(origins.record.review_due))
    if not case.discard.basis:
        book.add("discard_limit_missing")
    if machined and not case.machining.basis:
        book.add("machining_limit_missing")
    for law in case.laws:
        book.add("regulation_applies", text=law.text, source=law.source)
    if nominal_is_missing(case):
        book.add("regulation_needs_nominal", text="; ".join(law.text for law in case.laws))


def _derived(machining: Governing | None) -> Decimal | None:
    """The derived machining limit, whether it governs or something stricter does."""
    if machining is None:
        return None
    values = [(machining.origin, machining.value), *((other.origin, other.value) for other in machining.others)]
    return next((value for origin, value in values if origin is Origin.DERIVED), None)


def _about_readings(case: Case, assessment: Assessment, book: CautionList) -> None:
    measured, readings = case.measured, case.part.readings
    if measured.tracks and measured.points < case.policy.minimum_points and _variation_is_open(case, assessment):
        book.add("few_points", points=str(measured.points), limit=str(case.policy.minimum_points))
    unread = _unread(case)
    if unread:
        book.add("not_measured", list=", ".join(unread))
    if measured.far_from_reference:
        book.add("part_not_at_reference_temperature", value=f"{readings.part_temperature_c:f} C")
    _about_runout(case, assessment, book)


def _variation_is_open(case: Case, assessment: Assessment) -> bool:
    """True where variation (out-of-round) was asked after, by a limit or by the policy, and is not assessed."""
    rotor = case.part.kind.is_rotor
    limit = case.limits.thickness_variation if rotor else case.limits.out_of_round
    reading = Reading.THICKNESS_VARIATION if rotor else Reading.OUT_OF_ROUND
    wanted = limit is not None or reading in case.policy.require
    return wanted and assessment.form[0].outcome is Outcome.NOT_ASSESSED


def _unread(case: Case) -> list[str]:
    """The readings of size and form that a limit or the policy asks for and that were not taken."""
    measured, require, rotor = case.measured, case.policy.require, case.part.kind.is_rotor
    unread = []
    if not measured.tracks:
        unread.append("thickness" if rotor else "diameter")
    wanted = case.limits.lateral_runout is not None or Reading.LATERAL_RUNOUT in require
    if rotor and wanted and measured.lateral_runout is None:
        unread.append("lateral runout")
    if Reading.TAPER in require and measured.taper is None:
        unread.append("taper")
    return unread


def _about_runout(case: Case, assessment: Assessment, book: CautionList) -> None:
    trued = case.measured.trued
    if not trued.known and not trued.from_trace:
        book.add("setup_runout_unknown")
    if trued.may_include_hub and case.part.readings.runout_read_on is RunoutPlace.VEHICLE:
        book.add("runout_may_include_hub")
    for check in assessment.form:
        if check.check in _FORM:
            _within_uncertainty(case, check, book)


def _within_uncertainty(case: Case, check: Check, book: CautionList) -> None:
    if check.value is None or check.limit is None or check.outcome is Outcome.NOT_ASSESSED:
        return
    if abs(check.value - check.limit) < case.uncertainty.expanded:
        unit = case.part.unit
        book.add(
            "within_uncertainty",
            check=check.check.value.replace("_", " "),
            value=shown(check.value, unit),
            limit=shown(check.limit, unit),
        )


def _about_findings(case: Case, book: CautionList) -> None:
    for weighed in case.weighed:
        book.add("finding_noted", text=weighed.rule.text)
        if needs_depth(case.part, weighed):
            book.add("finding_needs_depth", text=weighed.rule.title)


def _about_instrument(case: Case, listed: Iterable[Check], book: CautionList) -> None:
    """An overdue gauge, and every strength check that it leaves open."""
    about_calibration(case, book)
    for check in listed:
        if check.outcome is Outcome.UNPROVEN and check.value is not None and check.limit is not None:
            unit = case.part.unit
            name = check.check.value.replace("_", " ")
            book.add("near_limit", check=name, value=shown(check.value, unit), limit=shown(check.limit, unit))


def about_calibration(case: Case, book: CautionList) -> None:
    """An overdue gauge. Rule: calibration."""
    due = case.part.instrument.calibration_due
    if due is not None and due < case.on:
        book.add("calibration_overdue", date=due.isoformat())


def about_permission(case: Case, book: CautionList) -> None:
    """Whether and where the part may be machined, and what its build asks for."""
    said = case.limits.permission
    if said is Machining.NOT_STATED:
        book.add("machining_not_stated")
    if said is Machining.PROHIBITED:
        book.add("do_not_machine", source=case.limits.source or "the limits given")
    if said is Machining.ON_VEHICLE_ONLY and case.part.lathe is LatheKind.BENCH:
        book.add("on_vehicle_lathe_only")
    for limits in (case.origins.record.limits if case.origins.record else None, case.origins.caller):
        if limits is not None and limits.construction in _BUILT:
            book.add(_BUILT[limits.construction])


def _about_machining(case: Case, assessment: Assessment, book: CautionList) -> None:
    about_permission(case, book)
    if assessment.main is not None:
        _about_cut(case, assessment, assessment.main, book)
        book.add("heat_rises_with_cut")
        book.add("finish_after_machining")


def _about_cut(case: Case, assessment: Assessment, main: CutChecks, book: CautionList) -> None:
    if main.cut.zero is Zero.FIRST_CONTACT and case.part.kind.is_rotor and not case.measured.trued.from_trace:
        book.add("first_contact_without_trace")
    if assessment.least is not None:
        book.add("cut_leaves_uncut", cut=described(case, assessment.least.cut))
    if assessment.was_asked and assessment.needs_machining and _only_the_depth_fails(assessment, main):
        plan = plan_of(case)
        if plan.allowed(assessment.permitted):
            book.add("smaller_cut_possible", cut=described(case, plan.cut))


def _only_the_depth_fails(assessment: Assessment, main: CutChecks) -> bool:
    """True where the asked-for cut is refused and nothing but its depth is to blame."""
    made = () if assessment.made is None else assessment.made.outcomes
    others = (assessment.findings, assessment.discard, assessment.finished, assessment.permitted, *made)
    blamed = any(check is not None and check.outcome is Outcome.FAIL for check in others)
    return not blamed and main.allowed(assessment.permitted) is False


def described(case: Case, cut: Cut) -> str:
    """A cut in words, face by face, in the caller's unit."""
    words = {Face.INBOARD: "inboard", Face.OUTBOARD: "outboard", Face.DEPTH: "on the radius"}
    return ", ".join(f"{shown(depth, case.part.unit)} {words[face]}" for face, depth in cut.depths.items())


def _about_metal(case: Case, book: CautionList) -> None:
    """What the readings before and after machining say to each other, and to the cut that was made."""
    metal, unit = metal_taken(case), case.part.unit
    if metal is None or metal.by_least is None or metal.by_mean is None:
        return
    if metal.grew:
        book.add("part_grew", value=shown(-min(metal.by_least, metal.by_mean), unit))
    elif metal.agrees is False and metal.told is not None:
        book.add("cut_made_disagrees", value=shown(metal.by_least, unit), cut=shown(metal.told, unit))


def _about_life(case: Case, assessment: Assessment, book: CautionList) -> None:
    if assessment.life is not None and assessment.life.suspect:
        book.add("history_suspect")
    if case.policy.remaining_distance_km is not None and assessment.remaining.outcome is Outcome.NOT_ASSESSED:
        book.add("remaining_distance_unknown")

"""The verdict in words: one sentence for a customer, and what to do next."""

from __future__ import annotations

from decimal import Decimal

from turnrule.judging.assessment import Assessment
from turnrule.judging.case import Case
from turnrule.judging.cautions import shown
from turnrule.judging.noticing import described
from turnrule.judging.ruling import Decision
from turnrule.judging.verdict import Check
from turnrule.judging.words import CheckName, Kind, Outcome, Ruling

_PART = {Kind.ROTOR: "brake rotor", Kind.DRUM: "brake drum", Kind.PARKING_DRUM: "parking brake drum"}
_REASON = {
    CheckName.THICKNESS_VARIATION: "its thickness varies too much",
    CheckName.OUT_OF_ROUND: "it is out of round",
    CheckName.LATERAL_RUNOUT: "it runs out too far",
    CheckName.TAPER: "it is tapered",
    CheckName.GROOVE_DEPTH: "its grooves are too deep",
    CheckName.SURFACE_FINISH: "its surface is too rough",
}
_IN_WORDS = {
    "thickness": "the thickness",
    "diameter": "the diameter",
    "minimum_machining_thickness": "the maker's machining limit",
    "maximum_machining_diameter": "the maker's machining limit",
    "discard_thickness": "the maker's discard limit",
    "discard_diameter": "the maker's discard limit",
    "groove_depth": "how deep the damage is",
    "calibration_due": "a gauge whose calibration is not overdue",
    "limits_record": "a record of this vehicle's limits in place of the one that was withdrawn",
    "review_due": "limits whose review is not overdue",
}


def part_name(case: Case) -> str:
    """The part as a customer knows it: axle and side where they are given."""
    application, side = case.part.application, case.part.side
    words = [
        application.axle.value if application is not None else None,
        side.value if side is not None else None,
        _PART[case.part.kind],
    ]
    return " ".join(word for word in words if word)


def summary_of(case: Case, assessment: Assessment, decision: Decision) -> str:
    """One sentence that a clerk can read to a customer."""
    name = f"The {part_name(case)}"
    if decision.ruling is Ruling.SERVICEABLE:
        worst = case.measured.worst(case.part.kind)
        return f"{name} can stay in service: {_against(case, worst, assessment.discard)}."
    if decision.ruling is Ruling.MACHINE and assessment.main is not None:
        cut = assessment.least or assessment.main
        return (
            f"{name} can be machined, because {_why_machining(assessment)}; after the cut "
            f"({described(case, cut.cut)}) {_against(case, cut.cut.after, cut.machining)}."
        )
    if decision.ruling is Ruling.INCONCLUSIVE:
        return f"{name} cannot be passed yet: {_why_open(case, decision)}."
    return f"{name} must be replaced: {_why_replaced(case, assessment, decision.governing)}."


def _against(case: Case, size: Decimal | None, check: Check) -> str:
    """A size held against the limit of a check, in words."""
    unit = case.part.unit
    what = "its least thickness" if case.part.kind.is_rotor else "its greatest diameter"
    if size is None or check.limit is None:  # pragma: no cover - a passing part has both
        raise AssertionError(check)
    if size <= 0:
        return "nothing would be left of it"
    over = size - check.limit if case.part.kind.is_rotor else check.limit - size
    side = "inside" if over >= 0 else "past"
    limit = "machining limit" if check.check is CheckName.MACHINING_LIMIT else "discard limit"
    return f"{what} is {shown(size, unit)}, {shown(abs(over), unit)} {side} the {limit} of {shown(check.limit, unit)}"


def _why_machining(assessment: Assessment) -> str:
    """What asks for machining, in words."""
    reasons = [_REASON[check.check] for check in assessment.form if check.outcome is Outcome.FAIL]
    return " and ".join(reasons) if reasons else "what was seen on its face has to be cut away"


def _why_open(case: Case, decision: Decision) -> str:
    """What stands in the way of a verdict, in words."""
    parts = []
    check = decision.governing
    if check is not None and check.outcome is Outcome.UNPROVEN and check.limit is not None:
        unit = case.part.unit
        parts.append(
            f"{shown(check.value or Decimal(0), unit)} is too near the limit of {shown(check.limit, unit)} "
            f"for this gauge, which is sure to {shown(case.uncertainty.expanded, unit)}"
        )
    if decision.missing:
        names = dict.fromkeys(_IN_WORDS.get(name, name.replace("_", " ")) for name in decision.missing)
        parts.append("what is missing is " + ", ".join(names))
    return "; ".join(parts)


def _why_replaced(case: Case, assessment: Assessment, check: Check | None) -> str:
    """The check that replaces the part, in words."""
    if check is None:  # pragma: no cover - a replaced part has a failing check
        raise AssertionError
    if check.check is CheckName.FINDINGS:
        return f"of what was seen on it ({(check.reason or '').replace('_', ' ')})"
    if check.check is CheckName.MACHINING_PERMITTED:
        where = "may not be machined" if check.reason == "prohibited" else "may be machined on the vehicle only"
        return f"it would have to be machined, and it {where}"
    if check.check is CheckName.REMAINING_DISTANCE:
        return f"it would last {check.value} km, and the policy asks for {check.limit} km"
    if check.check is CheckName.DISCARD_LIMIT or check is assessment.finished:
        return _against(case, check.value, check)
    if check.check in (CheckName.TOTAL_CUT, CheckName.FACE_BALANCE):
        return _beyond_the_policy(case, assessment, check)
    return f"it would have to be machined, and after the cut {_against(case, check.value, check)}"


def _beyond_the_policy(case: Case, assessment: Assessment, check: Check) -> str:
    """A cut that breaks a bound of the policy: made already, or needed and not made yet."""
    unit = case.part.unit
    bound = shown(check.limit or Decimal(0), unit)
    if assessment.made is None or check not in assessment.made.outcomes:
        return f"it would need a cut that the policy does not allow (more than {bound})"
    what = "took" if check.check is CheckName.TOTAL_CUT else "took more off one face than off the other, by"
    return f"the cut that was made {what} {shown(check.value or Decimal(0), unit)}, and the policy allows {bound}"


def next_steps_of(case: Case, assessment: Assessment, decision: Decision) -> tuple[str, ...]:
    """What to do, in order."""
    if decision.ruling is Ruling.REPLACE:
        return (
            "Replace the part; do not refit it.",
            "Look at its partner on the same axle, and at what wore this part out.",
        )
    if decision.ruling is Ruling.INCONCLUSIVE:
        return (*_to_find_out(decision), "Do not machine or release the part until it is judged again.")
    if decision.ruling is Ruling.SERVICEABLE:
        return ("Clean the seat and the part, refit it, and check its runout on the vehicle.",)
    cut = assessment.least or assessment.main
    words = described(case, cut.cut) if cut is not None else ""
    return (
        "Clean the hub and the arbor seats, mount the part, and check that it is mounted right.",
        f"Cut no more than it takes to clean up: {words}.",
        "Measure again and ask for a verdict with stage after_machining.",
        "Give both sides of the axle the same treatment unless the policy says otherwise.",
    )


def _to_find_out(decision: Decision) -> tuple[str, ...]:
    names = dict.fromkeys(_IN_WORDS.get(name, name.replace("_", " ")) for name in decision.missing)
    steps = [f"Find out {name} and ask again." for name in names]
    check = decision.governing
    if check is not None and check.outcome is Outcome.UNPROVEN:
        steps.insert(0, "Measure again with a finer gauge, or at more places, and ask again.")
    return tuple(steps)

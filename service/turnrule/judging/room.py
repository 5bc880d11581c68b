"""The question solved backwards: how much metal may still come off, and what reading would settle it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from turnrule.judging.assessment import Assessment
from turnrule.judging.case import Case
from turnrule.judging.checks import safe_side
from turnrule.judging.governing import Strength
from turnrule.judging.lengths import on_grid
from turnrule.judging.verdict import Check, Room, Settling
from turnrule.judging.wear import worn_by
from turnrule.judging.words import CheckName, DecisionRule, LatheKind, Machining, Outcome

_STRENGTH = frozenset({CheckName.DISCARD_LIMIT, CheckName.MACHINING_LIMIT, CheckName.DISCARD_AFTER_CUT})


def room_of(case: Case, assessment: Assessment, listed: Iterable[Check]) -> Room:
    """Room in metal and in reading, whatever the verdict. Rule: room."""
    total = _most_cut(case, assessment)
    faces = Decimal(len(case.part.faces))
    return Room(
        most_total_cut=total,
        most_cut_per_face=None if total is None else total / faces,
        reading_needed=_reading_needed(case, assessment),
        settled_by=tuple(_settle(case, check) for check in listed if _undecided(check)),
    )


def _guard(case: Case) -> Decimal:
    guarded = case.policy.decision_rule is DecisionRule.GUARDED
    return case.uncertainty.expanded if guarded else Decimal(0)


def _most_cut(case: Case, assessment: Assessment) -> Decimal | None:
    """The most metal off both faces (rotor) or off the radius (drum) at which every bound still holds."""
    size, limits = case.measured.trued.clean_up, (case.machining, case.discard)
    said = case.limits.permission
    barred = said is Machining.PROHIBITED or (said is Machining.ON_VEHICLE_ONLY and case.part.lathe is LatheKind.BENCH)
    if size is None or barred or not all(limit.basis for limit in limits):
        return None
    spare = min(_beyond(size, limit) for limit in limits) - _guard(case)
    spare = min([spare, *_kept_for_life(case, assessment, size)])
    if spare < 0:
        return None
    total = spare if case.part.kind.is_rotor else spare / 2
    return total if case.policy.total_cut is None else min(total, case.policy.total_cut)


def _beyond(size: Decimal, limit: Strength) -> Decimal:
    """How far a size stays on the safe side of a limit that is known."""
    if limit.governing is None:  # pragma: no cover - a basis is a candidate, so something governs
        raise AssertionError
    return safe_side(size, limit.governing)


def _kept_for_life(case: Case, assessment: Assessment, size: Decimal) -> Iterable[Decimal]:
    """What the policy's least distance leaves to cut, where it asks for one and the wear rate is known."""
    rate = assessment.life.lost_over if assessment.life is not None else None
    distance = case.policy.remaining_distance_km
    if rate is not None and distance is not None:
        yield _beyond(size, case.discard) - worn_by(distance.to_integral_value(ROUND_CEILING), *rate)


def _reading_needed(case: Case, assessment: Assessment) -> Decimal | None:
    """The worst of today's readings, all shifted alike, at which every strength check would pass."""
    worst = case.measured.worst(case.part.kind)
    if worst is None or assessment.findings.outcome is Outcome.FAIL or not _size_can_help(assessment):
        return None
    held = [assessment.discard, *(check for cut in assessment.cuts for check in (cut.machining, cut.discard))]
    if assessment.finished is not None:
        held.append(assessment.finished)
    gaps = [gap for check in held if (gap := _gap(case, check)) is not None]
    if len(gaps) < len(held):
        return None
    return _as_read(case, worst, _guard(case) - min(gaps))


def _size_can_help(assessment: Assessment) -> bool:
    """False where something other than the size forbids what is done to the part."""
    others = []
    if assessment.needs_machining or assessment.finished is not None:
        others.append(assessment.permitted)
    if assessment.needs_machining:
        others += [check for cut in assessment.cuts for check in (cut.total, cut.balance)]
    if assessment.made is not None:
        others += assessment.made.outcomes
    return all(check.outcome is not Outcome.FAIL for check in others)


def _gap(case: Case, check: Check) -> Decimal | None:
    """How far the checked size is on the safe side of its limit; None where the limit is not whole."""
    limit = case.machining if check.check is CheckName.MACHINING_LIMIT else case.discard
    if check.value is None or limit.governing is None or not limit.basis:
        return None
    return safe_side(check.value, limit.governing)


def _as_read(case: Case, worst: Decimal, short: Decimal) -> Decimal:
    """The worst reading moved to the safe side by `short`, at the part's own temperature; exact.

    A reading is brought to 20 C on the grid, against the part: so must what is needed of it.
    """
    rotor = case.part.kind.is_rotor
    needed = worst + short if rotor else worst - short
    growth = case.measured.growth
    if growth == 1:
        return needed
    return on_grid(needed, ROUND_CEILING if rotor else ROUND_FLOOR) * growth


def _undecided(check: Check) -> bool:
    return check.check in _STRENGTH and (
        check.outcome is Outcome.UNPROVEN or (check.outcome is Outcome.NOT_ASSESSED and check.quantity is not None)
    )


def _settle(case: Case, check: Check) -> Settling:
    """What would decide this check."""
    gap = _gap(case, check)
    worst = case.measured.worst(case.part.kind)
    if gap is None or worst is None:
        return Settling(check.check, missing=_missing(case, check))
    finest = gap if gap > 0 else None
    return Settling(
        check.check,
        reading_needed=_as_read(case, worst, _guard(case) - gap),
        expanded_uncertainty_at_most=finest,
    )


def _missing(case: Case, check: Check) -> str:
    """The figure without which the check cannot be made, in the contract's names."""
    rotor = case.part.kind.is_rotor
    limit = case.machining if check.check is CheckName.MACHINING_LIMIT else case.discard
    if limit.basis:
        return "thickness" if rotor else "diameter"
    if check.check is CheckName.MACHINING_LIMIT:
        return "minimum_machining_thickness" if rotor else "maximum_machining_diameter"
    return "discard_thickness" if rotor else "discard_diameter"

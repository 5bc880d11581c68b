"""Whether a part can pay for the mount that it sits on: the limits, the cut and the guard band are a verdict's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from turnrule.judging.case import Case
from turnrule.judging.checks import machining_permitted
from turnrule.judging.cuts import Cut, asked, planned
from turnrule.judging.lathe_words import Missing
from turnrule.judging.limits import Governing
from turnrule.judging.mounting import MountCheck
from turnrule.judging.mounting_cost import Affordance, afford
from turnrule.judging.parts import Part
from turnrule.judging.words import DecisionRule, Face, Outcome


@dataclass(frozen=True, slots=True)
class Affording:
    """The cut that is to be made and what it leaves, mounted right and as the part sits now; lengths in mm.

    `clean_up` is the size that is true before any cut once the part is mounted right; `cost` is None where that or
    the mount's runout is not known. `permitted` is what the limits say of machining the part on this lathe.
    """

    clean_up: Decimal | None
    cut: dict[Face, Decimal]
    asked: bool
    machining: Governing | None
    discard: Governing | None
    guard: Decimal
    permitted: bool
    cost: Affordance | None
    missing: tuple[Missing, ...]

    @property
    def affordable(self) -> bool | None:
        """Whether the part may be cut as it sits; None where that cannot be told."""
        if not self.permitted:
            return False
        return None if self.cost is None else self.cost.affordable_as_mounted


def mounted_right(part: Part, mounting: MountCheck | None) -> Part:
    """The part with its own runout alone, as far as the readings of the mount told it apart.

    The part's own trace goes along where the sizes were read at as many places: both begin at the part's mark.
    """
    if mounting is None or mounting.part is None:
        return part
    form = mounting.form
    trace: tuple[Decimal, ...] = ()
    own = mounting.part.runout if form is None else form.runout
    if form is not None and part.kind.is_rotor and len(form.trace) == len(part.readings.track):
        trace = form.trace
    readings = replace(part.readings, setup_runout=own, lateral_runout=own, runout_trace=trace)
    return replace(part, readings=readings)


def affording_of(case: Case, mounting: MountCheck) -> Affording:
    """Whether the part of this case, mounted right, would afford its cut, and whether it does as it sits.

    What only policy or law name can refuse a cut and never allow it, as in a verdict. Rule: mount_cost.
    """
    part = case.part
    cut = planned(part, case.measured, case.policy) if part.cut is None else asked(part, case.measured, part.cut)
    clean_up = case.measured.trued.clean_up
    cost = _cost(case, cut, _told(case, mounting))
    known = mounting.metal_cost is not None
    missing = [] if clean_up is not None else [Missing.THICKNESS if part.kind.is_rotor else Missing.DIAMETERS]
    if not known:
        missing.append(Missing.MOUNT_RUNOUT)
    if not _whole(case):
        missing.append(Missing.LIMITS)
    if not missing and cost is not None and cost.affordable_as_mounted is None:
        missing.append(Missing.FINER_READING)
    return Affording(
        clean_up=clean_up if known else None,
        cut=cut.depths,
        asked=part.cut is not None,
        machining=case.limits.machining,
        discard=case.limits.discard,
        guard=guard_of(case),
        permitted=machining_permitted(case).outcome is Outcome.PASS,
        cost=cost,
        missing=tuple(missing),
    )


def guard_of(case: Case) -> Decimal:
    """What the decision rule keeps between a size and its limit (mm)."""
    return case.uncertainty.expanded if case.policy.decision_rule is DecisionRule.GUARDED else Decimal(0)


def least_left(case: Case) -> Decimal | None:
    """The thickness that must be left of a rotor (mm); None where a limit that it takes is not known."""
    if not _whole(case):
        return None
    return max(limit.value for limit in _strengths(case)) + guard_of(case)


def _whole(case: Case) -> bool:
    """True where both strength limits rest on a record, a marking or the caller."""
    return case.machining.basis and case.discard.basis


def _strengths(case: Case) -> list[Governing]:
    """The strength limits that are known."""
    return [limit for limit in (case.limits.machining, case.limits.discard) if limit is not None]


@dataclass(frozen=True, slots=True)
class _Told:
    """The size that is true once the part is mounted right, and the runout of its mount, each with its U (mm)."""

    clean_up: Decimal
    doubt: Decimal
    runout: Decimal
    runout_doubt: Decimal


def _told(case: Case, mounting: MountCheck) -> _Told | None:
    """None where the size or either runout is not known."""
    clean_up, runout = case.measured.trued.clean_up, mounting.metal_cost
    doubt, runout_doubt = mounting.part_uncertainty, mounting.mount_uncertainty
    if clean_up is None or runout is None or doubt is None or runout_doubt is None:
        return None
    return _Told(clean_up, doubt, runout, runout_doubt)


def _cost(case: Case, cut: Cut, told: _Told | None) -> Affordance | None:
    """What the cut leaves, by the runouts as told; what it affords, only where their uncertainty does not matter."""
    if told is None:
        return None
    best_runout = max(Decimal(0), told.runout - told.runout_doubt)
    against = Decimal(-1) if case.part.kind.is_rotor else Decimal(1)
    middle = _afford(case, cut, told.clean_up, told.runout)
    worst = _afford(case, cut, told.clean_up + against * told.doubt, told.runout + told.runout_doubt)
    best = _afford(case, cut, told.clean_up - against * told.doubt, best_runout)
    whole = _whole(case)
    return replace(
        middle,
        affordable_mounted_right=_sure(worst.affordable_mounted_right, best.affordable_mounted_right, whole=whole),
        affordable_as_mounted=_sure(worst.affordable_as_mounted, best.affordable_as_mounted, whole=whole),
        most_mount_runout=worst.most_mount_runout if whole else None,
    )


def _afford(case: Case, cut: Cut, clean_up: Decimal, runout: Decimal) -> Affordance:
    taken = cut.total if case.part.kind.is_rotor else 2 * cut.total
    if clean_up <= 0:
        # A part that is smaller than it wobbles has nothing true inside it.
        return Affordance(clean_up - taken, clean_up - taken - runout, False, False, None)
    limits = [limit.value for limit in _strengths(case)]
    return afford(
        case.part.kind, clean_up=clean_up, cut=taken, mount_runout=runout, limits=limits, guard=guard_of(case)
    )


def _sure(worst: bool | None, best: bool | None, *, whole: bool) -> bool | None:  # noqa: FBT001 - three answers
    """True where even the worst would do and no limit is wanting, False where even the best would not."""
    if best is False:
        return False
    return True if worst and whole else None

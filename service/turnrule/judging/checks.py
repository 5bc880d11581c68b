"""The checks, each on its own: what is held against which limit, and what comes of it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from turnrule.judging.case import Case
from turnrule.judging.cuts import Cut, groove_is_known, grooves_of
from turnrule.judging.governing import Strength
from turnrule.judging.limits import Governing
from turnrule.judging.part_life import PartLife
from turnrule.judging.uncertainty import conformity
from turnrule.judging.verdict import Check
from turnrule.judging.words import (
    CheckName,
    DecisionRule,
    Effect,
    LatheKind,
    Machining,
    Origin,
    Outcome,
    Sense,
)

FINISH_FIGURE = "greatest_surface_roughness"
"""The practice figure that a finished face is held against."""


def strength(case: Case, name: CheckName, quantity: str, value: Decimal | None, limit: Strength) -> Check:
    """A size against the discard or machining limit, with the guard band where the policy guards.

    A limit without a basis (only policy or law name it) can fail the part and never pass it. Rule: guard_band.
    """
    governing = limit.governing
    if value is None or governing is None:
        lacking = "no size was read" if value is None else "no such limit is known for this part"
        return Check(name, Outcome.NOT_ASSESSED, quantity, value=value, reason=lacking)
    beyond = safe_side(value, governing)
    guard = case.uncertainty.expanded if case.policy.decision_rule is DecisionRule.GUARDED else Decimal(0)
    reason = None
    if beyond < 0:
        outcome = Outcome.FAIL
    elif not limit.basis:
        outcome = Outcome.NOT_ASSESSED
        reason = "only the policy or the law names a limit here: it can fail the part but not pass it"
    else:
        outcome = Outcome.UNPROVEN if beyond < guard else Outcome.PASS
    return _held(case, name, quantity, value, governing, outcome, guard=guard, reason=reason)


def form(case: Case, name: CheckName, value: Decimal | None, limit: Governing | None, *, enough: bool = True) -> Check:
    """A figure of form against its greatest value, by the simple rule; `enough` tells whether it may pass."""
    quantity = name.value
    if value is None or limit is None:
        reason = "not read" if value is None else "no limit is known for this part"
        return Check(name, Outcome.NOT_ASSESSED, quantity, value=value, reason=reason)
    beyond = safe_side(value, limit)
    if beyond >= 0 and not enough:
        reason = f"fewer than {case.policy.minimum_points} readings on a track"
        return _held(case, name, quantity, value, limit, Outcome.NOT_ASSESSED, reason=reason)
    outcome = Outcome.PASS if beyond >= 0 else Outcome.FAIL
    return _held(case, name, quantity, value, limit, outcome)


def safe_side(value: Decimal, limit: Governing) -> Decimal:
    """How far a figure stays on the safe side of its limit; negative when past it."""
    return value - limit.value if limit.sense is Sense.AT_LEAST else limit.value - value


def _held(
    case: Case,
    name: CheckName,
    quantity: str,
    value: Decimal,
    limit: Governing,
    outcome: Outcome,
    *,
    guard: Decimal = Decimal(0),
    reason: str | None = None,
) -> Check:
    """A check of a length against a governing limit, with its probability of conformity."""
    return Check(
        name,
        outcome,
        quantity,
        value=value,
        limit=limit.value,
        sense=limit.sense,
        guard_band=guard,
        probability=conformity(safe_side(value, limit), case.uncertainty),
        origin=limit.origin,
        source=limit.source,
        reason=reason,
    )


def findings(case: Case) -> Check:
    """Fails where a finding replaces the part by itself."""
    bad = case.having(Effect.REPLACE)
    codes = [weighed.finding.code for weighed in (bad or case.weighed)]
    by_policy = any(weighed.raised for weighed in bad)
    return Check(
        CheckName.FINDINGS,
        Outcome.FAIL if bad else Outcome.PASS,
        "findings",
        origin=(Origin.POLICY if by_policy else Origin.CATALOGUE) if bad else None,
        source=(case.policy.source if by_policy else bad[0].rule.source) if bad else None,
        reason=", ".join(codes) if codes else "none reported",
        measure=None,
    )


def discard(case: Case) -> Check:
    """The least thickness (greatest diameter) as measured, against the discard limit."""
    worst = case.measured.worst(case.part.kind)
    return strength(case, CheckName.DISCARD_LIMIT, worst_name(case), worst, case.discard)


def worst_name(case: Case) -> str:
    """What the size nearest its limit is called."""
    return "least_thickness" if case.part.kind.is_rotor else "greatest_diameter"


def asks_for_machining(case: Case) -> tuple[Check, ...]:
    """The checks of form and surface, each of which asks for machining when it fails."""
    measured, limits = case.measured, case.limits
    enough = measured.points >= case.policy.minimum_points
    checks = []
    if case.part.kind.is_rotor:
        checks.append(
            form(
                case,
                CheckName.THICKNESS_VARIATION,
                measured.variation,
                limits.thickness_variation,
                enough=enough,
            )
        )
        checks.append(form(case, CheckName.LATERAL_RUNOUT, measured.lateral_runout, limits.lateral_runout))
    else:
        checks.append(form(case, CheckName.OUT_OF_ROUND, measured.variation, limits.out_of_round, enough=enough))
    checks.append(form(case, CheckName.TAPER, measured.taper, limits.taper))
    deepest = max(grooves_of(case.part).values()) if groove_is_known(case.part) else None
    checks.append(form(case, CheckName.GROOVE_DEPTH, deepest, limits.groove_depth))
    if case.finished:
        checks.append(surface_finish(case))
    return tuple(checks)


def surface_finish(case: Case) -> Check:
    """The finished face's roughness Ra against the practice figure.

    It is read with another gauge than the sizes, so no probability goes with it.
    """
    figure = case.catalogue.practice[FINISH_FIGURE]
    limit = Governing(figure.value, Origin.PRACTICE, figure.source, Sense.AT_MOST)
    held = form(case, CheckName.SURFACE_FINISH, case.part.readings.surface_roughness, limit)
    return replace(held, probability=None)


def machining_permitted(case: Case) -> Check:
    """Fails where the record prohibits machining, or allows it on the vehicle only and a bench lathe is named."""
    said = case.limits.permission
    wrong_lathe = said is Machining.ON_VEHICLE_ONLY and case.part.lathe is LatheKind.BENCH
    fails = said is Machining.PROHIBITED or wrong_lathe
    return Check(
        CheckName.MACHINING_PERMITTED,
        Outcome.FAIL if fails else Outcome.PASS,
        "machining",
        source=case.limits.source,
        reason=said.value,
        measure=None,
    )


def after_cut(case: Case, cut: Cut, quantity: str) -> tuple[Check, Check]:
    """The size that a cut leaves, against the machining limit and against the discard limit."""
    return (
        strength(case, CheckName.MACHINING_LIMIT, quantity, cut.after, case.machining),
        strength(case, CheckName.DISCARD_AFTER_CUT, quantity, cut.after, case.discard),
    )


def by_policy(
    case: Case, name: CheckName, value: Decimal | None, limit: Decimal | None, quantity: str | None = None
) -> Check:
    """A length that only the policy bounds from above; not assessed where it sets no bound or there is no cut."""
    quantity = name.value if quantity is None else quantity
    if limit is None or value is None:
        reason = "the policy sets no bound" if limit is None else "no cut is judged"
        return Check(name, Outcome.NOT_ASSESSED, quantity, value=value, reason=reason)
    return Check(
        name,
        Outcome.PASS if value <= limit else Outcome.FAIL,
        quantity,
        value=value,
        limit=limit,
        sense=Sense.AT_MOST,
        origin=Origin.POLICY,
        source=case.policy.source,
    )


def remaining_distance(case: Case, life: PartLife | None) -> Check:
    """The distance left, as estimated, against the least one that the policy asks for (km)."""
    name, limit = CheckName.REMAINING_DISTANCE, case.policy.remaining_distance_km
    kilometres = life.life.left_km if life is not None else None
    disputed = life is not None and life.disputed
    if limit is None or kilometres is None or disputed:
        reason = "today's reading contradicts earlier ones" if disputed else "the wear rate is not known"
        reason = "the policy asks for none" if limit is None else reason
        return Check(name, Outcome.NOT_ASSESSED, name.value, value=kilometres, reason=reason, measure="km")
    return Check(
        name,
        Outcome.PASS if kilometres >= limit else Outcome.FAIL,
        name.value,
        value=kilometres,
        limit=limit,
        sense=Sense.AT_LEAST,
        origin=Origin.POLICY,
        source=case.policy.source,
        measure="km",
    )


def measurement_points(case: Case) -> Check:
    """The readings on the shortest track against the policy's least number."""
    name = CheckName.MEASUREMENT_POINTS
    return Check(
        name,
        Outcome.PASS if case.measured.points >= case.policy.minimum_points else Outcome.FAIL,
        "readings_per_track",
        value=Decimal(case.measured.points),
        limit=Decimal(case.policy.minimum_points),
        sense=Sense.AT_LEAST,
        origin=Origin.POLICY,
        source=case.policy.source,
        measure="points",
    )


def axle_difference() -> Check:
    """One part alone has no partner to differ from."""
    return Check(
        CheckName.AXLE_DIFFERENCE,
        Outcome.NOT_ASSESSED,
        CheckName.AXLE_DIFFERENCE.value,
        reason="one part is judged, not an axle",
    )

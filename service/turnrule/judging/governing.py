"""Which limit governs: every candidate is gathered, the strictest one wins, the others stay in the trace."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.catalogue import Regulation
from turnrule.judging.limits import Candidate, Governing, LimitSet, Record
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Limits
from turnrule.judging.words import Binds, Kind, Machining, Origin, Sense

MARKING_TOLERANCE = Decimal("0.05")
"""A marking and a recorded discard limit further apart than this (mm) disagree."""

_MARKING_SOURCE = "marking on the part"
_CALLER_SOURCE = "limits given in the request"


@dataclass(frozen=True, slots=True)
class Strength:
    """A strength limit and whether it is whole: where `basis` is false, it can fail a part but never pass it."""

    governing: Governing | None
    basis: bool


@dataclass(frozen=True, slots=True)
class Origins:
    """The two sets of figures that a judgement starts from."""

    record: Record | None
    caller: LimitSet | None

    def candidates(self, figure: str) -> list[Candidate]:
        """The record's and the caller's value of one figure of `LimitSet`, where they give it."""
        found = []
        if self.record is not None and (value := getattr(self.record.limits, figure)) is not None:
            found.append(Candidate(value, Origin.REFERENCE, self.record.source))
        if self.caller is not None and (value := getattr(self.caller, figure)) is not None:
            found.append(Candidate(value, Origin.CALLER, _CALLER_SOURCE))
        return found


def strictest(candidates: Iterable[Candidate], sense: Sense) -> Governing | None:
    """The strictest candidate, the first of equals; None when there is none. Rule: governing_limit."""
    listed = list(candidates)
    if not listed:
        return None
    pick = max if sense is Sense.AT_LEAST else min
    winner = pick(listed, key=lambda candidate: candidate.value)
    others = list(listed)
    others.remove(winner)
    return Governing(winner.value, winner.origin, winner.source, sense, tuple(others))


def tightened(value: Decimal, by: Decimal, kind: Kind) -> Decimal:
    """A strength limit moved to its safe side: thicker for a rotor, smaller for a drum."""
    return value + by if kind.is_rotor else value - by


def strength_sense(kind: Kind) -> Sense:
    """A rotor's strength limits are least values, a drum's greatest."""
    return Sense.AT_LEAST if kind.is_rotor else Sense.AT_MOST


def discard_limit(part: Part, origins: Origins, policy: Policy, laws: Iterable[Regulation]) -> Strength:
    """Reference, caller, marking; each with the policy's margin; what the law says of use."""
    found = origins.candidates("discard")
    if part.marking is not None:
        found.append(Candidate(part.marking, Origin.MARKING, _MARKING_SOURCE))
    basis = bool(found)
    if policy.discard_margin > 0:
        found += [
            Candidate(tightened(c.value, policy.discard_margin, part.kind), Origin.POLICY, policy.source) for c in found
        ]
    found += _by_law(part.kind, origins, laws, {Binds.USE, Binds.BOTH})
    return Strength(strictest(found, strength_sense(part.kind)), basis)


def machining_limit(
    part: Part, origins: Origins, policy: Policy, laws: Iterable[Regulation], discard: Strength
) -> Strength:
    """Reference and caller, with the policy's margin; the governing discard limit with its wear allowance; the law.

    Where neither the record nor the caller gives one, the limit is derived if the policy allows it; else what
    policy and law ask for is still held against the part, but proves nothing in its favour.
    """
    found = origins.candidates("machining")
    basis = bool(found)
    if policy.machining_margin > 0:
        found += [
            Candidate(tightened(c.value, policy.machining_margin, part.kind), Origin.POLICY, policy.source)
            for c in found
        ]
    if discard.governing is not None:
        floor = tightened(discard.governing.value, policy.wear_allowance, part.kind)
        if not basis and discard.basis and policy.derive_machining_limit:
            found.append(Candidate(floor, Origin.DERIVED, policy.source))
            basis = True
        elif policy.wear_allowance > 0:
            found.append(Candidate(floor, Origin.POLICY, policy.source))
    found += _by_law(part.kind, origins, laws, {Binds.MACHINING, Binds.BOTH})
    return Strength(strictest(found, strength_sense(part.kind)), basis)


def _by_law(kind: Kind, origins: Origins, laws: Iterable[Regulation], binding: set[Binds]) -> list[Candidate]:
    """Nominal plus the oversize of each law that binds here; the smallest nominal where two are known.

    Rule: regulation.
    """
    nominals = origins.candidates("nominal")
    if not nominals:
        return []
    nominal = min(candidate.value for candidate in nominals)
    return [
        Candidate(nominal + law.oversize, Origin.REGULATION, law.source)
        for law in laws
        if law.oversize is not None and law.binds in binding and kind in law.kinds
    ]


def form_limit(origins: Origins, figure: str, maximum: Decimal | None, policy: Policy) -> Governing | None:
    """A greatest value of form: the record's, the caller's, the policy's maximum."""
    found = origins.candidates(figure)
    if maximum is not None:
        found.append(Candidate(maximum, Origin.POLICY, policy.source))
    return strictest(found, Sense.AT_MOST)


def permission(origins: Origins) -> Machining:
    """The stricter of what the record and the caller say of machining; `not_stated` where neither does."""
    order = (Machining.PERMITTED, Machining.ON_VEHICLE_ONLY, Machining.PROHIBITED)
    said = [
        limits.permission
        for limits in (origins.record.limits if origins.record else None, origins.caller)
        if limits is not None and limits.permission is not Machining.NOT_STATED
    ]
    return max(said, key=order.index) if said else Machining.NOT_STATED


def all_limits(part: Part, origins: Origins, policy: Policy, discard: Strength, machining: Strength) -> Limits:
    """Every governing limit of a part."""
    rotor = part.kind.is_rotor
    record = origins.record
    groove = Governing(policy.groove_limit, Origin.POLICY, policy.source, Sense.AT_MOST)
    return Limits(
        discard=discard.governing,
        machining=machining.governing,
        lateral_runout=(
            form_limit(origins, "maximum_lateral_runout", policy.maximum_runout, policy) if rotor else None
        ),
        thickness_variation=(
            form_limit(origins, "maximum_thickness_variation", policy.maximum_thickness_variation, policy)
            if rotor
            else None
        ),
        out_of_round=(
            None if rotor else form_limit(origins, "maximum_out_of_round", policy.maximum_out_of_round, policy)
        ),
        taper=form_limit(origins, "maximum_taper", policy.maximum_taper, policy),
        groove_depth=groove,
        permission=permission(origins),
        limits_id=record.limits_id if record else None,
        revision=record.revision if record else None,
        source=record.source if record else None,
    )


def marking_disagrees(marking: Decimal, origins: Origins) -> bool:
    """True where the marking and a recorded (or the caller's) discard limit are further apart than 0.05 mm."""
    return any(abs(candidate.value - marking) > MARKING_TOLERANCE for candidate in origins.candidates("discard"))

"""One side of an axle by itself: what its verdict does with it, the size that it ends at, how far it can be cut.

Sizes in mm: thickness of a rotor, diameter of a drum.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from turnrule.judging.checks import safe_side
from turnrule.judging.cuts import planned
from turnrule.judging.parts import Part
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.readings import measure
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, DecisionRule, Face, LatheKind, Machining, Origin, Outcome, Ruling, Zero

_ASKING = frozenset(
    {
        CheckName.THICKNESS_VARIATION,
        CheckName.LATERAL_RUNOUT,
        CheckName.OUT_OF_ROUND,
        CheckName.TAPER,
        CheckName.GROOVE_DEPTH,
        CheckName.SURFACE_FINISH,
    }
)
_NO_ROOM, _UNBOUNDED = Decimal(-1), Decimal("Infinity")
_WHOLE_BASIS = frozenset({Origin.REFERENCE, Origin.CALLER, Origin.DERIVED})


@dataclass(frozen=True, slots=True)
class AxleSide:
    """A part with the verdict on it, and the size of the new part that would take its place, where that is known."""

    part: Part
    verdict: Verdict
    new_size: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """How a side stands at one step of the pair's rules; `cut` is what is taken off it in the end, if anything."""

    given: AxleSide
    ruling: Ruling
    size: Decimal | None
    cut: Mapping[Face, Decimal] | None = None
    reasons: tuple[PairReason, ...] = ()

    @property
    def sense(self) -> int:
        """1 where more size is more metal (rotor), -1 where it is less (drum)."""
        return 1 if self.given.part.kind.is_rotor else -1

    @property
    def per_cut(self) -> int:
        """How much size one millimetre of cut takes: a cut counts twice on a drum's diameter."""
        return 1 if self.given.part.kind.is_rotor else 2

    def worse(self, ruling: Ruling, *reasons: PairReason) -> Standing:
        """The same side with a worse ruling; a part that is replaced ends at the size of a new one."""
        known = tuple(dict.fromkeys((*self.reasons, *reasons)))
        if ruling is Ruling.REPLACE:
            return replace(self, ruling=ruling, size=self.given.new_size, cut=None, reasons=known)
        return replace(self, ruling=ruling, reasons=known)


def standing_of(side: AxleSide) -> Standing:
    """The side as its own verdict leaves it.

    It ends at the size after its cut where it is machined, or where it needs no cut but one was asked for and may be
    made; else at its size as measured.
    """
    verdict = side.verdict
    if verdict.ruling is Ruling.REPLACE:
        return Standing(side, Ruling.REPLACE, side.new_size)
    cut, figures = verdict.cut, verdict.figures
    taken = cut is not None and (verdict.ruling is Ruling.MACHINE or (cut.allowed is True and any(cut.depths.values())))
    if cut is None or not taken:
        worst = figures.least if side.part.kind.is_rotor else figures.greatest
        return Standing(side, verdict.ruling, worst)
    if cut.least_cleaning is not None and verdict.ruling is Ruling.MACHINE:
        return Standing(side, verdict.ruling, _after_least(verdict), cut.least_cleaning)
    return Standing(side, verdict.ruling, figures.after_cut, cut.depths)


def uncut(side: Standing) -> Standing:
    """A side that needs no cut, as it is measured: without the one that was asked for all the same."""
    figures = side.given.verdict.figures
    worst = figures.least if side.given.part.kind.is_rotor else figures.greatest
    return replace(side, size=worst, cut=None, reasons=(*side.reasons, PairReason.ASKED_CUT_LEFT_OUT))


def at_best(side: Standing) -> Standing:
    """An open side as it stands if all that is open about it turns out well: machined where it needs that, else kept.

    What even this makes impossible is not open.
    """
    verdict = side.given.verdict
    if verdict.ruling is not Ruling.INCONCLUSIVE:
        return standing_of(side.given)
    failed = any(check.check in _ASKING and check.outcome is Outcome.FAIL for check in verdict.checks)
    needs = verdict.cut is not None and (failed or not verdict.cut.asked)
    best = replace(verdict, ruling=Ruling.MACHINE if needs else Ruling.SERVICEABLE)
    return replace(standing_of(replace(side.given, verdict=best)), given=side.given)


def _after_least(verdict: Verdict) -> Decimal | None:
    """The size after the least cut that cleans up, which is the one that is made where the asked one falls short."""
    return next(
        check.value for check in verdict.checks if check.quantity is not None and check.quantity.endswith("_least_cut")
    )


def machined(side: Standing, policy: Policy) -> Standing | None:
    """The side after the least cut of good practice; as it stands where it is cut already; None without room for it.

    Whether there is room is for the caller to see where that is not known.
    A cut that was asked for and is shallower on some face, or leaves places uncut, is deepened to the least one.
    """
    asked = side.given.verdict.cut
    if side.ruling is Ruling.MACHINE:
        return side
    depths = least_cut(side.given.part, policy)
    if side.cut is not None and asked is not None:
        if asked.cleans_up and all(side.cut[face] >= depth for face, depth in depths.items()):
            return side
        if asked.zero is Zero.THINNEST_POINT:
            depths = {face: max(depth, side.cut[face]) for face, depth in depths.items()}
    room, clean_up = most_room(side, policy), side.given.verdict.figures.clean_up
    if room < 0:
        return None
    if clean_up is None:
        return replace(side, size=None, cut=depths)
    for cut in (depths, _asked_and_cleaning(side)):
        total = sum(cut.values(), Decimal(0))
        if cut and total <= room:
            return replace(side, size=clean_up - side.sense * side.per_cut * total, cut=cut)
    return None


def _asked_and_cleaning(side: Standing) -> Mapping[Face, Decimal]:
    """The cut that was asked for, or the least one that cleans up: whoever asks may cut less than usual."""
    cut = side.given.verdict.cut
    if cut is None or not cut.asked or cut.zero is not Zero.THINNEST_POINT:
        return {}
    return cut.depths if cut.least_cleaning is None else cut.least_cleaning


def least_cut(part: Part, policy: Policy) -> dict[Face, Decimal]:
    """The depths of the least cut of good practice; they rest on grooves and policy, not on sizes."""
    measured = measure(part, expansion_per_k=None, lathe=LatheKind.BENCH)
    return planned(part, measured, policy).depths


def room_is_known(side: Standing) -> bool:
    """True where it can be told whether there is room for a cut: a size, a whole machining limit and a discard limit.

    Where machining is barred there is no room, and that is known.
    """
    limits, figures = side.given.verdict.limits, side.given.verdict.figures
    lathe = side.given.part.lathe
    if limits.permission is Machining.PROHIBITED:
        return True
    if limits.permission is Machining.ON_VEHICLE_ONLY and lathe is LatheKind.BENCH:
        return True
    if figures.clean_up is None or limits.machining is None or limits.discard is None:
        return False
    origins = {limits.machining.origin, *(other.origin for other in limits.machining.others)}
    return bool(origins & _WHOLE_BASIS)


def most_room(side: Standing, policy: Policy) -> Decimal:
    """The most metal that a cut may take off; below 0 where there can be no cut at all.

    Where the room is not known, what the limits that are known leave: no whole limit can leave more. Infinite where
    nothing bounds it.
    """
    verdict = side.given.verdict
    if room_is_known(side):
        room = verdict.room.most_total_cut
        return _NO_ROOM if room is None else room
    size = verdict.figures.clean_up
    held = [limit for limit in (verdict.limits.machining, verdict.limits.discard) if limit is not None]
    guard = verdict.margins.guard_band if policy.decision_rule is DecisionRule.GUARDED else Decimal(0)
    bounds = [] if policy.total_cut is None else [policy.total_cut]
    bounds += [] if size is None else [(safe_side(size, limit) - guard) / side.per_cut for limit in held]
    return min(bounds, default=_UNBOUNDED)


def matched(side: Standing, target: Decimal, policy: Policy) -> Standing | None:
    """The side cut down to the size `target` or, where the least cut takes it further, to that; None without room.

    What is taken beyond a cut that it gets anyway comes off its faces in equal parts.
    """
    start, clean_up = machined(side, policy), side.given.verdict.figures.clean_up
    if start is None or start.cut is None or start.size is None or clean_up is None:
        return start
    excess = max(side.sense * (start.size - target), Decimal(0)) / side.per_cut
    share = excess / len(start.cut)
    size = start.size - side.sense * side.per_cut * excess
    if side.sense * (clean_up - size) > side.per_cut * most_room(side, policy):
        return None
    return replace(start, size=size, cut={face: depth + share for face, depth in start.cut.items()})

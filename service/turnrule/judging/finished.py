"""The finished part: the cut that was made, by the policy's own bounds, and the metal taken by the two readings."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging import checks
from turnrule.judging.case import Case
from turnrule.judging.cuts import Cut
from turnrule.judging.parts import BeforeMachining
from turnrule.judging.uncertainty import expanded_uncertainty
from turnrule.judging.verdict import Check, MetalTaken
from turnrule.judging.words import CheckName, Face, Zero


@dataclass(frozen=True, slots=True)
class MadeCut:
    """The cut that was made, held against the policy's bounds. Rule: cut_made.

    Where it breaks one the part is replaced, as it would have been by the same cut asked for beforehand: metal is not
    put back, and a milder ruling would let a cut pass once made that was refused before. No ruling is worse, so that a
    tighter bound never gets a part a better verdict.
    """

    depths: dict[Face, Decimal]
    total: Check
    balance: Check

    @property
    def outcomes(self) -> tuple[Check, Check]:
        """The two checks, in the order of the rules."""
        return (self.total, self.balance)


def made_cut(case: Case) -> MadeCut | None:
    """The cut that the finished part was given, judged; None where it is not told."""
    cut = _as_cut(case)
    if cut is None:
        return None
    policy = case.policy
    return MadeCut(
        cut.depths,
        checks.by_policy(case, CheckName.TOTAL_CUT, cut.total, policy.total_cut, "total_cut_made"),
        checks.by_policy(case, CheckName.FACE_BALANCE, cut.imbalance, policy.face_balance, "face_balance_made"),
    )


def _as_cut(case: Case) -> Cut | None:
    made = case.part.cut_made
    if made is None:
        return None
    given = {Face.INBOARD: made.inboard, Face.OUTBOARD: made.outboard, Face.DEPTH: made.depth}
    return Cut({face: given[face] or Decimal(0) for face in case.part.faces}, Zero.THINNEST_POINT, None)


def metal_taken(case: Case) -> MetalTaken | None:
    """What the two readings say was taken, held against the cut that was made. Rule: metal_taken.

    A cut takes its depths at the thinnest place, and what truing the part costs besides; the two readings tell of the
    thinnest place and of the mean. They agree where these two ranges meet, within both gauges together (JCGM 100,
    5.1.2). None where neither the cut made nor the verdict before is given.
    """
    cut, before = _as_cut(case), case.part.before
    if cut is None and before is None:
        return None
    depths = cut.depths if cut is not None else None
    told = None if cut is None else cut.total if case.part.kind.is_rotor else 2 * cut.total
    by_least, by_mean = _losses(case, before)
    if before is None or by_least is None or by_mean is None:
        return MetalTaken(depths, told, before)
    both = expanded_uncertainty(Decimal(0), before.expanded, case.uncertainty.expanded / 2)
    low, high = min(by_least, by_mean), max(by_least, by_mean)
    truing = _truing(case, before)
    agrees = None if told is None else told - both <= high and low <= told + truing + both
    return MetalTaken(depths, told, before, by_least, by_mean, truing, both, agrees=agrees, grew=low < -both)


def _losses(case: Case, before: BeforeMachining | None) -> tuple[Decimal | None, Decimal | None]:
    """How much smaller the worst size and the mean have become since before machining (of a drum: greater)."""
    measured, sign = case.measured, 1 if case.part.kind.is_rotor else -1
    worst = measured.worst(case.part.kind)
    if before is None or before.worst is None or before.mean is None or worst is None or measured.mean is None:
        return None, None
    return sign * (before.worst - worst), sign * (before.mean - measured.mean)


def _truing(case: Case, before: BeforeMachining) -> Decimal:
    """What it cost to true the part, by the verdict before machining; 0 where that did not know."""
    if before.clean_up is None or before.worst is None:
        return Decimal(0)
    sign = 1 if case.part.kind.is_rotor else -1
    return sign * (before.worst - before.clean_up)

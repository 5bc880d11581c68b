"""The two parts of an axle, judged together: the difference after their cuts, and the policy's pair rule.

Neither part ever comes out better than by itself, and a stricter pair rule never makes anything better: the rules are
applied from the mildest up to the policy's own, and each can only raise a ruling.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.axle_level import Pair, levelled, other_side
from turnrule.judging.axle_sides import AxleSide, Standing, at_best, machined, room_is_known, standing_of
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lengths import EXACT
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Check
from turnrule.judging.words import Face, PairRule, Ruling, Side

_PASSED = frozenset({Ruling.SERVICEABLE, Ruling.MACHINE})


@dataclass(frozen=True, slots=True)
class SideRuling:
    """What is done with one side in the end, beside what its own verdict says; `reasons` tell why the two differ.

    `cut` and `size` (mm) are what is taken off it and where it ends; None where it is not cut, or the size not known.
    """

    side: Side
    own: Ruling
    ruling: Ruling
    reasons: tuple[PairReason, ...]
    cut: dict[Face, Decimal] | None
    size: Decimal | None

    @property
    def passed_itself(self) -> bool:
        """True where the part by itself may stay in service, as it is or machined."""
        return self.own in _PASSED

    @property
    def because_of_partner(self) -> bool:
        """True where the part by itself would have come out better."""
        return self.ruling is not self.own


@dataclass(frozen=True, slots=True)
class AxleVerdict:
    """The judgement of an axle: the worse of its sides, and never passed while a side is not measured.

    `checks` holds the difference at each step at which it was another one; the last is how the sides end.
    """

    ruling: Ruling
    left: SideRuling | None
    right: SideRuling | None
    checks: tuple[Check, ...]
    missing: tuple[Side, ...]
    pair_rule: PairRule


def judge_axle(left: AxleSide | None, right: AxleSide | None, policy: Policy) -> AxleVerdict:
    """The judgement of two parts that were judged by themselves under this policy; None is a side not measured.

    A side that is replaced however well all that is open about the axle turns out is replaced now. Raises `PartError`
    where the two cannot be a pair. Rule: axle_difference.
    """
    faults = tuple(faults_of_axle(left, right))
    if faults:
        raise PartError(faults)
    with decimal.localcontext(EXACT):
        given = {side: one for side, one in ((Side.LEFT, left), (Side.RIGHT, right)) if one is not None}
        pair, checks = _ruled({side: standing_of(one) for side, one in given.items()}, policy)
        if any(one.given.verdict.ruling is Ruling.INCONCLUSIVE for one in pair.values()):
            best, found = _ruled({side: at_best(standing_of(one)) for side, one in given.items()}, policy)
            lost = {side for side, one in best.items() if one.ruling is Ruling.REPLACE}
            pair = {side: best[side] if side in lost else one for side, one in pair.items()}
            checks = found if lost else checks
        sides = {side: _told(side, one) for side, one in pair.items()}
        missing = tuple(side for side in Side if side not in given)
        rulings = [one.ruling for one in sides.values()] + [Ruling.INCONCLUSIVE for _ in missing]
        return AxleVerdict(
            ruling=max(rulings, key=lambda ruling: ruling.rank),
            left=sides.get(Side.LEFT),
            right=sides.get(Side.RIGHT),
            checks=tuple(dict.fromkeys(reversed(checks)))[::-1],
            missing=missing,
            pair_rule=policy.pair_rule,
        )


def _ruled(pair: Pair, policy: Policy) -> tuple[Pair, list[Check]]:
    """The pair after the pair rules up to the policy's own, each with the difference that it leaves."""
    checks: list[Check] = []
    for rule in _up_to(policy.pair_rule):
        pair = _paired(pair, rule, policy)
        pair, found = levelled(pair, policy)
        checks += found
    return pair, checks


def faults_of_axle(left: AxleSide | None, right: AxleSide | None) -> Iterator[Fault]:
    """What keeps two parts from being the two sides of one axle."""
    if left is None and right is None:
        yield Fault("/left", "missing", "give one side of the axle at least")
    for side, one in ((Side.LEFT, left), (Side.RIGHT, right)):
        if one is not None and one.part.side not in (None, side):
            yield Fault(f"/{side.value}/side", "wrong_side", f"this part is given as the {side.value} one; check both")
    if left is None or right is None:
        return
    if left.part.kind is not right.part.kind:
        yield Fault("/right/kind", "not_a_pair", "the two sides of an axle are of one kind; judge these by themselves")
    if left.part.application != right.part.application:
        yield Fault("/right/application", "not_a_pair", "both sides must name the same vehicle, axle and brake option")


def _up_to(rule: PairRule) -> list[PairRule]:
    """The pair rules from the mildest to this one."""
    rules = list(PairRule)
    return rules[: rules.index(rule) + 1]


def _told(side: Side, one: Standing) -> SideRuling:
    cut = None if one.cut is None else dict(one.cut)
    return SideRuling(side, one.given.verdict.ruling, one.ruling, one.reasons, cut, one.size)


def _paired(pair: Pair, rule: PairRule, policy: Policy) -> Pair:
    """Each side after one pair rule, by how both stood before it. Rule: pair_rule."""
    if rule is PairRule.ADVISE:
        return pair
    after = _machined_too if rule is PairRule.MACHINE_BOTH else _replaced_too
    return {side: after(one, pair.get(other_side(side)), policy) for side, one in pair.items()}


def _open_because(partner: Standing | None) -> PairReason | None:
    """Why it cannot be told yet what the partner asks of this side."""
    if partner is None:
        return PairReason.PARTNER_NOT_MEASURED
    return PairReason.PARTNER_IS_OPEN if partner.ruling is Ruling.INCONCLUSIVE else None


def _machined_too(one: Standing, partner: Standing | None, policy: Policy) -> Standing:
    """Machine one, machine both: a good side whose partner is machined is machined, or replaced if it has no room."""
    if one.ruling is not Ruling.SERVICEABLE:
        return one
    waiting = _open_because(partner)
    if waiting is not None:
        return one.worse(Ruling.INCONCLUSIVE, waiting)
    if partner is None or partner.ruling is not Ruling.MACHINE:
        return one
    why = PairReason.PARTNER_IS_MACHINED
    cut = machined(one, policy)
    if cut is None:
        return one.worse(Ruling.REPLACE, why, PairReason.NO_ROOM_TO_MACHINE)
    if not room_is_known(one):
        return one.worse(Ruling.INCONCLUSIVE, why, PairReason.ROOM_UNKNOWN)
    return cut.worse(Ruling.MACHINE, why)


def _replaced_too(one: Standing, partner: Standing | None, policy: Policy) -> Standing:  # noqa: ARG001 - one shape
    """Replace one, replace both."""
    if one.ruling is Ruling.REPLACE:
        return one
    waiting = _open_because(partner)
    if waiting is not None:
        return one if one.ruling is Ruling.INCONCLUSIVE else one.worse(Ruling.INCONCLUSIVE, waiting)
    if partner is not None and partner.ruling is Ruling.REPLACE:
        return one.worse(Ruling.REPLACE, PairReason.PARTNER_IS_REPLACED)
    return one

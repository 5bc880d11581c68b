"""How far the two sides of an axle end apart, and the cuts that bring them to match.

Where the policy bounds the difference and it is too great, the side with more metal is cut to match if it has the
room, and the other one too where the least cut of good practice would take the first too far; else neither side can
stay with the other, and both are replaced.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from decimal import Decimal

from turnrule.judging.axle_sides import Standing, matched, room_is_known, uncut
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Check
from turnrule.judging.words import CheckName, Origin, Outcome, Ruling, Sense, Side

Pair = dict[Side, Standing]


def other_side(side: Side) -> Side:
    """The other side of the axle."""
    return Side.RIGHT if side is Side.LEFT else Side.LEFT


def levelled(pair: Pair, policy: Policy) -> tuple[Pair, list[Check]]:
    """The pair after its difference was held against the policy's bound, and the checks that were made of it.

    A cut that was asked for and is not needed is left out where the pair comes out better without it: a policy that
    does not allow the cut must not lead to less.
    """
    found = [_levelled(tried, policy) for tried in _with_fewer_cuts(pair)]
    return min(found, key=lambda one: _badness(one[0]))


def _badness(pair: Pair) -> tuple[int, int]:
    ranks = [one.ruling.rank for one in pair.values()]
    return max(ranks), sum(ranks)


def _with_fewer_cuts(pair: Pair) -> Iterator[Pair]:
    """The pair as it is, then with one or more of the cuts left out that were asked for and are not needed."""
    spare = [side for side, one in pair.items() if one.ruling is Ruling.SERVICEABLE and one.cut is not None]
    for count in range(len(spare) + 1):
        for left_out in itertools.combinations(spare, count):
            yield {side: uncut(one) if side in left_out else one for side, one in pair.items()}


def _levelled(pair: Pair, policy: Policy) -> tuple[Pair, list[Check]]:
    check = difference(pair, policy)
    if check.outcome is not Outcome.FAIL or any(one.ruling is Ruling.INCONCLUSIVE for one in pair.values()):
        return pair, [check]
    if any(one.ruling is Ruling.REPLACE for one in pair.values()):
        return _apart(pair), [check]
    side = max(pair, key=lambda side: pair[side].sense * _size(pair[side]))
    held = check
    # The larger, then the smaller, then the larger again: what is cut already can be cut to any size, so three suffice.
    while held.outcome is Outcome.FAIL:
        pair = _cut_to_match(pair, side, policy)
        if pair[side].ruling is not Ruling.MACHINE:
            return pair, [check]
        held, side = difference(pair, policy), other_side(side)
    return pair, [check, held]


def difference(pair: Pair, policy: Policy) -> Check:
    """The difference of the sizes at which the two sides end, by the simple rule. Rule: axle_difference."""
    name, limit = CheckName.AXLE_DIFFERENCE, policy.axle_difference
    sizes = [one.size for one in pair.values() if one.size is not None]
    matching = any(PairReason.CUT_TO_MATCH in one.reasons for one in pair.values())
    rotor = all(one.given.part.kind.is_rotor for one in pair.values())
    quantity = f"{'thickness' if rotor else 'diameter'}_difference_after_{'matching' if matching else 'cuts'}"
    if len(sizes) < len(Side):
        return Check(name, Outcome.NOT_ASSESSED, quantity, reason=_unsized(pair))
    value = max(sizes) - min(sizes)
    if limit is None:
        return Check(name, Outcome.NOT_ASSESSED, quantity, value=value, reason="the policy sets no bound")
    return Check(
        name,
        Outcome.PASS if value <= limit else Outcome.FAIL,
        quantity,
        value=value,
        limit=limit,
        sense=Sense.AT_MOST,
        origin=Origin.POLICY,
        source=policy.source,
    )


def _cut_to_match(pair: Pair, side: Side, policy: Policy) -> Pair:
    """The pair with one side cut to match; both replaced where it has no room, and open where that is not known."""
    one, partner = pair[side], pair[other_side(side)]
    cut = matched(one, _size(partner) + one.sense * (policy.axle_difference or Decimal(0)), policy)
    if cut is None:
        return _apart(pair)
    if not room_is_known(one):
        return {**pair, side: one.worse(Ruling.INCONCLUSIVE, PairReason.SIDES_DIFFER, PairReason.ROOM_UNKNOWN)}
    return {**pair, side: cut.worse(Ruling.MACHINE, PairReason.CUT_TO_MATCH)}


def _size(one: Standing) -> Decimal:
    """The size that a side ends at; both are known where the difference failed."""
    if one.size is None:  # pragma: no cover - a difference is made of two sizes
        raise AssertionError(one)
    return one.size


def _apart(pair: Pair) -> Pair:
    """Sides that differ too much and cannot be made to match: what is not replaced yet must be."""
    return {
        side: one if one.ruling is Ruling.REPLACE else one.worse(Ruling.REPLACE, PairReason.SIDES_DIFFER)
        for side, one in pair.items()
    }


def _unsized(pair: Pair) -> str:
    if len(pair) < len(Side):
        return "one side is not measured"
    if any(one.ruling is Ruling.REPLACE and one.size is None for one in pair.values()):
        return "a side is replaced, and the size of the new part is not given"
    return "the size of a side was not read"

"""The judgement of an axle in words: each side by itself, and what its partner makes of it."""

from __future__ import annotations

from types import MappingProxyType

from turnrule.judging.axle import AxleVerdict, SideRuling
from turnrule.judging.planning_words import PairReason
from turnrule.judging.words import PairRule, Ruling

_ITSELF = MappingProxyType(
    {
        Ruling.SERVICEABLE: "can stay in service by itself",
        Ruling.MACHINE: "can be machined by itself",
        Ruling.INCONCLUSIVE: "cannot be passed yet by itself",
        Ruling.REPLACE: "must be replaced by itself",
    }
)
_IN_THE_END = MappingProxyType(
    {
        Ruling.SERVICEABLE: "stays in service",
        Ruling.MACHINE: "is to be machined",
        Ruling.INCONCLUSIVE: "cannot be settled yet",
        Ruling.REPLACE: "is to be replaced",
    }
)
_TOGETHER = MappingProxyType(
    {
        Ruling.SERVICEABLE: "Both sides stay in service.",
        Ruling.MACHINE: "Both sides are to be machined.",
        Ruling.INCONCLUSIVE: "Neither side can be settled yet.",
        Ruling.REPLACE: "Both sides are to be replaced.",
    }
)
_BECAUSE = MappingProxyType(
    {
        PairReason.PARTNER_IS_REPLACED: "the other side is replaced, and the policy asks for both",
        PairReason.PARTNER_IS_MACHINED: "the other side is machined, and the policy asks for both",
        PairReason.PARTNER_IS_OPEN: "the other side is not settled, and the policy treats both alike",
        PairReason.PARTNER_NOT_MEASURED: "the other side is not measured, and the policy treats both alike",
        PairReason.NO_ROOM_TO_MACHINE: "it has no room for a cut",
        PairReason.ROOM_UNKNOWN: "whether it has room for a cut is not known",
        PairReason.ASKED_CUT_LEFT_OUT: "it needs no cut, and the one asked for would make the sides differ too much",
        PairReason.CUT_TO_MATCH: "it has to be cut to match the other side",
        PairReason.SIDES_DIFFER: "the two sides would differ by more than the policy allows",
    }
)
_ASKED = MappingProxyType(
    {
        PairRule.ADVISE: "Look at both sides: sides that differ pull.",
        PairRule.MACHINE_BOTH: "The policy asks that both sides be machined where one is.",
        PairRule.REPLACE_BOTH: "The policy asks that both sides be machined where one is, and replaced where one is.",
    }
)


def axle_summary(axle: AxleVerdict) -> str:
    """One sentence that a clerk can read to a customer: what is done with each side in the end."""
    sides = [one for one in (axle.left, axle.right) if one is not None]
    rulings = {one.ruling for one in sides}
    if not axle.missing and len(rulings) == 1:
        return _TOGETHER[rulings.pop()]
    told = [f"the {one.side.value} side {_IN_THE_END[one.ruling]}" for one in sides]
    told += [f"the {side.value} side is not measured, so that the axle cannot be passed" for side in axle.missing]
    whole = ", and ".join(told)
    return f"{whole[0].upper()}{whole[1:]}."


def side_sentence(one: SideRuling) -> str:
    """One sentence on a side; it says so where the part passed by itself and its partner is the reason."""
    name = f"The {one.side.value} side {_ITSELF[one.own]}"
    why = ", and ".join(_BECAUSE[reason] for reason in one.reasons)
    if not why:
        return f"{name}."
    if not one.because_of_partner:
        return f"{name}: {why}."
    return f"{name}, but it {_IN_THE_END[one.ruling]}: {why}."


def axle_sentences(axle: AxleVerdict) -> tuple[str, ...]:
    """A sentence on each side, on what was not measured, and on what the policy asks of a pair."""
    sides = [side_sentence(one) for one in (axle.left, axle.right) if one is not None]
    unread = [f"The {side.value} side is not measured: the axle cannot be passed." for side in axle.missing]
    return (*sides, *unread, _ASKED[axle.pair_rule])

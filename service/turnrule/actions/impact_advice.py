"""What to do about a verdict that comes out differently, in one word and one sentence.

The sentences speak of the part as it was answered; whether it was then turned, fitted or thrown away, only the
workshop knows.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from turnrule.actions.impact_lines import Obstacle, Standing
from turnrule.judging.words import Ruling


class Action(StrEnum):
    """What a verdict that comes out differently asks for, most urgent first."""

    CALL_BACK = "call_back"
    CHECK = "check"
    NOTHING_LOST = "nothing_lost"


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do, as a word to sort by and as a sentence."""

    action: Action
    sentence: str


_LET_ON = frozenset({Ruling.SERVICEABLE, Ruling.MACHINE})
"""Verdicts after which a part may have gone back on the road."""

_WORSE = {
    Ruling.MACHINE: "Call the vehicle back: the part was passed as it was and has to be machined, or replaced.",
    Ruling.INCONCLUSIVE: (
        "Call the vehicle back: the part was passed and is no longer proven good; settle what its new verdict names."
    ),
    Ruling.REPLACE: "Call the vehicle back: the part was passed and has to be replaced.",
}
_HELD_BACK_AND_FAILS = (
    "Call the vehicle back if the part was fitted all the same: it was held back and has to be replaced."
)
_BETTER = {
    Ruling.REPLACE: "Nothing is lost in safety: the part was refused and need not have been; it may be gone by now.",
    Ruling.INCONCLUSIVE: "Nothing is lost: the part was held back; have it judged again before it is used or replaced.",
    Ruling.MACHINE: "Nothing is lost in safety: the part was to be machined and need not have been.",
}


def advice(before: Standing, after: Standing) -> Advice:
    """What to do about a part that stands otherwise than it did."""
    was, is_now = before.ruling, after.ruling
    if is_now.rank > was.rank:
        return Advice(Action.CALL_BACK, _WORSE[is_now] if was in _LET_ON else _HELD_BACK_AND_FAILS)
    if is_now.rank < was.rank:
        return Advice(Action.NOTHING_LOST, _BETTER[was])
    if was in _LET_ON:
        return _still_let_on(before, after)
    return Advice(Action.NOTHING_LOST, f"Nothing is lost: the verdict is {was} as before.")


def _still_let_on(before: Standing, after: Standing) -> Advice:
    """What was answered about the cut counts, where the verdict is the same."""
    if before.cut_allowed and not after.cut_allowed:
        sentence = "Call the vehicle back if the cut that was asked for was made: it was allowed and no longer is."
        return Advice(Action.CALL_BACK, sentence)
    less = (after.most_total_cut or 0) < (before.most_total_cut or 0)
    if less:
        sentence = "If the part was machined, measure what is left: less metal may come off than was answered."
        return Advice(Action.CHECK, sentence)
    return Advice(Action.NOTHING_LOST, f"Nothing is lost: the verdict is {before.ruling} as before.")


def advice_where_lost(before: Standing, obstacle: Obstacle) -> Advice:
    """What to do about a part that cannot be judged any more."""
    if before.ruling in _LET_ON:
        sentence = "Call the vehicle back unless its limits are settled: the part was passed and cannot be judged now"
        return Advice(Action.CALL_BACK, f"{sentence} ({obstacle.code}).")
    sentence = f"Nothing is lost: the part was not passed; have its limits settled first ({obstacle.code})."
    return Advice(Action.NOTHING_LOST, sentence)

"""What it means that a policy only tightens: for each field the stricter way, and in which fields two policies differ.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from turnrule.judging.faults import Fault
from turnrule.judging.lengths import plain
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule

GREATER = ("discard_margin", "machining_margin", "wear_allowance", "minimum_cut")
SMALLER = (
    "maximum_runout",
    "maximum_thickness_variation",
    "maximum_out_of_round",
    "maximum_taper",
    "groove_limit",
    "total_cut",
    "face_balance",
    "axle_difference",
)
CHOICES: dict[str, type[DecisionRule | PairRule | Overdue]] = {
    "decision_rule": DecisionRule,
    "pair_rule": PairRule,
    "limits_review_due": Overdue,
    "calibration_overdue": Overdue,
}
INSTRUMENT = ("resolution", "expanded_uncertainty", "repeatability")
TRUTHS = ("derive_machining_limit", "accept_caller_limits")
"""Fields that are stricter when they are false."""

LISTED = ("require", "jurisdictions", "regulations")
"""Fields that are stricter with every entry."""


class Direction(StrEnum):
    """Which way one policy goes from another."""

    STRICTER = "stricter"
    LOOSER = "looser"
    OTHER = "other"
    """Neither: what holds is the same, and something else about the policy is not."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in which two policies differ, by its place in a policy body; of a list, one entry of it.

    Values are lengths in mm, distances in km, counts, truths or words; None where nothing is set.
    """

    field: str
    old: object
    new: object
    direction: Direction
    unit: str | None = None


_STRICTER_SIDE = {
    **dict.fromkeys((*GREATER, *(f"instrument/{name}" for name in INSTRUMENT)), "greater"),
    **dict.fromkeys((*SMALLER,), "smaller"),
    **dict.fromkeys(CHOICES, "later in the list"),
    **dict.fromkeys(TRUTHS, "false"),
    "minimum_points": "greater",
    "remaining_distance": "greater",
    "findings": "harder",
}


def loosenings(parent: Policy, child: Policy) -> Iterator[Fault]:
    """Every field in which the child is looser than its parent, with both values."""
    for one in differences(parent, child):
        if one.direction is Direction.LOOSER:
            stricter = _STRICTER_SIDE.get(one.field) or _STRICTER_SIDE.get(one.field.partition("/")[0], "more")
            detail = (
                f"{shown(one.new, one.unit)} is looser than the {shown(one.old, one.unit)} that it inherits; "
                f"a policy may only tighten ({stricter} is stricter)"
            )
            yield Fault(f"/{one.field}", "policy_loosens", detail)


def shown(value: object, unit: str | None) -> str:
    """A value as a sentence names it."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = f"{plain(value):f}" if isinstance(value, Decimal) else str(value)
    return text if unit is None else f"{text} {unit}"


def differences(before: Policy, after: Policy) -> Iterator[Difference]:
    """Every field in which one policy differs from another, and which way it goes; what is not set binds nothing."""
    yield from _figures(before, after)
    yield from _words(before, after)
    yield from _entries(before, after)
    yield from _effects(before.findings, after.findings)


def _figures(before: Policy, after: Policy) -> Iterator[Difference]:
    for field in GREATER:
        yield from _greater(field, getattr(before, field), getattr(after, field), "mm")
    for field in SMALLER:
        old, new = getattr(before, field), getattr(after, field)
        if old != new:
            looser = new is None or (old is not None and new > old)
            yield Difference(field, old, new, Direction.LOOSER if looser else Direction.STRICTER, "mm")
    for field in INSTRUMENT:
        old, new = getattr(before.instrument, field), getattr(after.instrument, field)
        yield from _greater(f"instrument/{field}", old, new, "mm")
    yield from _greater("minimum_points", before.minimum_points, after.minimum_points, None)
    yield from _greater("remaining_distance", before.remaining_distance_km, after.remaining_distance_km, "km")


def _greater(
    field: str, old: Decimal | int | None, new: Decimal | int | None, unit: str | None
) -> Iterator[Difference]:
    if old != new:
        looser = new is None or (old is not None and new < old)
        yield Difference(field, old, new, Direction.LOOSER if looser else Direction.STRICTER, unit)


def _words(before: Policy, after: Policy) -> Iterator[Difference]:
    for field, words in CHOICES.items():
        order = list(words)
        old, new = getattr(before, field), getattr(after, field)
        if old is not new:
            looser = order.index(new) < order.index(old)
            yield Difference(field, old, new, Direction.LOOSER if looser else Direction.STRICTER)
    for field in TRUTHS:
        old, new = getattr(before, field), getattr(after, field)
        if old is not new:
            yield Difference(field, old, new, Direction.LOOSER if new else Direction.STRICTER)


def _entries(before: Policy, after: Policy) -> Iterator[Difference]:
    for field in LISTED:
        old: Iterable[str] = getattr(before, field)
        new: Iterable[str] = getattr(after, field)
        for entry in sorted({*old, *new}):
            if entry not in new:
                yield Difference(field, entry, None, Direction.LOOSER)
            elif entry not in old:
                yield Difference(field, None, entry, Direction.STRICTER)


def _effects(before: dict[str, Effect], after: dict[str, Effect]) -> Iterator[Difference]:
    for code in sorted({*before, *after}):
        old, new = before.get(code), after.get(code)
        if old is not new:
            looser = new is None or (old is not None and new.rank < old.rank)
            yield Difference(f"findings/{code}", old, new, Direction.LOOSER if looser else Direction.STRICTER)

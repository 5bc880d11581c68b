"""What it means that a policy only tightens: for each field the stricter way, and every field that goes the other.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.faults import Fault
from turnrule.judging.policy import Policy
from turnrule.judging.words import DecisionRule, Overdue, PairRule

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


def loosenings(parent: Policy, child: Policy) -> Iterator[Fault]:
    """Every field in which the child is looser than its parent."""
    yield from _looser_figures(parent, child)
    yield from _looser_words(parent, child)


def _looser_figures(parent: Policy, child: Policy) -> Iterator[Fault]:
    for field in GREATER:
        if getattr(child, field) < getattr(parent, field):
            yield _looser(field, f"{getattr(parent, field):f} mm", f"{getattr(child, field):f} mm", "greater")
    for field in SMALLER:
        before, after = getattr(parent, field), getattr(child, field)
        if before is not None and after > before:
            yield _looser(field, f"{before:f} mm", f"{after:f} mm", "smaller")
    for field in INSTRUMENT:
        before, after = getattr(parent.instrument, field), getattr(child.instrument, field)
        if after < before:
            yield _looser(f"instrument/{field}", f"{before:f} mm", f"{after:f} mm", "greater")
    if child.minimum_points < parent.minimum_points:
        yield _looser("minimum_points", parent.minimum_points, child.minimum_points, "greater")
    before, after = parent.remaining_distance_km, child.remaining_distance_km
    if before is not None and after is not None and after < before:
        yield _looser("remaining_distance", f"{before} km", f"{after} km", "greater")


def _looser_words(parent: Policy, child: Policy) -> Iterator[Fault]:
    for field, words in CHOICES.items():
        order = list(words)
        if order.index(getattr(child, field)) < order.index(getattr(parent, field)):
            yield _looser(field, getattr(parent, field), getattr(child, field), "later in the list")
    for field in ("derive_machining_limit", "accept_caller_limits"):
        if getattr(child, field) and not getattr(parent, field):
            yield _looser(field, "false", "true", "false")
    for code, effect in child.findings.items():
        known = parent.findings.get(code)
        if known is not None and effect.rank < known.rank:
            yield _looser(f"findings/{code}", known, effect, "harder")


def _looser(field: str, before: object, after: object, stricter: str) -> Fault:
    return Fault(
        f"/{field}",
        "policy_loosens",
        f"{after} is looser than the {before} that it inherits; a policy may only tighten ({stricter} is stricter)",
    )

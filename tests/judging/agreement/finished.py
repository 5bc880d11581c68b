"""The cut that a finished part was given, and the metal taken by the readings before and after, in whole numbers."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tests.judging.agreement.answers import Line, MetalAnswer
from tests.judging.agreement.exact import GUARD_STEP, length
from tests.judging.agreement.told import Told
from tests.judging.agreement.turning import ceiling

HUNDRED_PM = 100


@dataclass(frozen=True, slots=True)
class Finished:
    """The checks of the cut that was made, the metal taken, and the cautions that they call for."""

    lines: tuple[Line, ...]
    metal: MetalAnswer | None
    cautions: frozenset[str]


def finished_of(told: Told, deciding: int | None) -> Finished:
    """What is told of the lathe's work; `deciding` is the size nearest its limit (pm)."""
    made = told.request.get("cut_made")
    depths = None if made is None else [length(str(made[face]), told.unit) for face in told.faces]  # type: ignore[literal-required] # the faces of the kind
    lines: tuple[Line, ...] = ()
    if depths is not None:
        bounds = (told.policy_length(told.policy.get("total_cut")), told.policy_length(told.policy.get("face_balance")))
        lines = (
            ceiling("total_cut", sum(depths), bounds[0], "total_cut_made"),
            ceiling("face_balance", max(depths) - min(depths), bounds[1], "face_balance_made"),
        )
    metal = _metal(told, deciding, depths)
    cautions = set()
    if metal is not None and metal.grew:
        cautions.add("part_grew")
    elif metal is not None and metal.agrees is False:
        cautions.add("cut_made_disagrees")
    return Finished(lines, metal, frozenset(cautions))


def _metal(told: Told, deciding: int | None, depths: list[int] | None) -> MetalAnswer | None:
    before = told.request.get("before")
    if before is None and depths is None:
        return None
    change = None if depths is None else sum(depths) * (1 if told.rotor else 2)
    if before is None or deciding is None or "worst" not in before or "mean" not in before:
        return MetalAnswer(change)
    sizes = (*told.track, *told.inner)
    mean = round(Fraction(sum(sizes), len(sizes) * HUNDRED_PM)) * HUNDRED_PM  # half to even, on 0.0000001 mm
    worst = length(before["worst"], "mm")
    gone = told.sign * (worst - deciding), told.sign * (length(before["mean"], "mm") - mean)
    truing = told.sign * (worst - length(before["clean_up"], "mm")) if "clean_up" in before else 0
    both = _together(length(before["expanded"], "mm"), told.expanded)
    agrees = None
    if change is not None:
        too_much, too_little = change - max(gone), min(gone) - (change + truing)
        agrees = too_much <= both and too_little <= both
    return MetalAnswer(change, *gone, truing, both, agrees, grew=min(gone) + both < 0)


def _together(one: int, other: int) -> int:
    """The least multiple of 0.0001 mm whose square is no less than the two squares together (JCGM 100, 5.1.2)."""
    steps, total = 0, one * one + other * other
    while steps * steps < total:
        steps += GUARD_STEP
    return steps

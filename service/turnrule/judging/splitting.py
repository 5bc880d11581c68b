"""How a depth is split into passes that the lathe can make: exactly, the last of them a finishing pass."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from turnrule.judging.lengths import on_grid, quotient
from turnrule.judging.planning_words import NoPass

MOST_PASSES = 100
"""A cut that needs more passes than this is no cut of a friction face."""

_WHOLE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Depths:
    """What the lathe can take in one pass, mm: from `least` to `greatest`, the last pass no more than `finishing`.

    `step` is what its dial can be set to.
    """

    least: Decimal
    greatest: Decimal
    finishing: Decimal
    step: Decimal


@dataclass(frozen=True, slots=True)
class Unsplit:
    """Why there are no passes, with the nearest smaller and greater cut that can be made (mm; None: none there)."""

    reason: NoPass
    less: Decimal | None = None
    more: Decimal | None = None


def split(depth: Decimal, standing: Decimal, depths: Depths) -> tuple[Decimal, ...] | Unsplit:
    """Passes whose sum is `depth` + `standing` exactly, as few as can be, each within what the lathe takes.

    `depth` is counted from the tool's zero, `standing` is the metal that stands above it (what a wobbling face loses
    before the tool cuts all the way round). The finishing pass is as deep as it may be, so that roughing is lightest;
    roughing is shared out evenly, deeper passes first. Runs in exact arithmetic.
    """
    if depth == 0:
        return Unsplit(NoPass.NOTHING_TO_CUT)
    if depths.greatest < depths.least:
        return Unsplit(NoPass.LATHE_TOO_COARSE)
    if depth < depths.least:
        return Unsplit(NoPass.BELOW_LEAST_DEPTH, more=depths.least)
    total = depth + standing
    roughing = Decimal(0)
    if total > depths.finishing:
        roughing = quotient(total - depths.finishing, depths.greatest, ROUND_CEILING, _WHOLE)
    if roughing >= MOST_PASSES:
        return Unsplit(NoPass.TOO_MANY_PASSES)
    if total < (roughing + 1) * depths.least:
        less = (roughing - 1) * depths.greatest + depths.finishing - standing
        more = (roughing + 1) * depths.least - standing
        return Unsplit(NoPass.CANNOT_BE_SPLIT, less if less >= depths.least else None, more)
    last = min(depths.finishing, total - roughing * depths.least)
    return (*_shared(total - last, int(roughing), depths), last)


def _shared(total: Decimal, passes: int, depths: Depths) -> Iterator[Decimal]:
    """So many roughing passes of about the same depth; each lies within what the lathe takes, and they sum exactly.

    A depth is rounded up to the dial's step, unless that is too deep, or would leave too little for the passes after.
    """
    left = total
    for after in range(passes - 1, -1, -1):
        even = quotient(left, Decimal(after + 1), ROUND_CEILING)
        depth = min(on_grid(even, ROUND_CEILING, depths.step), depths.greatest, left - after * depths.least)
        yield depth
        left -= depth

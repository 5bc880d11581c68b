"""The question solved backwards: metal that may still come off, the reading that would be needed, what would settle it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tests.judging.agreement.answers import Line
from tests.judging.agreement.exact import TICK, down, up
from tests.judging.agreement.figures import Figures
from tests.judging.agreement.governed import Governed, Rules
from tests.judging.agreement.told import Told
from tests.judging.agreement.turning import scale_of

Settled = tuple[str, str | None, int | None, int | None]


def margins_of(told: Told, rules: Rules, size: int | None) -> dict[str, int | None]:
    """How far the deciding size stays on the safe side of each limit; negative when past it."""

    def margin(limit: Governed | None) -> int | None:
        return None if size is None or limit is None else told.sign * (size - limit.value)

    return {
        "to_machining_limit": margin(rules.machining),
        "to_discard_limit": margin(rules.discard),
        "guard_band": scale_of(told).full_guard,
    }


def _most_cut(told: Told, figures: Figures, rules: Rules) -> tuple[int | None, int | None]:
    """The most that may come off in total and per face (drum: both on the radius), rounded down to a least digit."""
    known = [limit for limit in (rules.machining, rules.discard) if limit is not None and limit.proper]
    if figures.clean_up is None or len(known) < 2 or rules.permission == "prohibited":
        return None, None
    left = min(told.sign * (figures.clean_up - limit.value) for limit in known) - scale_of(told).guard
    if left < 0:
        return None, None
    step, halves = TICK[told.unit], 1 if told.rotor else 2
    cap = told.policy_length(told.policy.get("total_cut"))
    # Both in half-units of the cut, so that neither half is rounded before the comparison.
    twice = 2 * left // halves if cap is None else min(2 * left // halves, 2 * cap)
    total = down(twice, 2 * step) // 2
    return total, down(twice, 4 * step) // 4 if told.rotor else total


def _reading_for(told: Told, size: int) -> int:
    """The least safe reading (rotor: smallest, drum: largest), at the part's own temperature, that comes to `size`."""
    step = TICK[told.unit]
    safer = told.sign * size
    if told.heat is not None:
        warm, cold = told.heat
        # The corrected reading is rounded on 0.0000001 mm, so it must reach the next such step.
        if told.sign > 0:
            return up(-(-up(safer, TICK["mm"]) * warm // cold), step)
        return down(down(size, TICK["mm"]) * warm // cold, step)
    return told.sign * up(safer, step)


def reading_needed(told: Told, figures: Figures, limits: Iterable[tuple[int | None, Governed | None]]) -> int | None:
    """Today's reading, all readings shifted alike, at which every one of these sizes would pass its limit."""
    size = figures.deciding(told.sign)
    if size is None:
        return None
    guard, short = scale_of(told).guard, []
    for value, limit in limits:
        if value is None or limit is None or not limit.proper:
            return None
        short.append(guard - told.sign * (value - limit.value))
    return _reading_for(told, size + told.sign * max(short)) if short else None


def room_of(
    told: Told, figures: Figures, rules: Rules, limits: Iterable[tuple[int | None, Governed | None]]
) -> dict[str, int | None]:
    """The room of one judgement."""
    total, each = _most_cut(told, figures, rules)
    return {
        "most_total_cut": total,
        "most_cut_per_face": each,
        "reading_needed": reading_needed(told, figures, limits),
    }


def settling(lines: Sequence[Line]) -> tuple[Settled, ...]:
    """For every unproven check: how fine the gauge would have to be (None where the size is at the limit itself)."""
    return tuple(
        (line.check, None, None, abs(line.value - line.limit) or None)
        for line in lines
        if line.outcome == "unproven" and line.value is not None and line.limit is not None
    )

"""The question solved backwards: metal that may still come off, the reading that is needed, what would settle it."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import floor

from tests.judging.agreement.answers import Line
from tests.judging.agreement.bench import Bench
from tests.judging.agreement.exact import TICK, down, up
from tests.judging.agreement.figures import Figures
from tests.judging.agreement.governed import Governed, Rules
from tests.judging.agreement.told import Told

Settled = tuple[str, str | None, int | None, int | None]


def margins_of(told: Told, rules: Rules, size: int | None) -> dict[str, int | None]:
    """How far the deciding size stays on the safe side of each limit; negative when past it."""

    def margin(limit: Governed | None) -> int | None:
        return None if size is None or limit is None else told.sign * (size - limit.value)

    return {
        "to_machining_limit": margin(rules.machining),
        "to_discard_limit": margin(rules.discard),
        "guard_band": told.expanded,
    }


def _refused(told: Told, rules: Rules) -> bool:
    """True where the part may not be turned at all, or not on the lathe that the request names."""
    on_bench = told.request.get("lathe") == "bench"
    return rules.permission == "prohibited" or (rules.permission == "on_vehicle_only" and on_bench)


def _most_cut(told: Told, figures: Figures, rules: Rules, lasting: Fraction | None) -> tuple[int | None, int | None]:
    """The most that may come off in total and per face (drum: both on the radius), rounded down to a least digit."""
    known = [limit.value for limit in (rules.machining, rules.discard) if limit is not None and limit.proper]
    if figures.clean_up is None or len(known) < 2 or _refused(told, rules):
        return None, None
    left = min(told.sign * (figures.clean_up - limit) for limit in known) - told.guard
    if lasting is not None:
        left = min(left, floor(told.sign * (figures.clean_up - lasting)))
    if left < 0:
        return None, None
    # In half picometres of the cut, so that nothing is rounded before the policy's own ceiling is held against it.
    twice, cap = 2 * left if told.rotor else left, told.policy_length(told.policy.get("total_cut"))
    if cap is not None:
        twice = min(twice, 2 * cap)
    step = TICK[told.unit]
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
    short = []
    for value, limit in limits:
        if value is None or limit is None or not limit.proper:
            return None
        short.append(told.guard - told.sign * (value - limit.value))
    return _reading_for(told, size + told.sign * max(short)) if short else None


def room_of(bench: Bench) -> dict[str, int | None]:
    """The room of one judgement."""
    told, figures, rules = bench.told, bench.figures, bench.rules
    total, each = _most_cut(told, figures, rules, bench.size_for_distance)
    now = figures.deciding(told.sign)
    limits = [(now, rules.discard)]
    if told.after_machining:
        limits.append((now, rules.machining))
    limits.extend((cut.after, limit) for cut in bench.cuts for limit in (rules.machining, rules.discard))
    return {
        "most_total_cut": total,
        "most_cut_per_face": each,
        "reading_needed": None if _hopeless(bench) else reading_needed(told, figures, limits),
    }


def _hopeless(bench: Bench) -> bool:
    """True where a check fails that no safer reading would mend."""
    fixed = [bench.findings, bench.permitted] if bench.needed or bench.told.after_machining else [bench.findings]
    fixed.extend(bench.finished.lines)
    if bench.needed:
        fixed.extend(line for cut in bench.cuts for line in cut.lines[2:])
    return any(line.outcome == "fail" for line in fixed)


def _settled(bench: Bench, line: Line, limit: Governed | None) -> Settled | None:
    told, now = bench.told, bench.figures.deciding(bench.told.sign)
    size = "thickness" if told.rotor else "diameter"
    if line.outcome == "not_assessed":
        if limit is not None and limit.proper:
            return line.check, size, None, None
        turned = "minimum_machining_thickness" if told.rotor else "maximum_machining_diameter"
        return line.check, turned if line.check == "machining_limit" else f"discard_{size}", None, None
    if line.outcome != "unproven" or now is None or line.value is None or line.limit is None:
        return None
    safe_by = told.sign * (line.value - line.limit)
    needed = _reading_for(told, now + told.sign * (told.guard - safe_by))
    return line.check, None, needed, safe_by or None


def settling(bench: Bench) -> tuple[Settled, ...]:
    """For every undecided strength check: what is missing, or else the reading and the gauge that would settle it."""
    lines = [*bench.measured, *(line for cut in bench.cuts for line in cut.lines[:2])]
    found: list[Settled | None] = []
    for check in ("discard_limit", "machining_limit", "discard_after_cut"):
        limit = bench.rules.machining if check == "machining_limit" else bench.rules.discard
        found.extend(_settled(bench, line, limit) for line in lines if line.check == check)
    return tuple(one for one in found if one is not None)

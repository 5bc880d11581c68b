"""A scratch cut: what its covered part of a turn says of the wobble, and how much is still to come off.

The tool touches the high spot and is fed in by d. On a face that wobbles once a turn the scratch then covers the
fraction f, with cos(pi f) = 1 - 2d/TIR: TIR = 2d / (1 - cos(pi f)), and d (1 + cos(pi f)) / (1 - cos(pi f)) is still
to go (derived). A face of any other shape is only known to be lower somewhere than the tool went; where a twentieth of
the wobble is warp, the TIR is already off by up to 34 % with a quarter covered, 10 % with half, 6 % with three quarters
(simulated), so that a scratch of less than half a turn is told with a note.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import not_an_angle, not_positive, refuse
from turnrule.judging.lathe_words import Expected, Note
from turnrule.judging.lengths import on_grid
from turnrule.judging.separation import Doubt
from turnrule.judging.trace import around, cosine, radians
from turnrule.judging.vectors import FINE, Vector, polar, rounded_down, rounded_up

GREATEST_RUNOUT = Decimal(2)
"""A wobble beyond this (mm) is not believed from a scratch alone (common practice, no source)."""

_FLAT = Decimal("1E-20")
_HUNDREDTH = Decimal("0.01")
_HALF, _THREE_QUARTERS = Decimal("0.5"), Decimal("0.75")


@dataclass(frozen=True, slots=True)
class Arc:
    """One unbroken stretch of scratch, from `start` to `end` along the part (degrees, through 0 where end < start)."""

    start: Decimal
    end: Decimal

    @property
    def width(self) -> Decimal:
        """Degrees that it covers."""
        return around(self.end - self.start)

    @property
    def centre(self) -> Decimal:
        """Half way along it."""
        return around(self.start + self.width / 2)


@dataclass(frozen=True, slots=True)
class Scratch:
    """The depth fed in after first contact (mm), and either the covered fraction of a turn or the arcs scratched."""

    depth: Decimal
    fraction: Decimal | None = None
    arcs: tuple[Arc, ...] = ()

    @property
    def half_angle(self) -> Decimal:
        """180 f, degrees: the angle that the formulae are in."""
        if self.fraction is not None:
            return 180 * self.fraction
        return sum((arc.width for arc in self.arcs), Decimal(0)) / 2


@dataclass(frozen=True, slots=True)
class ScratchReading:
    """What one scratch tells, mm and degrees.

    `runout` is the TIR (None where the scratch only bounds it), between `at_least` (rounded down) and `at_most`
    (rounded up; None: no bound) within the doubt of what was read. `to_go` is rounded up. `vector` is the wobble
    with its direction, unrounded, and `error` its U; None without an angle or a TIR.
    """

    covered: Decimal
    runout: Decimal | None
    at_least: Decimal
    at_most: Decimal | None
    to_go: Decimal | None
    to_go_at_most: Decimal | None
    centre: Decimal | None
    notes: tuple[Note, ...] = ()
    vector: Vector | None = None
    error: Decimal | None = None

    @property
    def wobbles_once(self) -> bool:
        """False where the pattern is not that of a once-per-turn wobble."""
        return not {Note.SEVERAL_ARCS, Note.LOCAL_HIGH_SPOT} & set(self.notes)


@dataclass(frozen=True, slots=True)
class Passes:
    """The passes still to expect: from `least` to `most` (None: cannot be counted), and what the trade expects.

    The trade's rule is one of scratches: None after a trace.
    """

    least: int | None
    most: int | None
    expected: Expected | None


def faults_of_scratch(scratch: Scratch, pointer: str) -> Iterator[Fault]:
    """Every fault of one scratch."""
    yield from not_positive(f"{pointer}/depth", scratch.depth)
    if (scratch.fraction is None) is not bool(scratch.arcs):
        yield Fault(pointer, "fraction_or_arcs", "give either the covered fraction or the arcs, one of the two")
    if scratch.fraction is not None and not 0 < scratch.fraction <= 1:
        yield Fault(f"{pointer}/fraction", "not_a_fraction", f"{scratch.fraction:f} is not above 0 and at most 1")
    for index, arc in enumerate(scratch.arcs):
        yield from not_an_angle(f"{pointer}/arcs/{index}/start", arc.start)
        yield from not_an_angle(f"{pointer}/arcs/{index}/end", arc.end)
        if arc.start == arc.end:
            yield Fault(
                f"{pointer}/arcs/{index}", "empty_arc", "starts where it ends; give fraction 1 for a whole turn"
            )
    if _run_together(scratch.arcs):
        yield Fault(f"{pointer}/arcs", "arcs_overlap", "the arcs run into each other; give each stretch once")


def _run_together(arcs: Sequence[Arc]) -> bool:
    """True where one arc reaches the start of the next."""
    placed = sorted(arcs, key=lambda arc: arc.start)
    following = [*placed[1:], *placed[:1]]
    return len(placed) > 1 and any(
        arc.width >= around(after.start - arc.start) for arc, after in zip(placed, following, strict=True)
    )


def read_scratch(scratch: Scratch, doubt: Doubt, greatest_runout: Decimal = GREATEST_RUNOUT) -> ScratchReading:
    """What one scratch tells. Raises `LatheDataError`. Rule: scratch_cut."""
    refuse(faults_of_scratch(scratch, ""))
    with decimal.localcontext(FINE):
        return _read(scratch, doubt, greatest_runout)


def _read(scratch: Scratch, doubt: Doubt, greatest_runout: Decimal) -> ScratchReading:
    half, nothing = scratch.half_angle, Decimal(0)
    covered = on_grid(half / 180, ROUND_FLOOR, Decimal("1E-6"))
    depth_least, depth_most = max(nothing, scratch.depth - doubt.reading), scratch.depth + doubt.reading
    if len(scratch.arcs) > 1:
        least, notes = rounded_down(depth_least), (Note.SEVERAL_ARCS,)
        return ScratchReading(covered, None, least, None, None, None, None, notes)
    if half == 180:  # noqa: PLR2004 - half a turn to either side of the high spot
        most, notes = rounded_up(depth_most), (Note.WHOLE_TURN_SCRATCHED,)
        return ScratchReading(covered, None, nothing, most, nothing, nothing, None, notes)
    loose = doubt.angle if scratch.arcs else 180 * doubt.covered
    at_least = rounded_down(_runout(depth_least, min(Decimal(180), half + loose)) or nothing)
    runout, at_most = _runout(scratch.depth, half), _runout(depth_most, half - loose)
    centre = scratch.arcs[0].centre if scratch.arcs else None
    shown = None if centre is None else around(on_grid(centre, ROUND_HALF_EVEN, _HUNDREDTH))
    if at_least > greatest_runout:
        # No wobble that anyone would believe leaves so little: only the depth is sure.
        least, notes = rounded_down(depth_least), (Note.LOCAL_HIGH_SPOT,)
        return ScratchReading(covered, None, least, None, None, None, shown, notes)
    if runout is None or at_most is None or runout > greatest_runout:
        return ScratchReading(covered, None, at_least, None, None, None, shown, (Note.SCRATCH_TOO_SHORT,))
    off = max(at_most - runout, runout - at_least)
    return ScratchReading(
        covered=covered,
        runout=on_grid(runout, ROUND_HALF_EVEN),
        at_least=at_least,
        at_most=rounded_up(at_most),
        to_go=rounded_up(runout - scratch.depth),
        to_go_at_most=rounded_up(at_most - depth_most),
        centre=shown,
        notes=(Note.LITTLE_COVERED,) if covered < _HALF else (),
        vector=None if centre is None else polar(runout, centre),
        error=None if centre is None else (off * off + (runout * radians(doubt.angle)) ** 2).sqrt(),
    )


def _runout(depth: Decimal, half: Decimal) -> Decimal | None:
    """2d / (1 - cos) for half the covered angle in degrees, unrounded; None where next to nothing is covered."""
    rise = 1 - cosine(max(Decimal(0), half))
    return None if rise < _FLAT else 2 * depth / rise


def passes_to_expect(reading: ScratchReading, least_depth: Decimal, greatest_depth: Decimal) -> Passes:
    """How many passes are still to come, at up to `greatest_depth` a pass (mm).

    What is left within `least_depth` comes off in a single pass. More comes off in as many passes as it takes at the
    greatest depth, or in one more where the last is to be a slow one. `expected` is the trade's rule of thumb: about
    half covered, one or two passes; about three quarters, a single slow one; less than half, more than one (common
    practice, no source). With passes as deep as the scratch the count agrees with it. Raises `LatheDataError`.

    Rule: expected_passes.
    """
    refuse(faults_of_depths(least_depth, greatest_depth))
    expected = _expected(reading.covered)
    if reading.to_go is None:
        return Passes(None, None, expected)
    return count_passes(reading.to_go, least_depth, greatest_depth, expected)


def count_passes(
    left: Decimal, least_depth: Decimal, greatest_depth: Decimal, expected: Expected | None = None
) -> Passes:
    """The passes in which so much (mm) comes off, at depths in which `faults_of_depths` finds no fault."""
    if left <= least_depth:
        count = 1 if left else 0
        return Passes(count, count, expected)
    count = int(FINE.divide(left, greatest_depth).to_integral_value(ROUND_CEILING))
    return Passes(count, count + 1, expected)


def faults_of_depths(least_depth: Decimal, greatest_depth: Decimal, pointer: str = "") -> Iterator[Fault]:
    """Every fault of the depths of a pass."""
    yield from not_positive(f"{pointer}/least_depth", least_depth)
    if greatest_depth < least_depth:
        yield Fault(f"{pointer}/greatest_depth", "below_the_least", "the greatest depth of a pass is below the least")


def _expected(covered: Decimal) -> Expected:
    """The trade's rule of thumb, by coverage alone."""
    if covered == 1:
        return Expected.NOTHING_LEFT
    if covered >= _THREE_QUARTERS:
        return Expected.SINGLE_SLOW_PASS
    return Expected.ONE_OR_TWO_PASSES if covered >= _HALF else Expected.MORE_THAN_ONE_PASS

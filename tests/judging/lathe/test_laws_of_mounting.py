"""Laws: what must hold of every separation, whatever the part, the mount and the turns."""

from __future__ import annotations

import cmath
import math
import random
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.judging.lathe.shapes import INDICATOR, SURE, apart, polar, scratch, trace, wobble
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.mounting import MountCheck, check_mounting
from turnrule.judging.scratch import Arc, Scratch
from turnrule.judging.separation import Doubt
from turnrule.judging.trace import around
from turnrule.judging.vectors import of_trace

D = Decimal
COUNT = 12
TRACE = st.lists(st.integers(-500, 500).map(lambda k: k * D("0.0001")), min_size=COUNT, max_size=COUNT).map(tuple)
TURN = st.integers(1, 359).map(Decimal)
ARC = st.tuples(st.integers(0, 359), st.integers(20, 340))


def _scratch(arc: tuple[int, int]) -> Scratch:
    start, width = arc
    return Scratch(D("0.02"), arcs=(Arc(D(start), around(D(start + width))),))


READINGS = st.one_of(
    st.tuples(TRACE, TRACE, TURN).map(lambda t: [MountReading(D(0), trace=t[0]), MountReading(t[2], trace=t[1])]),
    st.tuples(ARC, ARC, TURN).map(
        lambda t: [MountReading(D(0), _scratch(t[0])), MountReading(t[2], _scratch(t[1]))],
    ),
)


def _turned(reading: MountReading, steps: int) -> MountReading:
    """The same reading with the part's mark so many steps further back."""
    if reading.scratch is None:
        return replace(reading, trace=reading.trace[-steps:] + reading.trace[:-steps])
    by = D(360 * steps) / COUNT
    arcs = tuple(Arc(around(arc.start + by), around(arc.end + by)) for arc in reading.scratch.arcs)
    return replace(reading, scratch=replace(reading.scratch, arcs=arcs))


def _without_angles(check: MountCheck) -> list[object]:
    """Everything that an answer says but for the places on the part."""
    wobbles = [check.mount, check.part, *(seen.wobble for seen in check.seen)]
    return [
        check.mounted,
        check.metal_cost,
        check.mount_uncertainty,
        check.part_uncertainty,
        check.misfit,
        check.look_at,
        check.missing,
        check.notes,
        [None if seen.scratch is None else seen.scratch.runout for seen in check.seen],
        [None if one is None else one.runout for one in wobbles],
        None if check.form is None else (check.form.runout, check.form.residual, check.form.mixed_harmonics),
    ]


@given(READINGS, st.integers(1, COUNT - 1))
def test_turning_all_angles_by_the_same_amount_changes_only_angles(readings: list[MountReading], steps: int) -> None:
    one, other = (check_mounting(those, INDICATOR) for those in (readings, [_turned(r, steps) for r in readings]))
    assert _without_angles(one) == _without_angles(other)
    for before, after in ((one.mount, other.mount), (one.part, other.part)):
        if before is not None and after is not None and before.angle is not None and before.runout > D("0.0001"):
            assert after.angle is not None
            assert apart(before.angle + D(360 * steps) / COUNT, after.angle) <= 0.0101
    if one.form is not None and other.form is not None:
        moved = one.form.trace[-steps:] + one.form.trace[:-steps]
        assert max(abs(a - b) for a, b in zip(moved, other.form.trace, strict=True)) <= D("1E-7")


@given(TRACE, TRACE, TURN)
def test_two_readings_separated_and_added_give_back_their_wobbles(
    first: tuple[Decimal, ...], second: tuple[Decimal, ...], turn: Decimal
) -> None:
    check = check_mounting([MountReading(D(0), trace=first), MountReading(turn, trace=second)], SURE)
    assert check.mount is not None
    assert check.part is not None
    part = polar(float(check.part.runout), float(check.part.angle or 0))
    seat = polar(float(check.mount.runout), float(check.mount.angle or 0))
    # Angles are told to a hundredth of a degree, and a small turn makes both wobbles large.
    slack = 1e-6 + 1e-4 * (abs(part) + abs(seat))
    for readings, turned in ((first, 0.0), (second, float(turn))):
        spectrum = complex(np.fft.rfft([float(reading) for reading in readings])[1])
        assert abs(wobble(part, seat, turned) - 4 / COUNT * spectrum.conjugate()) <= slack


@given(st.tuples(st.floats(0, 0.1), st.floats(0, 359)), st.tuples(st.floats(0, 0.1), st.floats(0, 359)), TURN, TRACE)
def test_a_part_and_a_mount_added_and_separated_give_back_the_traces(
    part: tuple[float, float], seat: tuple[float, float], turn: Decimal, own: tuple[Decimal, ...]
) -> None:
    """The mount wobbles once a turn only, the part in any way: then nothing stays mixed."""
    base = of_trace(own).along(COUNT)
    form = [float(o - b) for o, b in zip(own, base, strict=True)]
    readings = [
        MountReading(t, trace=trace(wobble(polar(*part), polar(*seat), float(t)), COUNT, form=form))
        for t in (D(0), turn)
    ]
    check = check_mounting(readings, SURE)
    assert check.form is not None
    assert check.mount is not None
    for reading in readings:
        level = sum(reading.trace, D(0)) / COUNT
        mount = trace(
            wobble(0j, polar(float(check.mount.runout), float(check.mount.angle or 0)), float(reading.turned)), COUNT
        )
        for seen, o, m in zip(reading.trace, check.form.trace, mount, strict=True):
            assert abs(float(seen - level - o - m)) < 3e-5


@given(TRACE, TRACE, TURN)
def test_which_reading_came_first_does_not_matter_to_the_part(
    first: tuple[Decimal, ...], second: tuple[Decimal, ...], turn: Decimal
) -> None:
    one = check_mounting([MountReading(D(0), trace=first), MountReading(turn, trace=second)], SURE)
    other = check_mounting([MountReading(D(0), trace=second), MountReading(-turn, trace=first)], SURE)
    assert one.part == other.part
    assert one.form == other.form
    assert (one.metal_cost, one.mounted) == (other.metal_cost, other.mounted)


@given(st.lists(st.tuples(TRACE, TURN), min_size=3, max_size=6, unique_by=lambda pair: pair[1]))
def test_several_readings_are_separated_as_numpy_does_it(pairs: list[tuple[tuple[Decimal, ...], Decimal]]) -> None:
    """numpy.linalg.lstsq on complex unknowns is the reference."""
    readings = [MountReading(turn, trace=readings) for readings, turn in pairs]
    seen = np.array([4 / COUNT * np.conj(np.fft.rfft([float(r) for r in readings])[1]) for readings, _ in pairs])
    spokes = np.array([cmath.exp(-1j * math.radians(float(turn))) for _, turn in pairs])
    columns = np.column_stack([np.ones(len(pairs)), spokes])
    (own, seat), *_ = np.linalg.lstsq(columns, seen, rcond=None)
    assume(np.linalg.cond(columns) < 1e4)
    check = check_mounting(readings, SURE)
    assert check.part is not None
    assert check.mount is not None
    assert check.misfit is not None
    assert float(check.part.runout) == pytest.approx(abs(own), abs=2e-7)
    assert float(check.mount.runout) == pytest.approx(abs(seat), abs=2e-7)
    assert float(check.misfit) == pytest.approx(float(np.max(np.abs(seen - columns @ [own, seat]))), abs=2e-7)


@pytest.mark.parametrize(("turns", "count"), [((0, 180), 8), ((0, 90), 12), ((0, 40), 24), ((0, 120, 240), 12)])
def test_the_uncertainty_covers_what_reading_errors_do_to_the_mount(turns: tuple[int, ...], count: int) -> None:
    """Monte Carlo: Gaussian errors of U/2 on every reading and turn.

    k = 2 covers 95.45 in 100, which is 382 of 400, give or take 13 (three standard deviations). Nor is U so wide that
    next to nothing lies beyond half of it: that would be 127 of 400.
    """
    generator = random.Random(5)
    doubt = Doubt(D("0.004"), D(3), D(0))
    part, seat = polar(0.07, 33), polar(0.06, 210)
    inside = far = 0
    for _ in range(400):
        readings = []
        for turn in turns:
            actual = turn + (generator.gauss(0, 1.5) if turn else 0)
            noise = [generator.gauss(0, 0.002) for _ in range(count)]
            readings.append(MountReading(D(turn), trace=trace(wobble(part, seat, actual), count, form=noise)))
        check = check_mounting(readings, doubt)
        assert check.mount is not None
        assert check.mount_uncertainty is not None
        off = abs(float(check.mount.runout) - abs(seat))
        inside += off <= float(check.mount_uncertainty)
        far += off > float(check.mount_uncertainty) / 2
    assert inside >= 369
    assert far >= 40


def test_the_uncertainty_covers_what_misread_scratches_do_to_the_mount() -> None:
    """Monte Carlo: errors anywhere within the doubt of depth, arc ends and turn; the worst lies within U."""
    generator = random.Random(6)
    doubt = Doubt(D("0.002"), D(2), D(0))
    for _ in range(300):
        part, seat = polar(0.1, generator.uniform(0, 360)), polar(0.03, generator.uniform(0, 360))
        readings = []
        for turn in (0, 180):
            actual = turn + (generator.uniform(-2, 2) if turn else 0)
            true = scratch(wobble(part, seat, actual), 0.02)
            ends = [
                around(end + D(f"{generator.uniform(-2, 2):.4f}")) for end in (true.arcs[0].start, true.arcs[0].end)
            ]
            depth = true.depth + D(f"{generator.uniform(-0.002, 0.002):.6f}")
            readings.append(MountReading(D(turn), Scratch(depth, arcs=(Arc(*ends),))))
        check = check_mounting(readings, doubt)
        assert check.mount is not None
        assert check.mount_uncertainty is not None
        assert abs(float(check.mount.runout) - abs(seat)) <= float(check.mount_uncertainty)

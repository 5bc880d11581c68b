"""The engine's answers held against what the grid shows: each comparison returns what disagrees, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

import numpy as np

from tests.judging.simulation import synthetic
from tests.judging.simulation.synthetic import ANGLES, FEED, STEP, Heights, Rotor, Wobble
from turnrule.judging.index_positions import IndexReading, match_mounting, stud_positions
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.mounting import check_mounting
from turnrule.judging.planes import FaceTraces, planes_of
from turnrule.judging.scratch import Arc, Scratch, passes_to_expect, read_scratch
from turnrule.judging.separation import Doubt
from turnrule.judging.words import Face

D = Decimal
CELL = D(360) / ANGLES
NOTHING = Doubt(D(0), D(0), D(0))
HALF_DIGIT = 0.5e-3
"""What an indicator of a micrometre may be off (mm)."""

SEPARATED_FROM = 48
"""Readings of a trace that hub, rotor and mount are told apart from."""


def millimetres(heights: Heights) -> tuple[Decimal, ...]:
    """Heights in steps as the decimals that a caller would send."""
    return tuple(Decimal(int(height)).scaleb(-4) for height in heights)


def first_harmonic(heights: Heights) -> complex:
    """The once-per-turn wobble of a trace as numpy's Fourier transform has it; TIR in mm."""
    return complex(4 / len(heights) * np.conj(np.fft.rfft(heights.astype(float))[1])) * STEP


def planes(rotor: Rotor, count: int) -> Iterator[str]:
    """Clean-up planes, metal lost, thickness left: by brute force at the places that the engine is told of."""
    outboard, inboard = (synthetic.sampled(face, count) for face in (rotor.outboard(), rotor.inboard()))
    found = planes_of(
        FaceTraces(
            millimetres(outboard),
            thickness=millimetres(outboard - inboard),
            grooves={
                Face.OUTBOARD: millimetres(np.array([rotor.groove_outboard]))[0],
                Face.INBOARD: millimetres(np.array([rotor.groove_inboard]))[0],
            },
        )
    )
    out, out_metal = synthetic.cut_clean(outboard, rotor.groove_outboard)
    inn, in_metal = synthetic.cut_clean(-inboard, rotor.groove_inboard)
    tool = FEED * STEP
    cut = {Face.OUTBOARD: (out, out_metal), Face.INBOARD: (-inn, in_metal)}
    for face, (plane, metal) in cut.items():
        off = abs(float(found.faces[face].plane) - plane * STEP)
        if off >= tool - 1e-9:
            yield f"{face} plane off by {off}"
        worst = max(abs(float(m) - float(n) * STEP) for m, n in zip(found.faces[face].metal, metal, strict=True))
        if worst >= tool - 1e-9:
            yield f"{face} metal off by {worst}"
    left = (out + inn) * STEP
    if found.unequal is None or found.unequal.thickness_left is None:
        yield "no plan"
    elif not -1e-9 <= float(found.unequal.thickness_left) - left < 2 * tool:
        yield f"thickness left {found.unequal.thickness_left}, by brute force {left}"


def sampling(rotor: Rotor, count: int) -> Iterator[str]:
    """What `count` readings miss of the whole face is no more than the face changes between them."""
    face = rotor.outboard()
    found = planes_of(FaceTraces(millimetres(synthetic.sampled(face, count)), grooves={}))
    whole, _ = synthetic.cut_clean(face, 0)
    near = np.repeat(synthetic.sampled(face, count), ANGLES // count)
    between = float(np.max(np.abs(face - near))) * STEP
    missed = float(found.faces[Face.OUTBOARD].plane) - whole * STEP
    if not -1e-9 <= missed < between + FEED * STEP:
        yield f"{count} readings miss {missed} of the face"


def scratches(wobble: Wobble, depth: int, a_pass: int) -> Iterator[str]:
    """A scratch fed in on the grid, its coverage counted, the rest of the wobble cut pass by pass."""
    face = np.rint(wobble.heights()).astype(np.int64)
    marks = synthetic.scratched(face, depth)
    covered = D(int(marks.sum())) / ANGLES
    fed, deep = millimetres(np.array([depth, a_pass]))
    # A place is marked or not: the fraction is known to a place. Heights and depth are whole steps.
    doubt = Doubt(D("0.0001"), D(0), 2 / D(ANGLES))
    found = read_scratch(Scratch(fed, covered), doubt, greatest_runout=D(100))
    true = synthetic.runout(face)
    if found.at_most is None or not float(found.at_least) <= true <= float(found.at_most):
        yield f"TIR {true}, between {found.at_least} and {found.at_most} by the scratch"
        return
    left = true - depth * STEP
    if found.to_go_at_most is not None and left > float(found.to_go_at_most):
        yield f"{left} left, at most {found.to_go_at_most} by the scratch"
    counted = synthetic.passes_until_clean(face, depth, a_pass)
    # The same doubt the one way and the other: a step of depth, two places of coverage.
    step, places = D("0.0001"), 2 / D(ANGLES)
    fewest, most = (
        passes_to_expect(read_scratch(Scratch(d, min(D(1), f)), NOTHING, D(100)), step, deep).least
        for d, f in ((fed - step, covered + places), (fed + step, covered - places))
    )
    if fewest is None or most is None or not fewest <= counted <= most:
        yield f"{counted} passes by brute force, between {fewest} and {most} by the scratch"


def mount_from_traces(rotor: Rotor, turned: int) -> Iterator[str]:
    """The mount's wobble and the part's out of two traces of the whole rotor, warp, roughness and all."""
    angle = math.radians(turned)
    traces = [synthetic.sampled(rotor.outboard(rotor.mount, turn), SEPARATED_FROM, FEED) for turn in (0.0, angle)]
    readings = [
        MountReading(D(turn), trace=millimetres(trace)) for turn, trace in zip((0, turned), traces, strict=True)
    ]
    found = check_mounting(readings, NOTHING)
    own = first_harmonic(synthetic.sampled(rotor.outboard(), SEPARATED_FROM))
    # Each reading is off by half a digit at most, and half a step: so is each vector by 8/pi of that at most.
    slack = 2 * 8 / math.pi * (HALF_DIGIT + STEP) / abs(1 - np.exp(-1j * angle)) + 1e-6
    if found.mount is None or found.part is None:
        yield "not separated"
        return
    for name, wobble, true in (("mount", found.mount, rotor.mount.vector), ("part", found.part, own)):
        told = float(wobble.runout) * np.exp(1j * math.radians(float(wobble.angle or 0)))
        if abs(told - true) > slack + 1e-4 * abs(true):
            yield f"{name} off by {abs(told - true)}, {slack} allowed"


def mount_from_scratches(own: Wobble, mount: Wobble, turned: int, share: float) -> Iterator[str]:
    """The same out of two scratches fed in on the grid, their arcs counted in places."""
    readings = []
    seen = []
    for turn in (0, turned):
        face = np.rint(own.heights() + mount.heights(math.radians(turn))).astype(np.int64)
        depth = max(20, int(share * (face.max() - face.min())))
        seen.append(synthetic.runout(face))
        marked = synthetic.arcs(synthetic.scratched(face, depth))
        if len(marked) != 1:
            return  # a wobble smaller than the depth, or of a few steps only: nothing to place
        (start, end), *_ = marked
        fed = millimetres(np.array([depth]))[0]
        readings.append(MountReading(D(turn), Scratch(fed, arcs=(Arc(_cell(start), _cell(end)),))))
    if min(seen) < 0.01:
        return  # next to nothing wobbles: the steps of the grid are all that is seen
    found = check_mounting(readings, Doubt(D("0.0002"), CELL, D(0)))
    if found.mount is None or found.mount_uncertainty is None:
        yield "not separated"
        return
    # The two readings' errors are at their worst and add up; U adds them in squares.
    allowed = math.sqrt(2) * float(found.mount_uncertainty) + 1e-6
    told = float(found.mount.runout) * np.exp(1j * math.radians(float(found.mount.angle or 0)))
    if abs(told - mount.vector) > allowed:
        yield f"mount off by {abs(told - mount.vector)}, {allowed} allowed"


def _cell(degrees: float) -> Decimal:
    return D(f"{degrees:.6f}") % 360


def metal_of_the_mount(rotor: Rotor) -> Iterator[str]:
    """A flat part with parallel faces, cut as mounted: what it loses is the TIR that the engine names as its cost."""
    flat = Rotor(Wobble(0, 0), np.zeros(ANGLES), np.full(ANGLES, 250_000), 0, 0, rotor.mount, rotor.hub)
    out, _ = synthetic.cut_clean(flat.outboard(flat.mount), 0)
    inn, _ = synthetic.cut_clean(-flat.inboard(flat.mount), 0)
    lost = 25 - (out + inn) * STEP
    readings = [
        MountReading(D(turn), trace=millimetres(synthetic.sampled(flat.outboard(flat.mount, math.radians(turn)), 60)))
        for turn in (0, 180)
    ]
    cost = check_mounting(readings, NOTHING).metal_cost
    if cost is None or not -4 * STEP <= lost - float(cost) < 2 * FEED * STEP + 4 * STEP:
        yield f"{lost} lost to the mount by brute force, {cost} named"


def matching(rotor: Rotor, studs: int, step: int) -> Iterator[str]:
    """The index position that makes hub and rotor least: every stud tried on the grid."""
    turns = stud_positions(studs)
    faces = [synthetic.sampled(rotor.outboard(rotor.hub, math.radians(float(turn))), SEPARATED_FROM) for turn in turns]
    readings = [
        IndexReading(turn, millimetres(face))
        for turn, face in zip(turns, faces, strict=True)
        if turn in (0, turns[step])
    ]
    found = match_mounting(readings, turns, NOTHING, now=D(0))
    tried = [synthetic.runout(face) for face in faces]
    # Half a step of each reading, and what that does to the hub told apart from it.
    spread = abs(1 - np.exp(-2j * math.pi * step / studs))
    slack = 2 * STEP + 2 * 8 / math.pi * STEP / spread + 1e-6
    for position, true in zip(found.positions, tried, strict=True):
        if position.whole is None or abs(float(position.whole) - true) > slack:
            yield f"turned {position.turned}: {position.whole} told, {true} by brute force"
    if found.best is None or found.gain is None or float(found.best.remaining) > min(tried) + slack:
        yield f"{found.best} is best, {min(tried)} by brute force"
    elif abs(float(found.gain) - (tried[0] - min(tried))) > 2 * slack:
        yield f"{found.gain} gained, {tried[0] - min(tried)} by brute force"


def all_of(seed: int) -> list[str]:
    """Every comparison on one random rotor; empty where all agree."""
    generator = np.random.default_rng(seed)
    rotor = synthetic.rotor(generator)
    wobble = synthetic.wobble(generator, 200, 2_000)
    depth = int(wobble.runout * generator.uniform(0.05, 0.98))
    studs = int(generator.integers(3, 11))
    turned = int(generator.integers(15, 346))
    found = [
        *planes(rotor, ANGLES if seed % 40 == 0 else 60),
        *sampling(rotor, 60),
        *scratches(wobble, depth, int(generator.integers(100, 600))),
        *mount_from_traces(rotor, turned),
        *mount_from_scratches(rotor.own, rotor.mount, turned, float(generator.uniform(0.1, 0.9))),
        *metal_of_the_mount(rotor),
        *matching(rotor, studs, int(generator.integers(1, studs))),
    ]
    return [f"seed {seed}: {words}" for words in found]

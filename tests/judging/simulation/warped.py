"""How far off the scratch formulae are on faces that do not wobble once a turn: measured on the grid.

The formulae hold for a once-per-turn wobble. Here a share of the wobble is a warp (a higher harmonic) instead, tools
are fed in until about the wanted part of a turn is covered, and what the engine makes of it is held against the face.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from tests.judging.simulation import synthetic
from tests.judging.simulation.synthetic import ANGLES, PLACES, STEP, Heights
from turnrule.judging.scratch import Scratch, read_scratch
from turnrule.judging.separation import Doubt

SHARES = (0, 5, 10, 20, 50)
"""The warp's range as a percentage of the once-per-turn TIR."""

COVERED = (25, 50, 75)
"""Percent of a turn."""

_NOTHING = Doubt(Decimal(0), Decimal(0), Decimal(0))


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: errors of the TIR and of what is still to go, in percent of the true TIR."""

    share: int
    covered: int
    runout_median: float
    runout_worst: float
    to_go_worst: float
    several_arcs: float


def _face(generator: np.random.Generator, share: int) -> Heights:
    """A wobble of 0.2 mm with so much warp, two to four times a turn."""
    once = 1_000 * np.cos(PLACES - generator.uniform(0, 2 * np.pi))
    harmonic = int(generator.integers(2, 5))
    warp = 10 * share * np.cos(harmonic * PLACES - generator.uniform(0, 2 * np.pi))
    face: Heights = np.rint(once + warp).astype(np.int64)
    return face


def _depth_that_covers(face: Heights, covered: int) -> int:
    """The depth whose scratch covers about this much of the turn."""
    ordered = np.sort(face)[::-1]
    return int(face.max() - ordered[ANGLES * covered // 100 - 1]) + 1


def row(share: int, covered: int, faces: int = 200) -> Row:
    """The errors over so many random faces."""
    generator = np.random.default_rng(1000 * share + covered)
    runout, to_go, split = [], [], 0
    for _ in range(faces):
        face = _face(generator, share)
        depth = _depth_that_covers(face, covered)
        marks = synthetic.scratched(face, depth)
        split += len(synthetic.arcs(marks)) > 1
        fed = Decimal(depth).scaleb(-4)
        found = read_scratch(Scratch(fed, Decimal(int(marks.sum())) / ANGLES), _NOTHING, greatest_runout=Decimal(100))
        if found.runout is None or found.to_go is None:
            raise AssertionError(found)
        true = synthetic.runout(face)
        runout.append(100 * abs(float(found.runout) - true) / true)
        to_go.append(100 * abs(float(found.to_go) - (true - depth * STEP)) / true)
    return Row(share, covered, float(np.median(runout)), max(runout), max(to_go), 100 * split / faces)


def table(faces: int = 200) -> Iterator[str]:
    """The table as it is printed."""
    yield "In percent of the true TIR, and of the faces:"
    yield "warp   covered  TIR off, median  TIR off, worst  to go off, worst  several arcs"
    for share in SHARES:
        for covered in COVERED:
            r = row(share, covered, faces)
            yield (
                f"{r.share:3d} %  {r.covered:5d} %  {r.runout_median:15.1f}  {r.runout_worst:14.1f}"
                f"  {r.to_go_worst:16.1f}  {r.several_arcs:12.0f}"
            )

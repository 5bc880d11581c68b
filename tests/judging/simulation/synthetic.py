"""A synthetic rotor on a grid of angles: wobble, warp, thickness variation, grooves, noise, mount and hub. NumPy only.

Heights are in whole steps of 0.1 micrometre, so that what a tool does on the grid is exact. Nothing here knows a
formula of the engine's: tools are fed in step by step until no place is left uncut, and what they touch is counted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Heights = NDArray[np.int64]
Marks = NDArray[np.bool_]

ANGLES = 2_400
"""Places around the part."""

STEP = 1e-4
"""One step of height, mm."""

FEED = 10
"""One step of the tool: 1 micrometre."""

PLACES = 2 * np.pi * np.arange(ANGLES) / ANGLES
ACROSS, ALONG = np.cos(PLACES), np.sin(PLACES)


@dataclass(frozen=True, slots=True)
class Wobble:
    """A once-per-turn wobble: TIR in steps, and where it is highest, radians."""

    runout: float
    angle: float

    @property
    def vector(self) -> complex:
        """TIR in mm towards the high spot."""
        return self.runout * STEP * complex(np.cos(self.angle), np.sin(self.angle))

    def heights(self, turned: float = 0.0) -> NDArray[np.float64]:
        """Its height at every place of a part that is turned so far (radians) on what wobbles."""
        highest = self.angle - turned
        result: NDArray[np.float64] = self.runout / 2 * (np.cos(highest) * ACROSS + np.sin(highest) * ALONG)
        return result


@dataclass(frozen=True, slots=True)
class Rotor:
    """One rotor as it is by itself, and what it sits on."""

    own: Wobble
    shape: NDArray[np.float64]
    thickness: Heights
    groove_outboard: int
    groove_inboard: int
    mount: Wobble
    hub: Wobble

    def outboard(self, seat: Wobble | None = None, turned: float = 0.0) -> Heights:
        """The outboard face as an indicator sees it, on a seat and turned on it."""
        heights = self.own.heights() + self.shape
        if seat is not None:
            heights = heights + seat.heights(turned)
        return np.rint(heights).astype(np.int64)

    def inboard(self, seat: Wobble | None = None, turned: float = 0.0) -> Heights:
        """The inboard face, in the same coordinate."""
        return self.outboard(seat, turned) - self.thickness


def _harmonics(generator: np.random.Generator, first: int, last: int, greatest: float) -> NDArray[np.float64]:
    """A sum of harmonics with random sizes and phases."""
    total = np.zeros(ANGLES)
    for harmonic in range(first, last + 1):
        size = generator.uniform(0, greatest) / harmonic
        total += size * np.cos(harmonic * PLACES - generator.uniform(0, 2 * np.pi))
    return total


def wobble(generator: np.random.Generator, least: float, greatest: float) -> Wobble:
    """A random wobble with a TIR (steps) between these."""
    return Wobble(generator.uniform(least, greatest), generator.uniform(0, 2 * np.pi))


def rotor(generator: np.random.Generator) -> Rotor:
    """A random rotor: up to 0.15 mm of its own, warped, of uneven thickness, grooved, rough."""
    thickness = generator.uniform(200_000, 280_000) + _harmonics(generator, 1, 4, 150)
    return Rotor(
        own=wobble(generator, 50, 1_500),
        shape=_harmonics(generator, 2, 6, 200) + generator.uniform(-10, 10, ANGLES),
        thickness=np.rint(thickness + generator.uniform(-10, 10, ANGLES)).astype(np.int64),
        groove_outboard=int(generator.integers(0, 2_000)),
        groove_inboard=int(generator.integers(0, 2_000)),
        mount=wobble(generator, 0, 800),
        hub=wobble(generator, 0, 800),
    )


def cut_clean(face: Heights, groove: int, feed: int = FEED) -> tuple[int, Heights]:
    """Feed a tool in from above, step by step, until it has been to the floor of the groove at every place.

    Returns where it then stands, and the metal taken off at each place.
    """
    floor = face - groove
    tool = int(face.max())
    while (floor < tool).any():
        tool -= feed
    return tool, face - np.minimum(face, tool)


def scratched(face: Heights, depth: int) -> Marks:
    """Where a tool touches that is fed in by `depth` from its first touch."""
    marks: Marks = face > face.max() - depth
    return marks


def arcs(marks: Marks) -> list[tuple[float, float]]:
    """The unbroken stretches of marks, from the first marked place to the last, degrees."""
    before = np.roll(marks, 1)
    starts = np.flatnonzero(marks & ~before)
    ends = np.flatnonzero(~marks & before) - 1
    if len(starts) and ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    degrees = 360 / ANGLES
    return [(start * degrees, end % ANGLES * degrees) for start, end in zip(starts, ends, strict=True)]


def passes_until_clean(face: Heights, depth: int, a_pass: int) -> int:
    """How many passes as deep as this it takes after a scratch of `depth` until no place is left uncut."""
    tool = int(face.max()) - depth
    count = 0
    while (face < tool).any():
        tool -= a_pass
        count += 1
    return count


def runout(face: Heights | NDArray[np.float64]) -> float:
    """TIR in mm."""
    return float(face.max() - face.min()) * STEP


def sampled(face: Heights, count: int, digit: int = 1) -> Heights:
    """What an indicator of this least digit (steps) reads at so many equal places, the first at the mark."""
    picked = face[:: ANGLES // count]
    return np.rint(picked / digit).astype(np.int64) * digit

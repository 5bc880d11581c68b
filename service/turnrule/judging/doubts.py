"""Earlier readings that cannot all be true: a part only ever wears, so one that seems to grow names a false reading.

A later reading contradicts an earlier one when it is thicker (drum: narrower) by more than both gauges can explain:
by more than the root of the sum of the squares of their expanded uncertainties, which is sqrt 2 times that of one
reading where both are alike (GUM 5.1.2, two independent readings). Readings at the same distance contradict nothing.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from turnrule.judging.lengths import EXACT, on_grid
from turnrule.judging.parts import EarlierReading
from turnrule.judging.planning_words import DoubtReason

_WORKING = decimal.Context(prec=60)
_LEAST_BLOCK = 2
_NO_LINE = Decimal("-Infinity")
_ALIKE = Decimal("1E-20")
"""Squared distances from a line (mm2) closer than this do not tell two readings apart."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that is left out of the wear line: its place among those given, why, and what it contradicts."""

    place: int
    reason: DoubtReason
    against: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Point:
    """A reading as metal that is left (mm, more is newer) at a distance (km), its place, its gauge's U squared."""

    place: int
    distance: Decimal
    metal: Decimal
    squared: Decimal


def doubts_about(readings: Sequence[EarlierReading], *, rotor: bool, expanded: Decimal) -> tuple[Doubt, ...]:
    """The readings to leave out, by their place; `expanded` is the U (mm) of a reading that does not bring its own.

    Where two readings or more all stand above two or more earlier ones, the part was changed in between: the earlier
    ones are of another part. Else the reading that contradicts the most others is left out, again and again; of
    several that contradict equally many, the one without which the rest lie closest to a line; where that does not
    tell them apart, the one whose absence leaves the faster wear, which is the safe side; of these the last.
    """
    with decimal.localcontext(EXACT):
        points = sorted(
            (_point(place, one, rotor=rotor, expanded=expanded) for place, one in enumerate(readings)),
            key=lambda point: (point.distance, -point.metal),
        )
        start = _of_this_part(points)
        earlier = [Doubt(point.place, DoubtReason.EARLIER_PART, (points[start].place,)) for point in points[:start]]
        grown = tuple(_contradictions(points[start:]))
    return tuple(sorted((*earlier, *grown), key=lambda doubt: doubt.place))


def _point(place: int, one: EarlierReading, *, rotor: bool, expanded: Decimal) -> _Point:
    own = expanded if one.expanded is None else one.expanded
    return _Point(place, one.odometer_km, one.size if rotor else -one.size, own * own)


def _grows(earlier: _Point, later: _Point) -> bool:
    """True where `later` has more metal than the gauges can explain.

    Of readings at one distance the one with the most metal comes first, so that none of them grows on another.
    """
    more = later.metal - earlier.metal
    return more > 0 and more * more > earlier.squared + later.squared


def _of_this_part(points: Sequence[_Point]) -> int:
    """Where the readings of the part that is fitted now begin."""
    for start in range(len(points) - _LEAST_BLOCK, _LEAST_BLOCK - 1, -1):
        newest = max(points[:start], key=lambda point: point.metal)
        if all(_grows(newest, point) for point in points[start:]):
            return start
    return 0


def _contradictions(points: Sequence[_Point]) -> Iterable[Doubt]:
    """The readings to leave out so that none is left that contradicts another."""
    against: dict[int, set[int]] = {point.place: set() for point in points}
    for index, earlier in enumerate(points):
        for later in points[index + 1 :]:
            if _grows(earlier, later):
                against[earlier.place].add(later.place)
                against[later.place].add(earlier.place)
    left = {place: set(others) for place, others in against.items()}
    kept = list(points)
    while most := max((len(others) for others in left.values()), default=0):
        blamed = _blamed([point for point in kept if len(left[point.place]) == most], kept)
        kept.remove(blamed)
        for other in left.pop(blamed.place):
            left[other].discard(blamed.place)
        yield Doubt(blamed.place, DoubtReason.GROWN, tuple(sorted(against[blamed.place])))


def _blamed(tied: Sequence[_Point], kept: Sequence[_Point]) -> _Point:
    """Of readings that contradict equally many, the one that the others speak against most."""
    with decimal.localcontext(_WORKING):
        sums = _Sums.of(kept)
        return max(reversed(tied), key=sums.without)


@dataclass(frozen=True, slots=True)
class _Sums:
    """The sums of a line through points, from which one can be taken out without going through all again."""

    count: int
    x: Decimal
    y: Decimal
    xx: Decimal
    xy: Decimal
    yy: Decimal

    @classmethod
    def of(cls, points: Sequence[_Point]) -> _Sums:
        """The sums over all points."""
        nothing = Decimal(0)
        return cls(
            len(points),
            sum((point.distance for point in points), nothing),
            sum((point.metal for point in points), nothing),
            sum((point.distance * point.distance for point in points), nothing),
            sum((point.distance * point.metal for point in points), nothing),
            sum((point.metal * point.metal for point in points), nothing),
        )

    def without(self, point: _Point) -> tuple[Decimal, Decimal]:
        """How well all others lie on a line, and how fast that line wears; more is more against the point."""
        count, x, y = self.count - 1, self.x - point.distance, self.y - point.metal
        run = count * (self.xx - point.distance * point.distance) - x * x
        if run <= 0:
            return _NO_LINE, _NO_LINE
        rise = count * (self.xy - point.distance * point.metal) - x * y
        spread = count * (self.yy - point.metal * point.metal) - y * y
        off = (spread - rise * rise / run) / count
        return -on_grid(off, ROUND_HALF_EVEN, _ALIKE), -rise / run

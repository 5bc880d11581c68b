"""How fast the part wears and how far it still goes, from the readings that can all be true, in whole numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor, sqrt

import scipy.stats

from tests.judging.agreement.answers import LifeAnswer, Line, Reached
from tests.judging.agreement.exact import KM_IN_UM, distance, length
from tests.judging.agreement.governed import Governed
from tests.judging.agreement.shapes import HistoryBody
from tests.judging.agreement.told import Told

UNSTATED = 30_000_000  # U of a gauge that nobody states: 0.03 mm (common practice, no source)
ALIKE = 100  # of 0.01 pm2: squared distances from a line closer than 1E-20 mm2 are alike
LIFELESS = {"readings_contradict", "one_distance", "not_wearing"}


@dataclass(frozen=True, slots=True)
class Point:
    """One reading: metal that is left (pm, more is newer), its distance (um), U squared (pm2)."""

    place: int
    way: int
    metal: int
    squared: int
    finished: bool


@dataclass(slots=True)
class Wear:
    """Loss of size per distance: `loss` pm in `way` um; both None where no rate can be had.

    `out` says why a reading is left out and against which others it speaks, by its place.
    """

    count: int
    today: bool
    loss: int | None = None
    way: int | None = None
    variance: float | None = None
    freedom: int = 0
    out: dict[int, tuple[str, tuple[int, ...]]] = field(default_factory=dict)
    untold: list[str] = field(default_factory=list)
    disputed: bool = False

    @property
    def suspect(self) -> bool:
        """Whether the earlier readings do not all show the part wearing."""
        named = any(against for _, against in self.out.values())
        return self.count > self.today and (named or not LIFELESS.isdisjoint(self.untold))

    @property
    def binding(self) -> tuple[int, int] | None:
        """The rate where a policy may rest on it."""
        return None if self.loss is None or self.way is None or self.disputed else (self.loss, self.way)


def asked_of_life(told: Told) -> bool:
    """Whether anything is given from which to tell the life."""
    request = told.request
    return bool(request.get("history")) or any(name in request for name in ("drawn", "when_new", "services"))


def wear_of(told: Told, size: int | None) -> Wear:
    """The least-squares rate over the readings that belong on one line."""
    points = _points(told, size)
    earlier = [point for point in points if point.place < _earlier(told)]
    new = told.request.get("when_new")
    wear = Wear(len(points), today=len(points) > len(earlier))
    start = None if new is None else (_way(new), _metal(told, new))
    if start is not None:
        wear.out |= {one.place: ("earlier_part", ()) for one in earlier if one.way < start[0]}
    if _machined(told, wear, earlier):
        start = None
    wear.out |= {one.place: ("machined_since", ()) for one in points[len(earlier) :] if one.finished}
    wear.out |= _contradictions([one for one in earlier if one.place not in wear.out])
    found = _contradictions([one for one in points if one.place not in wear.out])
    wear.disputed = bool(found)
    wear.out |= found
    _fit(wear, [one for one in points if one.place not in wear.out], start)
    return wear


def _earlier(told: Told) -> int:
    return len(told.request.get("drawn", [])) + len(told.request.get("history", []))


def _way(body: HistoryBody) -> int:
    return distance(body["odometer"]["value"], body["odometer"]["unit"])


def _metal(told: Told, body: HistoryBody) -> int:
    return told.sign * length(str(body.get("thickness" if told.rotor else "diameter")), told.unit)


def _points(told: Told, size: int | None) -> list[Point]:
    bodies = [*told.request.get("drawn", []), *told.request.get("history", [])]
    points = []
    for place, body in enumerate(bodies):
        gauge = length(body["expanded"], told.unit) if "expanded" in body else UNSTATED
        points.append(Point(place, _way(body), _metal(told, body), gauge**2, body.get("finished", False)))
    odometer = told.request.get("odometer")
    if odometer is not None and size is not None:
        way = distance(odometer["value"], odometer["unit"])
        points.append(Point(len(bodies), way, told.sign * size, told.expanded**2, told.after_machining))
    return points


def _machined(told: Told, wear: Wear, earlier: Sequence[Point]) -> bool:
    """Leaves out all before the last machining: at its odometer, what was drawn before it or told by the caller."""
    drawn = len(told.request.get("drawn", []))
    left = [one for one in earlier if one.place not in wear.out]
    finished = [(one.way, one.place) for one in left if one.finished]
    if not finished:
        return False
    way, place = max(finished)
    for one in left:
        beside = one.way == way and (one.place < place or one.place >= drawn)
        if one.way < way or beside:
            wear.out[one.place] = ("machined_since", ())
    return True


def _speaks_against(one: Point, other: Point) -> bool:
    """Whether the one read later has more metal than both gauges explain."""
    early, late = (one, other) if one.way < other.way else (other, one)
    more = late.metal - early.metal
    return early.way != late.way and more > 0 and more**2 > early.squared + late.squared


def _contradictions(points: Sequence[Point]) -> dict[int, tuple[str, tuple[int, ...]]]:
    """Readings of a part that was there before, and those that contradict others until none does."""
    ranked = sorted(points, key=lambda one: (one.way, -one.metal))
    out: dict[int, tuple[str, tuple[int, ...]]] = {}
    for start in reversed(range(2, len(ranked) - 1)):
        thickest = max(ranked[:start], key=lambda one: one.metal)
        if all(thickest.way < one.way and _speaks_against(thickest, one) for one in ranked[start:]):
            out = {one.place: ("earlier_part", (ranked[start].place,)) for one in ranked[:start]}
            ranked = ranked[start:]
            break
    against = {
        one.place: sorted(other.place for other in ranked if other is not one and _speaks_against(one, other))
        for one in ranked
    }
    kept = list(ranked)
    while True:
        here = {one.place for one in kept}
        count = {one.place: len(here.intersection(against[one.place])) for one in kept}
        most = max(count.values(), default=0)
        if not most:
            return out
        blamed = [one for one in kept if count[one.place] == most]
        worst = max(reversed(blamed), key=lambda one: _without(one, kept))
        out[worst.place] = ("grown", tuple(against[worst.place]))
        kept.remove(worst)


def _without(blamed: Point, kept: Iterable[Point]) -> tuple[float, int, float | Fraction]:
    """How close the others lie to a line, then how fast that line wears."""
    rest = [(one.way, one.metal) for one in kept if one is not blamed]
    rise, run = _slope(rest)
    if run <= 0:
        return 0, 0, 0
    mean = Fraction(sum(metal for _, metal in rest), len(rest))
    middle = Fraction(sum(way for way, _ in rest), len(rest))
    slope = Fraction(rise, run)
    off = sum(((metal - mean - slope * (way - middle)) ** 2 for way, metal in rest), Fraction(0))
    return 1, -round(off * ALIKE), -slope


def _slope(points: Sequence[tuple[int, int]]) -> tuple[int, int]:
    n, sum_x, sum_y = len(points), sum(x for x, _ in points), sum(y for _, y in points)
    rise = n * sum(x * y for x, y in points) - sum_x * sum_y
    return rise, n * sum(x * x for x, _ in points) - sum_x * sum_x


def _fit(wear: Wear, kept: Sequence[Point], start: tuple[int, int] | None) -> None:
    """The rate of what is kept, through the size when new where that is known."""
    grown = sum(reason == "grown" for reason, _ in wear.out.values())
    free = 2 if start is None else 1
    if grown and grown >= len(kept):
        wear.untold.append("readings_contradict")
        return
    if len(kept) < free:
        wear.untold.append("too_few_readings")
        return
    points = [(one.way, one.metal) if start is None else (one.way - start[0], one.metal - start[1]) for one in kept]
    rise, run = _slope(points)
    if start is not None:
        rise, run = sum(x * y for x, y in points), sum(x * x for x, _ in points)
    if run == 0 or rise >= 0:
        wear.untold.append("one_distance" if run == 0 else "not_wearing")
        return
    wear.loss, wear.way, wear.freedom = -rise, run, len(kept) - free
    if not wear.freedom:
        wear.untold.append("too_few_for_bound")
        return
    slope, spread = Fraction(rise, run), Fraction(run, len(kept)) if start is None else Fraction(run)
    base = Fraction(0) if start is not None else Fraction(sum(y for _, y in points), len(points))
    middle = Fraction(0) if start is not None else Fraction(sum(x for x, _ in points), len(points))
    squares = sum(((y - base - slope * (x - middle)) ** 2 for x, y in points), Fraction(0))
    wear.variance = float(squares / wear.freedom / spread)


def life_of(told: Told, wear: Wear, size: int | None, discard: Governed | None) -> LifeAnswer | None:
    """What is told of the life, the services among it."""
    if not asked_of_life(told):
        return None
    untold = [*wear.untold, *(["no_size"] if size is None else []), *(["no_discard_limit"] if discard is None else [])]
    left, least = remaining_km(told, wear, size, discard), None
    if wear.variance is not None and wear.loss is not None and wear.way is not None and left is not None:
        at_most = wear.loss / wear.way + scipy.stats.t.ppf(0.95, wear.freedom) * sqrt(wear.variance)
        above = told.sign * (size - discard.value) if size is not None and discard is not None else 0
        least = max(0.0, above / at_most / KM_IN_UM)
    return LifeAnswer(
        left_out=tuple((place, *wear.out[place]) for place in sorted(wear.out)),
        untold=tuple(untold),
        rate=None if wear.loss is None or wear.way is None else Fraction(wear.loss, wear.way),
        disputed=wear.disputed,
        counted_from=size,
        left=left,
        reached=_reached(told, left),
        at_least=least,
    )


def _reached(told: Told, left: int | None) -> Reached | None:
    """The services ahead, walked one by one where there are few."""
    services, odometer = told.request.get("services"), told.request.get("odometer")
    if services is None or odometer is None or left is None:
        return None
    now = distance(odometer["value"], odometer["unit"])
    end = now + left * KM_IN_UM
    if "at" in services:
        ahead = sorted({distance(one["value"], one["unit"]) for one in services["at"]})
        ahead = [one for one in ahead if one > now]
        reached = [one for one in ahead if one <= end]
        missed = [one for one in ahead if one > end]
        return len(reached), min(reached, default=None), max(reached, default=None), min(missed, default=None)
    step = distance(services["interval"]["value"], services["interval"]["unit"])
    last = services.get("last")
    begin = 0 if last is None else distance(last["value"], last["unit"])
    following = begin + (floor(Fraction(now - begin, step)) + 1) * step
    count = 0 if following > end else (end - following) // step + 1
    if not count:
        return 0, None, None, following
    return count, following, following + (count - 1) * step, following + count * step


def remaining_km(told: Told, wear: Wear, size: int | None, discard: Governed | None) -> int | None:
    """Whole kilometres until the discard limit, from `size`; none where it is past already."""
    if wear.loss is None or wear.way is None or size is None or discard is None:
        return None
    return max(0, told.sign * (size - discard.value) * wear.way // (wear.loss * KM_IN_UM))


def size_for_distance(told: Told, wear: Wear, discard: Governed | None) -> Fraction | None:
    """The size from which the part still goes the policy's whole kilometres; None where none is asked or none known."""
    asked, binding = told.policy.get("remaining_distance"), wear.binding
    if asked is None or binding is None or discard is None:
        return None
    kilometres = -(-distance(asked["value"], asked["unit"]) // KM_IN_UM)
    return discard.value + told.sign * Fraction(kilometres * KM_IN_UM * binding[0], binding[1])


def remaining_line(told: Told, wear: Wear, kilometres: int | None) -> tuple[Line, bool]:
    """The policy's least distance, and whether it is asked for but cannot be told."""
    asked = told.policy.get("remaining_distance")
    if asked is None or kilometres is None or wear.disputed:
        return Line("remaining_distance", "not_assessed"), asked is not None
    least = distance(asked["value"], asked["unit"])
    outcome = "pass" if kilometres * KM_IN_UM >= least else "fail"
    return Line("remaining_distance", outcome, "remaining_distance", kilometres * KM_IN_UM, least, "policy"), False

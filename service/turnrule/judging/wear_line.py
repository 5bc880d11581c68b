"""The life of the part that is judged: which of its readings are fitted, and whether a policy may rest on them.

What leaves an earlier reading out depends on the earlier readings alone, and what today's reading contradicts is only
ever told: a policy's least distance is then not held against it. So no part that is thinner, and no gauge that is
coarser, can get a better verdict by way of the readings that it leaves out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from turnrule.judging.case import Case
from turnrule.judging.doubts import Doubt, doubts_about
from turnrule.judging.life import life_without
from turnrule.judging.part_life import PartLife
from turnrule.judging.parts import EarlierReading, Part
from turnrule.judging.planning_words import DoubtReason
from turnrule.judging.services import Reach, services_reached

UNSTATED_GAUGE = Decimal("0.03")
"""U of a gauge that nobody states (mm): a workshop calliper's (common practice, no source)."""


def life_of_part(case: Case, size: Decimal | None) -> PartLife | None:
    """What the earlier readings tell of this part from `size` on; None where nothing was asked of its life.

    The line is that of the readings since the part was new or was last machined. Rule: remaining_distance.
    """
    part = case.part
    if not part.history and part.drawn is None and part.new is None and part.services is None:
        return None
    earlier = (*(part.drawn or ()), *part.history)
    today = _today(case)
    readings = earlier if today is None else (*earlier, today)
    sieve, limit = _Sieve(readings, part), case.discard.governing
    sieve.leave_out_other_lines(len(earlier))
    sieve.leave_out_contradictions(range(len(earlier)))
    disputed = today is not None and sieve.leave_out_contradictions(range(len(readings)))
    life = life_without(
        readings,
        sieve.told(),
        rotor=part.kind.is_rotor,
        size=size,
        discard=None if limit is None else limit.value,
        new=None if sieve.machined else part.new,
    )
    reached, surely = (_reach(part, left) for left in (life.left_km, life.at_least_km))
    return PartLife(life, readings, today is not None, disputed, size, reached, surely)


def _today(case: Case) -> EarlierReading | None:
    """Today's reading, with the gauge that read it."""
    worst, odometer = case.measured.worst(case.part.kind), case.part.odometer_km
    if worst is None or odometer is None:
        return None
    return EarlierReading(worst, odometer, expanded=case.uncertainty.expanded, finished=case.finished)


def _reach(part: Part, left_km: Decimal | None) -> Reach | None:
    if part.services is None or part.odometer_km is None or left_km is None:
        return None
    return services_reached(part.services, odometer_km=part.odometer_km, left_km=left_km)


class _Sieve:
    """The readings of a part, and the doubts that leave some of them out."""

    def __init__(self, readings: Sequence[EarlierReading], part: Part) -> None:
        self.readings, self.part = readings, part
        self.doubts: dict[int, Doubt] = {}
        self.machined = False

    def told(self) -> tuple[Doubt, ...]:
        """The doubts by their place."""
        return tuple(self.doubts[place] for place in sorted(self.doubts))

    def leave_out_other_lines(self, earlier: int) -> None:
        """Leave out what was read before the part was new, and what a machining parts from the newest line.

        The first `earlier` readings are not today's. A part that was finished today wears on the line of the readings
        before; today's size is not on it.
        """
        new = self.part.new
        if new is not None:
            places = [place for place in range(earlier) if self.readings[place].odometer_km < new.odometer_km]
            self._leave_out(places, DoubtReason.EARLIER_PART)
        finished = [place for place in self._kept(range(earlier)) if self.readings[place].finished]
        if finished:
            self.machined = True
            last = max(finished, key=lambda place: (self.readings[place].odometer_km, place))
            self._leave_out(self._before(last, earlier), DoubtReason.MACHINED_SINCE)
        today = range(earlier, len(self.readings))
        self._leave_out([place for place in today if self.readings[place].finished], DoubtReason.MACHINED_SINCE)

    def _before(self, last: int, earlier: int) -> list[int]:
        """The places of what was read before a machining; at its own odometer, all but what was recorded later.

        Readings that were drawn stand in their order before those that the caller tells, of which it is not known.
        """
        at = self.readings[last].odometer_km
        drawn = len(self.part.drawn or ())
        return [
            place
            for place in self._kept(range(earlier))
            if self.readings[place].odometer_km < at
            or (self.readings[place].odometer_km == at and (place < last or place >= drawn))
        ]

    def leave_out_contradictions(self, among: Iterable[int]) -> bool:
        """Leave out what contradicts another of these readings that are kept; true where there was any."""
        places = self._kept(among)
        found = doubts_about(
            [self.readings[place] for place in places], rotor=self.part.kind.is_rotor, expanded=UNSTATED_GAUGE
        )
        for doubt in found:
            against = tuple(places[other] for other in doubt.against)
            self.doubts[places[doubt.place]] = replace(doubt, place=places[doubt.place], against=against)
        return bool(found)

    def _kept(self, among: Iterable[int]) -> list[int]:
        return [place for place in among if place not in self.doubts]

    def _leave_out(self, places: Iterable[int], reason: DoubtReason) -> None:
        for place in places:
            self.doubts[place] = Doubt(place, reason, ())

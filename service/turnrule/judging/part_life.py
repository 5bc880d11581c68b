"""The life of a part as it is told: figures, the readings behind them, and whether a policy may rest on them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.life import Life
from turnrule.judging.parts import EarlierReading
from turnrule.judging.planning_words import Untold
from turnrule.judging.services import Reach

_SUSPECT = frozenset({Untold.READINGS_CONTRADICT, Untold.ONE_DISTANCE, Untold.NOT_WEARING})


@dataclass(frozen=True, slots=True)
class PartLife:
    """The life of a part with the readings that it was worked out from, today's last where the size was read.

    The places in `life.doubts` are those in `readings`. `disputed` is true where today's reading contradicts an
    earlier one; `counted_from` is the size (mm) from which the distance counts.
    """

    life: Life
    readings: tuple[EarlierReading, ...]
    today: bool
    disputed: bool
    counted_from: Decimal | None
    reached: Reach | None
    surely_reached: Reach | None

    @property
    def lost_over(self) -> tuple[Decimal, Decimal] | None:
        """Millimetres lost over kilometres, exactly, where a policy may rest on them."""
        rate = self.life.rate
        return None if rate is None or self.disputed else (rate.lost, rate.over)

    @property
    def suspect(self) -> bool:
        """True where the earlier readings do not all show the part wearing."""
        named = any(doubt.against for doubt in self.life.doubts)
        return len(self.readings) > self.today and (named or not _SUSPECT.isdisjoint(self.life.untold))

"""The life that is left: wear rate with its uncertainty, distance to the discard limit, services that it reaches."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal

from turnrule.judging.doubts import Doubt, doubts_about
from turnrule.judging.lengths import EXACT, on_grid, quotient
from turnrule.judging.parts import EarlierReading
from turnrule.judging.planning_words import DoubtReason, Untold
from turnrule.judging.student import quantile
from turnrule.judging.wear import WearFit, distance_left, fit, fit_from_new

CONFIDENCE = Decimal("0.95")
"""How sure the lower bound of the distance is, one-sided."""

_FINE = Decimal("1E-30")
_UPWARD = decimal.Context(prec=160, Emin=-999, Emax=999, rounding=ROUND_CEILING)
_LEAST_READINGS = 2


@dataclass(frozen=True, slots=True)
class WearRate:
    """`lost` mm over `over` km, exactly; `error` is the standard error of the rate (mm/km, on 1E-30).

    `used` readings lie on the line, which leaves `freedom` degrees of freedom; without any there is no error.
    """

    lost: Decimal
    over: Decimal
    error: Decimal | None
    freedom: int
    used: int

    @property
    def per_1000_km(self) -> Decimal:
        """The rate in mm per 1,000 km, half to even on 0.1 nm."""
        return quotient(EXACT.multiply(self.lost, Decimal(1000)), self.over)

    @property
    def at_most_per_1000_km(self) -> Decimal | None:
        """The 95 % upper limit of the rate, mm per 1,000 km, rounded up on 0.1 nm."""
        at_most = self.lost_at_most
        return None if at_most is None else quotient(_UPWARD.multiply(at_most, 1000), self.over, ROUND_CEILING)

    @property
    def lost_at_most(self) -> Decimal | None:
        """The 95 % upper limit of the loss over `over` km, by Student's t (mm, rounded up on 1E-30)."""
        if self.error is None:
            return None
        beyond = _UPWARD.multiply(_UPWARD.multiply(quantile(CONFIDENCE, self.freedom), self.error), self.over)
        return _UPWARD.add(self.lost, on_grid(beyond, ROUND_CEILING, _FINE))


@dataclass(frozen=True, slots=True)
class Life:
    """What is left in a part. Distances in whole km, rounded down; `at_least_km` is the 95 % lower bound.

    What is None is explained in `untold`; the readings that were left out are named in `doubts`.
    """

    rate: WearRate | None
    left_km: Decimal | None
    at_least_km: Decimal | None
    doubts: tuple[Doubt, ...]
    untold: tuple[Untold, ...]


def life_of(
    readings: Sequence[EarlierReading],
    *,
    rotor: bool,
    expanded: Decimal,
    size: Decimal | None,
    discard: Decimal | None,
    new: EarlierReading | None = None,
) -> Life:
    """The life of a part from all its readings, today's among them, in any order. Rule: remaining_distance.

    `expanded` is the U of one reading (mm), `size` the thickness or diameter from which the distance counts (after the
    cut, where there is one), `discard` its discard limit. `new` is the size and distance at which the part was new,
    where both are known: the line then starts there. The bound rests on the scatter of
    the readings that are kept: it knows nothing of those left out, nor of the uncertainty of `size`.
    """
    doubts = _doubts(readings, rotor=rotor, expanded=expanded, new=new)
    return life_without(readings, doubts, rotor=rotor, size=size, discard=discard, new=new)


def life_without(
    readings: Sequence[EarlierReading],
    doubts: tuple[Doubt, ...],
    *,
    rotor: bool,
    size: Decimal | None,
    discard: Decimal | None,
    new: EarlierReading | None = None,
) -> Life:
    """The life of a part from its readings but for those in doubt; else as `life_of`."""
    with decimal.localcontext(EXACT):
        out = {doubt.place for doubt in doubts}
        kept = [one for place, one in enumerate(readings) if place not in out]
        rate, untold = _rate(kept, doubts, rotor=rotor, new=new)
        if size is None:
            untold.append(Untold.NO_SIZE)
        if discard is None:
            untold.append(Untold.NO_DISCARD_LIMIT)
        if rate is None or size is None or discard is None:
            return Life(rate, None, None, doubts, tuple(untold))
        above = size - discard if rotor else discard - size
        at_most = rate.lost_at_most
        at_least = None if at_most is None else distance_left(above, at_most, rate.over)
        return Life(rate, distance_left(above, rate.lost, rate.over), at_least, doubts, tuple(untold))


def _doubts(
    readings: Sequence[EarlierReading], *, rotor: bool, expanded: Decimal, new: EarlierReading | None
) -> tuple[Doubt, ...]:
    """The readings to leave out; those from before the part was new are another part's."""
    if new is None:
        return doubts_about(readings, rotor=rotor, expanded=expanded)
    places = [place for place, one in enumerate(readings) if one.odometer_km >= new.odometer_km]
    found = doubts_about([readings[place] for place in places], rotor=rotor, expanded=expanded)
    own = [Doubt(places[one.place], one.reason, tuple(places[other] for other in one.against)) for one in found]
    before = [Doubt(place, DoubtReason.EARLIER_PART, ()) for place in range(len(readings)) if place not in places]
    return tuple(sorted((*own, *before), key=lambda doubt: doubt.place))


def _rate(
    kept: Sequence[EarlierReading], doubts: Sequence[Doubt], *, rotor: bool, new: EarlierReading | None
) -> tuple[WearRate | None, list[Untold]]:
    """The wear rate of the readings that are kept; where there is none, why.

    Where as many are left out for growing as are kept, what is left may be no more than a lucky choice: none is told.
    """
    grown = sum(doubt.reason is DoubtReason.GROWN for doubt in doubts)
    if grown and grown >= len(kept):
        return None, [Untold.READINGS_CONTRADICT]
    if len(kept) < (_LEAST_READINGS if new is None else 1):
        return None, [Untold.TOO_FEW_READINGS]
    line = _line(kept, new)
    if line is None:
        return None, [Untold.ONE_DISTANCE]
    lost = -line.rise if rotor else line.rise
    if lost <= 0:
        return None, [Untold.NOT_WEARING]
    error = None if line.slope_error is None else on_grid(line.slope_error, ROUND_HALF_EVEN, _FINE)
    freedom = len(kept) - (2 if new is None else 1)
    return WearRate(lost, line.run, error, freedom, len(kept)), [] if error is not None else [Untold.TOO_FEW_FOR_BOUND]


def _line(kept: Sequence[EarlierReading], new: EarlierReading | None) -> WearFit | None:
    """Size on distance, through the size when new where it is known."""
    if new is None:
        return fit([(one.odometer_km, one.size) for one in kept])
    return fit_from_new([(one.odometer_km - new.odometer_km, one.size - new.size) for one in kept])

"""Which services a part still reaches, by the odometer."""

from __future__ import annotations

import decimal
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from turnrule.judging.faults import PartError, service_faults
from turnrule.judging.lengths import EXACT, quotient
from turnrule.judging.parts import Services

_WHOLE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Reach:
    """The services ahead that the part reaches: how many, the next and the last of them, and the first it does not.

    Odometers in km. `next_reached` is None where not even the next one is reached, `first_missed` where a list ends
    before the part does.
    """

    count: int
    next_reached: Decimal | None
    last_reached: Decimal | None
    first_missed: Decimal | None


def services_reached(services: Services, *, odometer_km: Decimal, left_km: Decimal) -> Reach:
    """What is reached from today's odometer with so many km left; a service is ahead when it is not today's.

    Raises `PartError` where neither an interval nor a list is given, or both, or one that cannot be.
    """
    found = tuple(service_faults(services, odometer_km))
    if found:
        raise PartError(found)
    with decimal.localcontext(EXACT):
        end = odometer_km + left_km
        if services.interval_km is None:
            return _of_list(sorted(at for at in set(services.at_km) if at > odometer_km), end)
        return _of_interval(services.interval_km, services.from_km, odometer_km, end)


def _of_list(ahead: list[Decimal], end: Decimal) -> Reach:
    reached = [at for at in ahead if at <= end]
    missed = ahead[len(reached) :]
    return Reach(
        len(reached),
        reached[0] if reached else None,
        reached[-1] if reached else None,
        missed[0] if missed else None,
    )


def _of_interval(interval: Decimal, start: Decimal, now: Decimal, end: Decimal) -> Reach:
    """Counted, not walked: the life may be very much longer than the interval."""
    done = quotient(now - start, interval, ROUND_FLOOR, _WHOLE)
    last = quotient(end - start, interval, ROUND_FLOOR, _WHOLE)
    any_reached = last > done
    return Reach(
        int(last - done),
        start + (done + 1) * interval if any_reached else None,
        start + last * interval if any_reached else None,
        start + (last + 1) * interval,
    )

"""Which services a part still reaches, by the odometer."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lengths import EXACT, quotient

_WHOLE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Services:
    """When the vehicle is serviced, in km: every `interval_km`, counted from `from_km`, or at the odometers `at_km`.

    `from_km` is the odometer of the last service; 0 counts in round multiples of the interval.
    """

    interval_km: Decimal | None = None
    from_km: Decimal = Decimal(0)
    at_km: tuple[Decimal, ...] = ()


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
    found = tuple(_faults(services, odometer_km))
    if found:
        raise PartError(found)
    with decimal.localcontext(EXACT):
        end = odometer_km + left_km
        if services.interval_km is None:
            return _of_list(sorted(at for at in set(services.at_km) if at > odometer_km), end)
        return _of_interval(services.interval_km, services.from_km, odometer_km, end)


def _faults(services: Services, odometer_km: Decimal) -> Iterator[Fault]:
    if (services.interval_km is None) == (not services.at_km):
        yield Fault("/services", "one_of", "give the service interval, or the odometers of the services, and not both")
    if services.interval_km is not None and services.interval_km <= 0:
        yield Fault("/services/interval", "must_be_positive", "give a service interval above 0")
    if services.from_km > odometer_km:
        yield Fault(
            "/services/last", "out_of_range", "the last service cannot stand at more than today's odometer; check both"
        )


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

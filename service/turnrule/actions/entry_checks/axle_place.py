"""Whether a part of this kind and size sits on such an axle."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.ranges import is_heavy
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, warning
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.words import Axle, Kind

_OF_TWO = frozenset({Axle.FRONT, Axle.REAR})


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Warns of a parking drum in front, and of a car's part on an axle that only trucks have."""
    axle, limits = entry.fits.axle, entry.figures.limits
    if limits.kind is Kind.PARKING_DRUM and axle is not Axle.REAR:
        detail = f"a parking drum seldom sits on the {axle} axle; look at the axle again"
        yield warning("/application/axle", "unusual_axle", detail)
    elif axle not in _OF_TWO and not is_heavy(limits):
        detail = f"a part of this size seldom sits on the {axle} axle of a vehicle; look at the axle again"
        yield warning("/application/axle", "unusual_axle", detail)

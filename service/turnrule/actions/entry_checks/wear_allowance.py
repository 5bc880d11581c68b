"""What may wear away, and what the document keeps in reserve: unusually little or much of either.

The wear allowance lies between the size as new and the discard limit, the reserve between machining and discard limit.
In print: drums +0.060 in to machine and +0.090 in to discard, rotors 0.015 in between the two (TM 9-2320-289-34, pages
7-2 and 7-3); heavy drums +0.080 in (TM 9-2320-279-34-2, page 11-4), +0.120 in (TM 5-4210-230-14&P-1) and +0.125 in
(TM 9-2330-380-14&P, 5-11). The bounds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from turnrule.actions.entry_checks.ranges import Range, is_heavy
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, warning
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.cautions import shown
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind


class Allowance(NamedTuple):
    """Usual allowances of one class of parts, in mm: as new to discard, as new to machining, machining to discard."""

    wear: Range
    machining: Range
    reserve: Range


def _range(least: str, most: str) -> Range:
    return Range(Decimal(least), Decimal(most))


_LIGHT_ROTOR = Allowance(_range("0.9", "4.1"), _range("0.4", "3.6"), _range("0", "1.1"))
_HEAVY_ROTOR = Allowance(_range("1.4", "8.5"), _range("0.7", "8.5"), _range("0", "2.1"))
_LIGHT_DRUM = Allowance(_range("0.7", "3.1"), _range("0.3", "2.8"), _range("0", "0.9"))
_HEAVY_DRUM = Allowance(_range("2", "6.5"), _range("1", "6.5"), _range("0", "2.1"))
_PARKING_DRUM = Allowance(_range("0.4", "1.6"), _range("0.2", "1.6"), _range("0", "0.6"))


def usual_allowance(limits: LimitSet) -> Allowance:
    """The usual allowances of a part of this kind and size."""
    if limits.kind is Kind.ROTOR:
        return _HEAVY_ROTOR if is_heavy(limits) else _LIGHT_ROTOR
    if limits.kind is Kind.PARKING_DRUM:
        return _PARKING_DRUM
    return _HEAVY_DRUM if is_heavy(limits) else _LIGHT_DRUM


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Warns of an allowance that is unusually small or large; what is out of order is refused elsewhere."""
    limits = entry.figures.limits
    usual = usual_allowance(limits)
    names = names_for(limits.kind)
    sign = 1 if limits.kind is Kind.ROTOR else -1
    for before, after, bounds, name, words in (
        (limits.nominal, limits.discard, usual.wear, names.discard, "from new to discard"),
        (limits.nominal, limits.machining, usual.machining, names.machining, "from new to the machining limit"),
        (limits.machining, limits.discard, usual.reserve, names.machining, "from machining to discard limit"),
    ):
        if before is None or after is None:
            continue
        allowance = (before - after) * sign
        if allowance >= 0 and not bounds.holds(allowance):
            unit = entry.figures.printed_unit
            detail = (
                f"{shown(allowance, unit)} {words} is unusual: mostly it is {shown(bounds.least, unit)} to "
                f"{shown(bounds.most, unit)}; look at both values again"
            )
            yield warning(f"/{name}", "unusual_allowance", detail)
            return

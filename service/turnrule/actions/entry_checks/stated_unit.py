"""The unit that the body states: a size that no part has in it, and that many have in the other one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from turnrule.actions.entry_checks.fields import sizes_of
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.words import Kind, Unit


class Possible(NamedTuple):
    """Between which values a real part's size lies, in one unit."""

    least: Decimal
    greatest: Decimal


POSSIBLE = {
    (True, Unit.MM): Possible(Decimal(2), Decimal(150)),
    (True, Unit.IN): Possible(Decimal("0.08"), Decimal(6)),
    (False, Unit.MM): Possible(Decimal(40), Decimal(800)),
    (False, Unit.IN): Possible(Decimal("1.6"), Decimal("31.5")),
}
"""Wide bounds of rotor thicknesses (True) and drum diameters: common practice, no source."""


def unit_faults(kind: Kind, unit: Unit, sizes: Iterable[tuple[str, Decimal]]) -> Iterator[Fault]:
    """A size that no part has in the unit stated, and that many have in the other one; sizes by their pointers."""
    rotor = kind.is_rotor
    least, greatest = POSSIBLE[rotor, unit]
    for pointer, value in sizes:
        if least <= value <= greatest:
            continue
        other = Unit.IN if unit is Unit.MM else Unit.MM
        meant = POSSIBLE[rotor, other]
        if meant.least <= value <= meant.greatest:
            yield Fault(
                pointer,
                "unit_mismatch",
                f"{value:f} {unit.value} is no size of a {kind.value.replace('_', ' ')}, and {value:f} {other.value} "
                "would be; state the unit that was read",
            )


_IN_MM = {
    (rotor, unit): Possible(to_mm(bounds.least, unit), to_mm(bounds.greatest, unit))
    for (rotor, unit), bounds in POSSIBLE.items()
}


def impossible(figures: LimitFigures) -> Iterator[tuple[str, Decimal]]:
    """Each size that no part has in the unit stated, by its name, as printed."""
    least, greatest = _IN_MM[figures.limits.kind.is_rotor, figures.printed_unit]
    for name, value in sizes_of(figures.limits):
        if not least <= value <= greatest:
            yield name, Decimal(figures.printed[name])


def unit_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """The same as refusals of an entry."""
    sizes = [(f"/{name}", value) for name, value in impossible(figures)]
    for fault in unit_faults(figures.limits.kind, figures.printed_unit, sizes):
        yield refusal(fault.pointer, fault.code, fault.detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses sizes that only make sense in the other unit."""
    return unit_remarks(entry.figures)

"""Entries to try the checks on, built from figures as they are printed; all vehicles are invented."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import Any

from turnrule.actions.entry_checks import Remark, Surroundings, check_entry
from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.limit_records import FitsTo, Source, Twin

TODAY = datetime.date(2026, 11, 2)
ALONE = Surroundings(lambda _entry: (), lambda _entry: (), TODAY)
"""An empty store, on the day of these tests."""

SOURCE = Source("Ostrel workshop manual", "Corvane", "6.2, table 3", "2023-04", datetime.date(2023, 4, 1))
FITS = FitsTo("Corvane", "Ostrel", 2021, 2024, Axle.FRONT, "B16")
START = datetime.date(2021, 1, 1)

ROTOR = {
    "nominal_thickness": "26.0",
    "minimum_machining_thickness": "24.6",
    "discard_thickness": "24.0",
    "maximum_lateral_runout": "0.05",
    "maximum_thickness_variation": "0.013",
}
DRUM = {
    "nominal_diameter": "9.000",
    "maximum_machining_diameter": "9.060",
    "discard_diameter": "9.090",
    "maximum_out_of_round": "0.004",
}


def figures(  # one argument for each thing that a body may say
    printed: dict[str, str],
    unit: Unit = Unit.MM,
    kind: Kind = Kind.ROTOR,
    *,
    also: dict[str, str] | None = None,
    also_unit: Unit | None = None,
    permission: Machining = Machining.NOT_STATED,
    construction: Construction | None = None,
    review_due: datetime.date | None = None,
) -> LimitFigures:
    """Figures as a document prints them."""
    names = zip(FigureNames._fields, names_for(kind), strict=True)
    lengths = {figure: to_mm(Decimal(printed[name]), unit) for figure, name in names if name and name in printed}
    limits = LimitSet(kind, permission=permission, construction=construction, **lengths)
    other = Unit.IN if unit is Unit.MM else Unit.MM
    twin = Twin(also_unit or other, also) if also is not None else None
    return LimitFigures(limits, unit, printed, review_due, twin)


def rotor_of(printed: dict[str, str], unit: Unit = Unit.IN, more: dict[str, Any] | None = None) -> LimitsEntry:
    """A rotor's limits that are printed so; `more` is said of them besides."""
    return LimitsEntry(figures(printed, unit, **(more or {})), FITS, SOURCE, START)


def drum_of(
    printed: dict[str, str], unit: Unit = Unit.IN, kind: Kind = Kind.DRUM, more: dict[str, Any] | None = None
) -> LimitsEntry:
    """A drum's limits that are printed so, on the rear axle."""
    fits = replace(FITS, axle=Axle.REAR, brake_option=None)
    return LimitsEntry(figures(printed, unit, kind, **(more or {})), fits, SOURCE, START)


def rotor(*left_out: str, more: dict[str, Any] | None = None, **printed: str) -> LimitsEntry:
    """The rotor of these tests, in millimetres: some figures left out, some printed otherwise."""
    values = {name: value for name, value in (ROTOR | printed).items() if name not in left_out}
    return rotor_of(values, Unit.MM, more)


def drum(more: dict[str, Any] | None = None, **printed: str) -> LimitsEntry:
    """The drum of these tests, in inches: some figures printed otherwise."""
    return drum_of(DRUM | printed, more=more)


def fitting(entry: LimitsEntry, **changes: Any) -> LimitsEntry:  # noqa: ANN401 - each field has its own type
    """The entry for other vehicles."""
    return replace(entry, fits=replace(entry.fits, **changes))


def from_document(entry: LimitsEntry, **changes: Any) -> LimitsEntry:  # noqa: ANN401 - each field has its own type
    """The entry from another document."""
    return replace(entry, source=replace(entry.source, **changes))


def told(entry: LimitsEntry, around: Surroundings = ALONE) -> list[tuple[str, str, bool]]:
    """Pointer, code and whether it is refused, of each remark on an entry."""
    return [(remark.pointer, remark.code, remark.refused) for remark in check_entry(entry, around)]


def only(remarks: tuple[Remark, ...]) -> Remark:
    """The one remark that there is."""
    [remark] = remarks
    return remark

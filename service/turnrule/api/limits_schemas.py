"""Limits bodies into exact limits, with every fault of theirs: order, units and dates as well as shapes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from marshmallow import ValidationError

from turnrule.actions.entry_checks import Remark, day_refusals, entry_refusals, figure_refusals
from turnrule.actions.entry_checks.order import order_faults
from turnrule.actions.entry_checks.stated_unit import unit_faults
from turnrule.actions.figure_names import DRUM_NAMES, ROTOR_NAMES, SIZES, FigureNames, names_for
from turnrule.actions.requests import Corrects, LimitFigures, LimitsEntry, SecondEntry, WarningAnswer
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.limit_shapes import DrumLimits, DrumSecondEntry, RotorLimits, RotorSecondEntry
from turnrule.api.shapes import Shape
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind, Machining, Unit
from turnrule.store.limit_records import FitsTo, Source, Twin

__all__ = [
    "DRUM_LIMITS",
    "DRUM_NAMES",
    "DRUM_SECOND",
    "ROTOR_LIMITS",
    "ROTOR_NAMES",
    "ROTOR_SECOND",
    "FigureNames",
    "figure_faults",
    "limit_set",
    "named_kind",
    "names_for",
    "read_figures",
    "read_limits",
    "read_second_entry",
    "read_unchecked_limits",
    "unit_faults",
]

ROTOR_SECOND, DRUM_SECOND = RotorSecondEntry(), DrumSecondEntry()
ROTOR_LIMITS, DRUM_LIMITS = RotorLimits(), DrumLimits()
_WHOLE_ENTRY = ("application", "source", "effective_from")
_BARE: dict[Shape, Shape] = {
    ROTOR_LIMITS: RotorLimits(partial=_WHOLE_ENTRY),
    DRUM_LIMITS: DrumLimits(partial=_WHOLE_ENTRY),
}


def limit_set(kind: Kind, unit: Unit, values: Mapping[str, Any]) -> LimitSet:
    """The exact limits out of the values of a shape."""
    names = names_for(kind)
    figures = {
        figure: to_mm(values[name], unit)
        for figure, name in zip(FigureNames._fields, names, strict=True)
        if name is not None and name in values
    }
    return LimitSet(
        kind=kind,
        permission=values.get("machining", Machining.NOT_STATED),
        construction=values.get("construction"),
        expansion_per_k=values.get("expansion_per_k"),
        **figures,
    )


def figure_faults(kind: Kind, unit: Unit, values: Mapping[str, Any], pointer: str = "") -> Iterator[Fault]:
    """What the figures of one set of limits show together: the wrong unit, sizes out of order."""
    names = names_for(kind)
    sizes = [(f"{pointer}/{name}", values[name]) for name in names[:SIZES] if name and name in values]
    yield from unit_faults(kind, unit, sizes)
    yield from order_faults(limit_set(kind, unit, values), pointer)


def read_limits(document: object) -> LimitsEntry:
    """A whole limits body. Raises `FaultsError` with every fault that it shows by itself."""
    entry = read_unchecked_limits(document)
    _raise(entry_refusals(entry))
    return entry


def read_unchecked_limits(document: object) -> LimitsEntry:
    """A whole limits body of the right shape, whatever the entry checks will say. Raises `FaultsError`."""
    values = _values(document, ROTOR_LIMITS, DRUM_LIMITS)
    corrects = values.get("corrects")
    return LimitsEntry(
        figures=_figures(values),
        fits=_fits(values["application"]),
        source=_source(values["source"]),
        effective_from=values["effective_from"],
        effective_to=values.get("effective_to"),
        note=values.get("note"),
        corrects=Corrects(**corrects) if corrects is not None else None,
        reason=values.get("reason"),
        answers=tuple(WarningAnswer(**answer) for answer in values.get("answered_warnings", ())),
    )


def read_figures(document: object) -> LimitFigures:
    """The figures of a limits body that may leave out its vehicles, source and dates. Raises `FaultsError`."""
    values = _values(document, _BARE[ROTOR_LIMITS], _BARE[DRUM_LIMITS])
    figures = _figures(values)
    _raise(figure_refusals(figures))
    return figures


def read_second_entry(document: object) -> SecondEntry:
    """The same limits as a second person enters them. Raises `FaultsError` with every fault."""
    values = _values(document, ROTOR_SECOND, DRUM_SECOND)
    figures, fits = _figures(values), _fits(values["application"])
    start, end = values.get("effective_from"), values.get("effective_to")
    _raise((*figure_refusals(figures), *day_refusals(fits, start, end)))
    return SecondEntry(
        figures=figures,
        fits=fits,
        source=_source(values["source"]) if "source" in values else None,
        effective_from=start,
        effective_to=end,
    )


def _raise(refusals: Iterable[Remark]) -> None:
    """Raise `FaultsError` where there is any refusal."""
    faults = [Fault(remark.pointer, remark.code, remark.detail) for remark in refusals]
    if faults:
        raise FaultsError(faults)


def _figures(values: Mapping[str, Any]) -> LimitFigures:
    kind, unit = values["kind"], values["unit"]
    also = values.get("also")
    return LimitFigures(
        limits=limit_set(kind, unit, values),
        printed_unit=unit,
        printed=_printed(kind, values),
        review_due=values.get("review_due"),
        also=Twin(also["unit"], _printed(kind, also)) if also is not None else None,
    )


def _printed(kind: Kind, values: Mapping[str, Any]) -> dict[str, str]:
    """Each figure with the digits that it was written with."""
    return {name: f"{values[name]:f}" for name in names_for(kind) if name and name in values}


def _fits(values: Mapping[str, Any]) -> FitsTo:
    return FitsTo(
        make=values["make"],
        model=values["model"],
        year_from=values["year_from"],
        year_to=values.get("year_to"),
        axle=values["axle"],
        brake_option=values.get("brake_option"),
    )


def _source(values: Mapping[str, Any]) -> Source:
    return Source(
        document=values["document"],
        publisher=values.get("publisher", ""),
        section=values.get("section", ""),
        edition=values["edition"],
        issued=values.get("issued"),
    )


def _values(document: object, rotor: Shape, drum: Shape) -> dict[str, Any]:
    """The values of the shape of the kind that the document names."""
    kind = named_kind(document)
    schema, other = (drum, rotor) if kind is not None and not kind.is_rotor else (rotor, drum)
    try:
        values: dict[str, Any] = schema.load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, schema, other)) from None
    return values


def named_kind(document: object) -> Kind | None:
    """The kind of part that a document names, if it names one."""
    named = document.get("kind") if isinstance(document, Mapping) else None
    return Kind(named) if isinstance(named, str) and named in Kind.__members__.values() else None

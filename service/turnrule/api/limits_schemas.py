"""Limits bodies into exact limits, with every fault of theirs: order, units and dates as well as shapes."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from marshmallow import ValidationError

from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.limit_shapes import DrumLimits, RotorLimits
from turnrule.api.shapes import Shape
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind, Machining, Unit
from turnrule.store.port import FitsTo, Source

ROTOR_LIMITS, DRUM_LIMITS = RotorLimits(), DrumLimits()
_WHOLE_ENTRY = ("application", "source", "effective_from")
_BARE: dict[Shape, Shape] = {
    ROTOR_LIMITS: RotorLimits(partial=_WHOLE_ENTRY),
    DRUM_LIMITS: DrumLimits(partial=_WHOLE_ENTRY),
}


class FigureNames(NamedTuple):
    """The names that the figures of `LimitSet` have in documents about one kind of part."""

    nominal: str
    machining: str
    discard: str
    maximum_lateral_runout: str | None
    maximum_thickness_variation: str | None
    maximum_out_of_round: str | None
    maximum_taper: str


ROTOR_NAMES = FigureNames(
    "nominal_thickness",
    "minimum_machining_thickness",
    "discard_thickness",
    "maximum_lateral_runout",
    "maximum_thickness_variation",
    None,
    "maximum_taper",
)
DRUM_NAMES = FigureNames(
    "nominal_diameter",
    "maximum_machining_diameter",
    "discard_diameter",
    None,
    None,
    "maximum_out_of_round",
    "maximum_taper",
)


def names_for(kind: Kind) -> FigureNames:
    """The names of the figures of this kind of part."""
    return ROTOR_NAMES if kind.is_rotor else DRUM_NAMES


class Plausible(NamedTuple):
    """Between which values a real part's size lies, in one unit."""

    least: Decimal
    greatest: Decimal


_PLAUSIBLE = {
    (True, Unit.MM): Plausible(Decimal(2), Decimal(150)),
    (True, Unit.IN): Plausible(Decimal("0.08"), Decimal(6)),
    (False, Unit.MM): Plausible(Decimal(40), Decimal(800)),
    (False, Unit.IN): Plausible(Decimal("1.6"), Decimal("31.5")),
}
"""Wide bounds of rotor thicknesses and drum diameters (common practice, no source): they only tell units apart."""


def unit_faults(kind: Kind, unit: Unit, sizes: Iterable[tuple[str, Decimal]]) -> Iterator[Fault]:
    """A size that no part has in the unit stated, and that many have in the other one; sizes by their pointers."""
    other = Unit.IN if unit is Unit.MM else Unit.MM
    least, greatest = _PLAUSIBLE[kind.is_rotor, unit]
    for pointer, value in sizes:
        if least <= value <= greatest:
            continue
        meant = _PLAUSIBLE[kind.is_rotor, other]
        if meant.least <= value <= meant.greatest:
            yield Fault(
                pointer,
                "unit_mismatch",
                f"{value:f} {unit.value} is no size of a {kind.value.replace('_', ' ')}, and {value:f} {other.value} "
                "would be; state the unit that was read",
            )


_ORDER = (
    ("machining", "discard", "machining", "machining_past_discard"),
    ("nominal", "discard", "discard", "discard_past_nominal"),
    ("nominal", "machining", "machining", "machining_past_nominal"),
)
"""The size less worn, the size more worn, the one that the fault points at, its code."""


def order_faults(limits: LimitSet, pointer: str = "") -> Iterator[Fault]:
    """Limits that contradict each other: wear makes a rotor thinner and a drum wider, and never the reverse."""
    names = names_for(limits.kind)._asdict()
    past = "less" if limits.kind.is_rotor else "greater"
    for newer, worn, at, code in _ORDER:
        before: Decimal | None = getattr(limits, newer)
        after: Decimal | None = getattr(limits, worn)
        if before is None or after is None or before == after:
            continue
        if (before < after) is limits.kind.is_rotor:
            detail = f"{names[newer]} is {past} than {names[worn]}; look at the document again"
            yield Fault(f"{pointer}/{names[at]}", code, detail)


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
    """What the figures of one set of limits show together."""
    names = names_for(kind)
    sizes = [(f"{pointer}/{name}", values[name]) for name in names[:3] if name in values]
    yield from unit_faults(kind, unit, sizes)
    yield from order_faults(limit_set(kind, unit, values), pointer)


def read_limits(document: object) -> LimitsEntry:
    """A whole limits body. Raises `FaultsError` with every fault."""
    values = _values(document, bare=False)
    fits, source = values["application"], values["source"]
    return LimitsEntry(
        figures=_figures(values),
        fits=FitsTo(
            make=fits["make"],
            model=fits["model"],
            year_from=fits["year_from"],
            year_to=fits.get("year_to"),
            axle=fits["axle"],
            brake_option=fits.get("brake_option"),
        ),
        source=Source(
            document=source["document"],
            publisher=source["publisher"],
            section=source["section"],
            edition=source["edition"],
            issued=source.get("issued"),
        ),
        effective_from=values["effective_from"],
        effective_to=values.get("effective_to"),
        note=values.get("note"),
    )


def read_figures(document: object) -> LimitFigures:
    """The figures of a limits body that may leave out its vehicles, source and dates. Raises `FaultsError`."""
    return _figures(_values(document, bare=True))


def _figures(values: Mapping[str, Any]) -> LimitFigures:
    kind, unit = values["kind"], values["unit"]
    printed = {name: f"{values[name]:f}" for name in names_for(kind) if name is not None and name in values}
    return LimitFigures(limit_set(kind, unit, values), unit, printed, values.get("review_due"))


def _values(document: object, *, bare: bool) -> dict[str, Any]:
    schema, other = limits_schemas(document)
    try:
        values: dict[str, Any] = (_BARE[schema] if bare else schema).load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, schema, other)) from None
    faults = [*figure_faults(values["kind"], values["unit"], values), *_date_faults(values)]
    if faults:
        raise FaultsError(faults)
    return values


def limits_schemas(document: object) -> tuple[Shape, Shape]:
    """The schema for the kind that the document names (or seems to be about), and the other kind's."""
    kind = named_kind(document)
    if kind is not None and not kind.is_rotor:
        return DRUM_LIMITS, ROTOR_LIMITS
    return ROTOR_LIMITS, DRUM_LIMITS


def named_kind(document: object) -> Kind | None:
    """The kind of part that a document names, if it names one."""
    named = document.get("kind") if isinstance(document, Mapping) else None
    return Kind(named) if isinstance(named, str) and named in Kind.__members__.values() else None


def _date_faults(values: Mapping[str, Any]) -> Iterator[Fault]:
    """Years and days that run backwards."""
    fits: Mapping[str, Any] = values.get("application", {})
    if fits.get("year_to") is not None and fits["year_to"] < fits["year_from"]:
        yield Fault("/application/year_to", "out_of_range", "the last year is before the first")
    start: datetime.date | None = values.get("effective_from")
    end: datetime.date | None = values.get("effective_to")
    if start is not None and end is not None and end <= start:
        yield Fault("/effective_to", "out_of_range", "these limits would end before they begin")

"""The figures of one set of limits by their names in documents, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.figure_names import SIZES, FigureNames, names_for
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind

_FIELDS = {
    kind: tuple((figure, name) for figure, name in zip(FigureNames._fields, names_for(kind), strict=True) if name)
    for kind in Kind
}


def sizes_of(limits: LimitSet) -> Iterator[tuple[str, Decimal]]:
    """Nominal size, machining limit and discard limit, as far as they are given."""
    for figure, name in _FIELDS[limits.kind][:SIZES]:
        value: Decimal | None = getattr(limits, figure)
        if value is not None:
            yield name, value


def forms_of(limits: LimitSet) -> Iterator[tuple[str, str, Decimal]]:
    """The limits of form that are given, by their figure and their name."""
    for figure, name in _FIELDS[limits.kind][SIZES:]:
        value: Decimal | None = getattr(limits, figure)
        if value is not None:
            yield figure, name, value


def lengths_of(limits: LimitSet) -> Iterator[tuple[str, Decimal]]:
    """Every length that is given."""
    for figure, name in _FIELDS[limits.kind]:
        value: Decimal | None = getattr(limits, figure)
        if value is not None:
            yield name, value

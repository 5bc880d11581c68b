"""A stored revision as the limits body that enters the same: in JSON, and as the cells of a table."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal

import orjson

from turnrule.actions.figure_names import names_for
from turnrule.actions.numbers import number, text_of
from turnrule.api.limit_files.answers_cell import answers_text
from turnrule.api.limit_files.columns import COLUMNS, Form
from turnrule.store.limit_records import LimitRevision

Json = dict[str, object]


def body_of(row: LimitRevision) -> Json:
    """The body, with the id of its record first; what it does not say is left out."""
    limits, fits, source = row.limits, row.fits, row.source
    names = [name for name in names_for(limits.kind) if name is not None]
    also = row.also
    whole: Json = {
        "limits_id": row.limits_id,
        "unit": row.printed_unit,
        "kind": limits.kind,
        "application": _there(
            {
                "make": fits.make,
                "model": fits.model,
                "year_from": fits.year_from,
                "year_to": fits.year_to,
                "axle": fits.axle,
                "brake_option": fits.brake_option,
            }
        ),
        **_printed(names, row.printed),
        "also": None if also is None else {"unit": also.unit, **_printed(names, also.printed)},
        "machining": limits.permission,
        "construction": limits.construction,
        "expansion_per_k": number(limits.expansion_per_k),
        "source": _there(
            {
                "document": source.document,
                "publisher": source.publisher,
                "section": source.section,
                "edition": source.edition,
                "issued": source.issued,
            }
        ),
        "effective_from": row.effective_from,
        "effective_to": row.effective_to,
        "review_due": row.review_due,
        "note": row.note,
        "answered_warnings": [
            {"code": one.code, "pointer": one.pointer, "reason": one.reason} for one in row.warnings if one.pointer
        ]
        or None,
    }
    return _there(whole)


def _there(fields: Mapping[str, object]) -> Json:
    return {name: value for name, value in fields.items() if value is not None}


def _printed(names: Iterable[str], printed: Mapping[str, str]) -> Json:
    """Figures with the digits that the document prints."""
    return {name: orjson.Fragment(printed[name]) for name in names if name in printed}


OutCell = str | int | Decimal | datetime.date | None
"""A cell that goes out: text; a whole number; a length, of which the digits count; a day; nothing."""


def cells_of(row: LimitRevision) -> list[OutCell]:
    """The cells of a row, in the order of the columns; a correction goes out as the record that it made."""
    is_rotor = row.limits.kind.is_rotor
    fits, source = row.fits, row.source
    printed, also = row.printed, row.also.printed if row.also is not None else {}
    expansion = row.limits.expansion_per_k
    apart: dict[str, OutCell] = {
        "limits_id": row.limits_id,
        "unit": row.printed_unit.value,
        "kind": row.limits.kind.value,
        "make": fits.make,
        "model": fits.model,
        "year_from": fits.year_from,
        "year_to": fits.year_to,
        "axle": fits.axle.value,
        "brake_option": fits.brake_option,
        "machining": row.limits.permission.value,
        "construction": row.limits.construction,
        "publisher": source.publisher,
        "document": source.document,
        "section": source.section,
        "edition": source.edition,
        "issued": source.issued,
        "effective_from": row.effective_from,
        "effective_to": row.effective_to,
        "review_due": row.review_due,
        "expansion_per_k": None if expansion is None else Decimal(text_of(expansion)),
        "note": row.note,
        "answered_warnings": answers_text(
            ((one.code, one.pointer, one.reason) for one in row.warnings), is_rotor=is_rotor
        ),
    }
    cells: list[OutCell] = []
    for column in COLUMNS:
        path = column.path(is_rotor=is_rotor)
        if column.form is Form.LENGTH and column.name != "expansion_per_k":
            text = (also if len(path) > 1 else printed).get(path[-1])
            cells.append(None if text is None else Decimal(text))
        else:
            cells.append(apart.get(column.name))
    return cells

"""The columns of a batch in CSV: the contract's own field names, with a dot for each step inwards.

They are read off the shapes of a request, so that a field which is new there is a column here. A cell holds what the
field holds: a number, a word, a day; a list of numbers or codes with spaces between. What is a list of objects
(history) has no column; a batch in JSON has it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cache

from marshmallow import fields

from turnrule.api.fields import Choice, ExactDecimal, IsoDate, NumberList, Text, WholeNumber
from turnrule.api.json_reading import LONGEST_NUMBER
from turnrule.api.shapes import Inner, ListOf, Shape, Short
from turnrule.api.verdict_schemas import DRUM_REQUEST, ROTOR_REQUEST

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_TRUTH = {"true": True, "false": False}

Read = Callable[[str], object]


@cache
def columns() -> Mapping[str, Read]:
    """How a cell of each column is read, by its name; for parts of every kind."""
    found: dict[str, Read] = {}
    for shape in (ROTOR_REQUEST, DRUM_REQUEST):
        found.update(_columns(shape, ""))
    return found


def _columns(shape: Shape, before: str) -> Iterator[tuple[str, Read]]:
    for name, field in shape.load_fields.items():
        path = f"{before}{name}"
        read = _reader(field)
        if read is not None:
            yield path, read
        if isinstance(field, Inner):
            yield from _columns(field.shape, f"{path}.")


def _reader(field: object) -> Read | None:
    """How a cell of this field is read; None where it holds an object or a list of objects."""
    if isinstance(field, Short):
        return _reader(field.shape.load_fields[field.main])
    if isinstance(field, ListOf):
        return str.split if isinstance(field.entry, Short) else None
    for kind, read in _READERS.items():
        if isinstance(field, kind):
            return read
    return None


def _number(cell: str) -> object:
    """The number; text that is none stays as it is, so that the reader of requests says what is wrong with it."""
    text = cell.strip()
    return Decimal(text) if len(text) <= LONGEST_NUMBER and _NUMBER.fullmatch(text) else cell


def _numbers(cell: str) -> object:
    return [_number(word) for word in cell.split()]


def _truth(cell: str) -> object:
    return _TRUTH.get(cell.strip().lower(), cell)


_READERS: dict[type, Read] = {
    NumberList: _numbers,
    ExactDecimal: _number,
    WholeNumber: _number,
    Choice: str.strip,
    Text: str,
    IsoDate: str.strip,
    fields.Boolean: _truth,
}


def document_of(names: list[str], cells: list[str]) -> dict[str, object]:
    """A row as the document that it stands for; an empty cell is a field that was left out.

    Where a field and its parts both have a cell (`lathe` and `lathe.kind`), the parts stand.
    """
    known = columns()
    document: dict[str, object] = {}
    for name, cell in zip(names, cells, strict=True):
        if not cell.strip():
            continue
        *steps, last = name.split(".")
        place = document
        for step in steps:
            inner = place.get(step)
            if not isinstance(inner, dict):
                inner = place[step] = {}
            place = inner
        place[last] = known[name](cell)
    return document

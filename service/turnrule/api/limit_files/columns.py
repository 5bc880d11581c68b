"""The columns of a table of limits, and where in a limits body each of them stands.

A table has the same column for a rotor's thickness and a drum's diameter; a body has a name for each. The pack's
`entry/limits.columns.json` explains the same columns to people and programs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from turnrule.actions.figure_names import DRUM_NAMES, ROTOR_NAMES, FigureNames
from turnrule.api.faults import nearest

Path = tuple[str, ...]


class Form(Enum):
    """How the cells of a column are read."""

    TEXT = "text"
    WORD = "word"
    LENGTH = "length"
    WHOLE = "whole"
    DAY = "day"
    ANSWERS = "answers"


@dataclass(frozen=True, slots=True)
class Column:
    """One column; `rotor` and `drum` are its places in a body of that kind, empty where it has none of its own."""

    name: str
    form: Form
    rotor: Path
    drum: Path

    def path(self, *, is_rotor: bool) -> Path:
        """Its place in a body of that kind of part."""
        return self.rotor if is_rotor else self.drum


_FIGURE_COLUMNS = FigureNames(
    "nominal",
    "machining_limit",
    "discard_limit",
    "maximum_lateral_runout",
    "maximum_thickness_variation",
    "maximum_out_of_round",
    "maximum_taper",
)
MOST_COLUMNS = 256
"""Cells that are read of a row; there are a sixth of so many columns."""

ALSO = "also_"
"""Columns of the same values in the document's other unit begin with this."""


def _same(name: str, form: Form, *path: str) -> Column:
    return Column(name, form, path or (name,), path or (name,))


def _figures(prefix: str, *above: str) -> Iterator[Column]:
    for name, rotor, drum in zip(_FIGURE_COLUMNS, ROTOR_NAMES, DRUM_NAMES, strict=True):
        if name is not None:
            yield Column(prefix + name, Form.LENGTH, (*above, rotor or name), (*above, drum or name))


COLUMNS: tuple[Column, ...] = (
    _same("limits_id", Form.TEXT),
    _same("unit", Form.WORD),
    _same("kind", Form.WORD),
    _same("make", Form.TEXT, "application", "make"),
    _same("model", Form.TEXT, "application", "model"),
    _same("year_from", Form.WHOLE, "application", "year_from"),
    _same("year_to", Form.WHOLE, "application", "year_to"),
    _same("axle", Form.WORD, "application", "axle"),
    _same("brake_option", Form.TEXT, "application", "brake_option"),
    *_figures(""),
    _same("machining", Form.WORD),
    _same("construction", Form.WORD),
    _same("publisher", Form.TEXT, "source", "publisher"),
    _same("document", Form.TEXT, "source", "document"),
    _same("section", Form.TEXT, "source", "section"),
    _same("edition", Form.TEXT, "source", "edition"),
    _same("issued", Form.DAY, "source", "issued"),
    _same("effective_from", Form.DAY),
    _same("effective_to", Form.DAY),
    _same("review_due", Form.DAY),
    *_figures(ALSO, "also"),
    _same("expansion_per_k", Form.LENGTH),
    _same("note", Form.TEXT),
    _same("corrects_revision", Form.WHOLE, "corrects", "revision"),
    _same("reason", Form.TEXT),
    _same("answered_warnings", Form.ANSWERS),
)
BY_NAME = {column.name: column for column in COLUMNS}
EXPLAINING = ("# what goes in", "# for example")
"""A row whose first cell begins with one of these explains the columns, and enters nothing."""

NEEDED = ("unit", "kind", "make", "model", "year_from", "axle")
"""Without these columns no row of any table can be read."""

NEEDED_FIRST = (*NEEDED, "publisher", "document", "section", "edition", "effective_from")
"""Without these no row can be a first entry."""

_BY_PATH = {is_rotor: {column.path(is_rotor=is_rotor): column.name for column in COLUMNS} for is_rotor in (True, False)}
_OF_BODIES = {
    name: column.name
    for column in COLUMNS
    for name in (column.rotor[-1], column.drum[-1])
    if name != column.name and column.form is Form.LENGTH and not column.name.startswith(ALSO)
}
_BODY_WORD = re.compile(rf"\b(?:{'|'.join(map(re.escape, _OF_BODIES))})\b")


def column_of(pointer: str, *, is_rotor: bool) -> str:
    """The column that a JSON Pointer into a body is about; "" where it is about the row as a whole."""
    path = tuple(pointer.split("/")[1:])
    if path[:1] == ("answered_warnings",):
        return "answered_warnings"
    known = _BY_PATH[is_rotor]
    return known.get(path) or _BY_PATH[not is_rotor].get(path) or ("limits_id" if path[:1] == ("corrects",) else "")


def pointer_of(name: str, *, is_rotor: bool) -> str | None:
    """Where in a body a column stands, as a JSON Pointer; None where there is no such column."""
    column = BY_NAME.get(name)
    return None if column is None else "/" + "/".join(column.path(is_rotor=is_rotor))


def in_columns(detail: str) -> str:
    """A sentence about a body's fields as one about columns."""
    named = detail.replace('"corrects"', "limits_id and corrects_revision")
    return _BODY_WORD.sub(lambda found: _OF_BODIES[found.group()], named)


def meant(name: str) -> str:
    """A hint which column an unknown name was meant for; empty where nothing is near."""
    plain = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")
    near = [plain] if plain in BY_NAME else [_OF_BODIES[plain]] if plain in _OF_BODIES else nearest(plain, BY_NAME)
    return f"; did you mean {near[0]!r}?" if near else ""

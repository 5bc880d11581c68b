"""Rows of a table as limits bodies: the header is looked at once, then each row is read by the same rules as a body.

What a row shows by its cells and what its body shows by itself are told together, each fault by column and value.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from turnrule.actions.file_rows import Entry, OpenAnswer, Row, RowFault
from turnrule.api.faults import FaultsError
from turnrule.api.limit_files.answers_cell import read_answers
from turnrule.api.limit_files.cells import LONGEST_CELL, Cell, CellError, value_of
from turnrule.api.limit_files.columns import BY_NAME, EXPLAINING, MOST_COLUMNS, Form, column_of, in_columns, meant
from turnrule.api.limit_files.reading import FOLLOWING, Asked
from turnrule.judging.faults import Fault
from turnrule.judging.words import Kind, Unit

_APART = frozenset({"limits_id", "corrects_revision", "reason", "answered_warnings"})
"""Columns that are no plain fields of a body; all but the id say nothing in a second entry, and are not read there."""

HEADER_ROW = 1
_LONGEST_SHOWN = 200


def short(cell: Cell) -> str:
    """What stands in a cell, as far as a report shows it."""
    text = str(cell)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


@dataclass(frozen=True, slots=True)
class TableRow:
    """Where a row of a table stands, and its cells by column."""

    number: int
    file: str
    cells: dict[str, Cell]
    is_rotor: bool

    def told(self, fault: Fault, *, is_warning: bool = False) -> RowFault:
        """A fault of the row's body, with its column and what stands there."""
        column = column_of(fault.pointer, is_rotor=self.is_rotor)
        remedy = fault.detail.replace("this field is needed", "this cell is needed")
        shown = short(self.cells.get(column, ""))
        return RowFault(self.number, column, shown, fault.code, in_columns(remedy), is_warning, self.file)


class Slot(NamedTuple):
    """Where the cells of a column go: `at` in their row, and `above` and `key` in a body of one kind of part.

    `is_plain` where text is taken as it stands; `is_apart` where the cell is no field of the body.
    """

    at: int
    name: str
    form: Form
    above: str | None
    key: str
    is_plain: bool
    is_apart: bool


class Header:
    """The header of a table: which cell of a row belongs to which column, and what is wrong with it."""

    def __init__(self, names: Sequence[str], needed: Iterable[str]) -> None:
        self.width = len(names)
        self.unnamed = [index for index, name in enumerate(names) if not name.strip()]
        self.faults = tuple(_header_faults(names, needed))
        self.slots = {is_rotor: tuple(_slots(names, is_rotor=is_rotor)) for is_rotor in (True, False)}
        self._kind = names.index("kind") if "kind" in names else len(names)

    def is_rotor(self, cells: Sequence[Cell]) -> bool:
        """True unless a row is about a drum."""
        return len(cells) <= self._kind or cells[self._kind] not in _DRUMS


def _slots(names: Sequence[str], *, is_rotor: bool) -> Iterator[Slot]:
    for index, name in enumerate(names):
        column = BY_NAME.get(name)
        if column is not None:
            *above, key = column.path(is_rotor=is_rotor)
            is_plain = column.form in {Form.TEXT, Form.WORD, Form.DAY}
            yield Slot(index, name, column.form, above[0] if above else None, key, is_plain, name in _APART)


def _header_faults(names: Sequence[str], needed: Iterable[str]) -> Iterator[RowFault]:
    if len(names) > MOST_COLUMNS:
        remedy = f"the header has {len(names)} columns; at most {MOST_COLUMNS} are read"
        yield RowFault(HEADER_ROW, "", "", "too_many_columns", remedy)
        return
    for name, times in Counter(names).items():
        if not name.strip():
            continue
        if name not in BY_NAME:
            told = f"there is no column of this name{meant(name)}"
            yield RowFault(HEADER_ROW, short(name), short(name), "unknown_column", told)
        elif times > 1:
            yield RowFault(HEADER_ROW, name, name, "doubled_column", f"it stands {times} times; keep one of them")
    for name in needed:
        if name not in names:
            yield RowFault(HEADER_ROW, name, "", "missing_column", "no row can be read without it; add it")


Numbered = Iterable[tuple[int, Sequence[Cell] | RowFault]]
"""Rows as a table's reader hands them on: each with its number, its cells or why it has none."""


def rows_of(header: Header, numbered: Numbered, asked: Asked[Entry]) -> Iterator[Row[Entry]]:
    """Each row that is not blank and no explanation, read; it may have fewer cells than the header."""
    for number, cells in numbered:
        if isinstance(cells, RowFault):
            yield Row(TableRow(number, "", {}, is_rotor=True), None, (cells,))
        elif any(cells) and not str(cells[0]).startswith(EXPLAINING):
            yield _row(header, number, cells, asked)


def _row(header: Header, number: int, cells: Sequence[Cell], asked: Asked[Entry]) -> Row[Entry]:
    is_rotor = header.is_rotor(cells)
    reading = _Reading(TableRow(number, "", {}, is_rotor), is_second=asked.is_second)
    for slot in header.slots[is_rotor]:
        if slot.at >= len(cells):
            break
        cell = cells[slot.at]
        if cell:
            reading.take(slot, cell)
    place, faults = reading.place, reading.faults
    faults += _strays(header, place, cells)
    spoilt = {fault.column for fault in faults}
    try:
        entry = asked(reading.body(), is_spoilt=bool(faults))
    except FaultsError as error:
        told = map(place.told, _not_following(error.faults, spoilt))
        faults += [fault for fault in told if fault.column not in spoilt or not fault.column]
        return Row(place, None, faults)
    if faults:
        return Row(place, None, faults)
    return Row(place, entry, (), reading.limits_id, reading.answers)


class _Reading:
    """One row on its way into a body; cells that cannot be read become faults."""

    def __init__(self, place: TableRow, *, is_second: bool) -> None:
        self.place = place
        self.faults: list[RowFault] = []
        self.limits_id: str | None = None
        self.answers: tuple[OpenAnswer, ...] = ()
        self._is_second = is_second
        self._fields: dict[str, object] = {}
        # a first entry has both of these, so that each cell that is missing is named
        self._inner: dict[str, dict[str, object]] = (
            {"application": {}} if is_second else {"application": {}, "source": {}}
        )

    def take(self, slot: Slot, cell: Cell) -> None:
        """Read one cell that is not empty."""
        self.place.cells[slot.name] = cell
        try:
            if slot.is_plain and type(cell) is str and len(cell) <= LONGEST_CELL:
                value: object = cell
            else:
                value = value_of(cell, slot.form)
            if slot.is_apart:
                self._take_apart(slot, value)
            elif slot.above is None:
                self._fields[slot.key] = value
            else:
                self._inner.setdefault(slot.above, {})[slot.key] = value
        except CellError as error:
            place = self.place
            self.faults.append(
                RowFault(place.number, slot.name, short(cell), error.code, error.remedy, file=place.file)
            )

    def _take_apart(self, slot: Slot, value: object) -> None:
        if slot.name == "limits_id":
            self.limits_id = require_id(str(value))
        elif self._is_second:
            return
        elif slot.form is Form.ANSWERS:
            self.answers = read_answers(str(value), is_rotor=self.place.is_rotor)
        elif slot.above is None:
            self._fields[slot.key] = value
        else:
            self._inner.setdefault(slot.above, {})[slot.key] = value

    def body(self) -> dict[str, object]:
        """The row as a limits body."""
        also, corrects = self._inner.get("also"), self._inner.get("corrects")
        if also is not None:
            also["unit"] = Unit.IN.value if self._fields.get("unit") == Unit.MM.value else Unit.MM.value
        if corrects is not None and self.limits_id is not None:
            corrects["limits_id"] = self.limits_id
        return {**self._fields, **self._inner}


def require_id(text: str) -> str:
    """The text, or `CellError` where it cannot be the id of a record."""
    if _ID.fullmatch(text) is None:
        remedy = "an id has 1 to 80 small letters, digits and hyphens, and begins with no hyphen; or leave it empty"
        raise CellError("invalid_id", remedy)
    return text


_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,79}")
_DRUMS = frozenset({Kind.DRUM.value, Kind.PARKING_DRUM.value})


def _not_following(faults: Iterable[Fault], spoilt: set[str]) -> Iterator[Fault]:
    """The faults without those that only follow from a kind of part or a figure that could not be read."""
    faults = tuple(faults)
    following: set[str] = set()
    if "kind" in spoilt or any(fault.pointer == "/kind" for fault in faults):
        following.add("field_of_another_kind")
    if any(BY_NAME[name].form is Form.LENGTH for name in spoilt if name):
        following |= FOLLOWING
    return (fault for fault in faults if fault.code not in following)


def _strays(header: Header, place: TableRow, cells: Sequence[Cell]) -> Iterator[RowFault]:
    """Cells that stand under no column."""
    beyond = [index for index in range(header.width, len(cells)) if cells[index] != ""]
    for index in [*(index for index in header.unnamed if index < len(cells) and cells[index] != ""), *beyond]:
        remedy = f"this is the cell number {index + 1} of its row, and no column of the header is above it"
        yield RowFault(place.number, "", short(cells[index]), "no_such_column", remedy, file=place.file)

"""The cells of a sheet, put together from its XML as it comes: each as exactly what it holds.

A formula, an error value, a truth value or a time of day is nothing that can be entered: such a cell becomes `Odd`,
with the remedy. A number is the shortest decimal that the cell's binary fraction stands for.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from decimal import Decimal

from turnrule.api.limit_files.cells import Cell, Number, Odd
from turnrule.api.limit_files.columns import MOST_COLUMNS
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_package import Look
from turnrule.api.limit_files.xlsx_strings import Pieces, SharedStrings, unescaped
from turnrule.api.limit_files.xlsx_xml import Attributes, damaged

MOST_ROWS = 1_048_576
_EXACT = re.compile(r"-?(?=[0-9.]{1,16}$)[0-9]{1,15}(\.[0-9]*[1-9])?")
"""A decimal of at most 15 digits is the shortest one of its binary fraction, and is taken as it stands."""

_NUMBER = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]{1,3})?")
_ISO = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(T00:00(:00(\.0+)?)?Z?)?")
_FORMULA = "this is a formula, and its value may be out of date; paste the value in its place"
_NO_SUCH_DAY = 60
"""The number of 1900-02-29, which spreadsheets count and the calendar does not have."""

_LAST_DAY = 2_900_000
"""Days from either beginning to a day before the year 10000."""

_DIGITS = "0123456789"
_LONGEST_SHOWN = 60


class _Names:
    """The names of a sheet's elements in the namespace of its workbook."""

    def __init__(self, space: str) -> None:
        self.cell = f"{space}c"
        self.row = f"{space}row"
        self.values = (f"{space}v", f"{space}t")
        self.formula = f"{space}f"
        self.aid = f"{space}rPh"


class SheetCells:
    """Takes a sheet's elements and text; `rows` are those that have ended since it was last emptied.

    Raises `UnreadableError`.
    """

    def __init__(self, strings: SharedStrings, looks: Sequence[Look], *, from_1904: bool) -> None:
        self.rows: list[tuple[int, list[Cell]]] = []
        self.depth = 0
        self._strings = strings
        self._looks = looks
        self._first_day = datetime.date(1904, 1, 1) if from_1904 else datetime.date(1899, 12, 30)
        self._from_1904 = from_1904
        self._names = _Names("")
        self._columns: dict[str, int] = {}
        self._row = 0
        self._cells: list[Cell] = []
        self._column = -1
        self._attributes: Attributes = {}
        self._value = Pieces()
        self._formula: Pieces | None = None
        self._taking: Pieces | None = None
        self._aside = False

    def start(self, name: str, attributes: Attributes) -> None:
        """An element begins."""
        names = self._names
        if not self.depth:
            self._names = _Names(name.removesuffix("worksheet"))
        self.depth += 1
        if name == names.cell:
            self._begin_cell(attributes)
        elif name in names.values:
            self._taking = None if self._aside else self._value
        elif name == names.row:
            self._begin_row(attributes)
        elif name == names.formula:
            self._formula = self._taking = Pieces()
        elif name == names.aid:
            self._aside = True

    def end(self, name: str) -> None:
        """An element ends."""
        self.depth -= 1
        names = self._names
        if name == names.cell:
            self._end_cell()
        elif name in names.values or name == names.formula:
            self._taking = None
        elif name == names.row:
            self.rows.append((self._row, self._cells))
        elif name == names.aid:
            self._aside = False

    def text(self, piece: str) -> None:
        """Text within an element."""
        if self._taking is not None:
            self._taking.add(piece)

    def _begin_row(self, attributes: Attributes) -> None:
        number = _counted(attributes.get("r"), self._row + 1)
        if number <= self._row:
            raise damaged(f"its row {number} stands behind row {self._row}")
        if number > MOST_ROWS:
            raise damaged(f"it has a row {number}")
        self._row = number
        self._cells = []
        self._column = -1

    def _begin_cell(self, attributes: Attributes) -> None:
        place = attributes.get("r")
        column = self._column + 1 if place is None else self._column_of(place)
        if column <= self._column:
            raise damaged(f"the cells of its row {self._row} are out of order")
        if column >= MOST_COLUMNS:
            remedy = f"a row has cells beyond the column number {MOST_COLUMNS}; clear the columns behind the table"
            raise unreadable(self._row, "too_many_columns", remedy)
        self._column = column
        self._attributes = attributes
        self._formula = None
        self._value.clear()

    def _column_of(self, place: str) -> int:
        """The column of `AB12`, counted from 0."""
        letters = place.rstrip(_DIGITS)
        known = self._columns.get(letters)
        if known is None:
            if not 1 <= len(letters) <= 3 or not letters.isascii() or not letters.isupper():  # noqa: PLR2004 - XFD is last
                raise damaged(f"it has a cell {place[:_LONGEST_SHOWN]!r}")
            known = 0
            for letter in letters:
                known = known * 26 + ord(letter) - ord("A") + 1
            known -= 1
            self._columns[letters] = known
        return known

    def _end_cell(self) -> None:
        kept = self._value.kept
        cell: Cell
        if self._formula is not None:
            cell = Odd(f"={self._formula.taken()[:_LONGEST_SHOWN]}", "formula", _FORMULA)
        elif kept:
            cell = self._read(kept[0] if len(kept) == 1 else "".join(kept), self._attributes.get("t", "n"))
        else:
            return
        cells = self._cells
        if len(cells) < self._column:
            cells.extend([""] * (self._column - len(cells)))
        cells.append(cell)

    def _read(self, text: str, kind: str) -> Cell:
        match kind:
            case "s":
                return self._strings.text(_counted(text, -1))
            case "inlineStr" | "str":
                return unescaped(text)
            case "n":
                return self._number(text)
            case "b":
                shown = "TRUE" if text == "1" else "FALSE"
                return Odd(shown, "wrong_type", "the cell holds a truth value; format it as text and retype it")
            case "e":
                return Odd(text[:_LONGEST_SHOWN], "wrong_type", "the cell holds an error of the spreadsheet; clear it")
            case "d":
                return self._iso(text)
        raise damaged(f"a cell is of the unknown type {kind[:_LONGEST_SHOWN]!r}")

    def _number(self, text: str) -> Cell:
        style = self._attributes.get("s")
        look = Look.PLAIN
        if style is not None and self._looks:
            number = _counted(style, 0)
            look = self._looks[number] if number < len(self._looks) else Look.PLAIN
        if look is Look.DAY:
            return self._day(text)
        return Number(_shortest(text), is_plain=look is Look.PLAIN)

    def _day(self, text: str) -> Cell:
        """The day with a serial number."""
        serial = _shortest(text)
        shown = f"{serial:f}"[:_LONGEST_SHOWN]
        if serial != serial.to_integral_value():
            return Odd(shown, "invalid_date", "the cell holds a time of day; write the day alone, as 2026-04-30")
        number = int(serial)
        if not self._from_1904 and 0 < number < _NO_SUCH_DAY:
            number += 1
        no_such_day = not self._from_1904 and int(serial) in {0, _NO_SUCH_DAY}
        if no_such_day or not 0 <= number <= _LAST_DAY:
            return Odd(shown, "invalid_date", "the cell holds no day of the calendar; write it as 2026-04-30")
        return self._first_day + datetime.timedelta(days=number)

    @staticmethod
    def _iso(text: str) -> Cell:
        found = _ISO.fullmatch(text)
        return found[1] if found else Odd(text[:_LONGEST_SHOWN], "invalid_date", "write the day alone, as 2026-04-30")


def _counted(text: str | None, otherwise: int) -> int:
    """A number of an attribute; `otherwise` where there is none."""
    if text is None:
        return otherwise
    if not text.isascii() or not text.isdigit() or len(text) > 9:  # noqa: PLR2004 - more than any workbook counts
        raise damaged(f"{text[:_LONGEST_SHOWN]!r} stands where a number should")
    return int(text)


def _shortest(text: str) -> Decimal:
    """The shortest decimal of the binary fraction that a cell holds."""
    if _EXACT.fullmatch(text):
        return Decimal(text)
    if _NUMBER.fullmatch(text) is None:
        raise damaged(f"{text[:_LONGEST_SHOWN]!r} stands where a number should")
    number = Decimal(repr(float(text)))
    if not number.is_finite():
        raise damaged(f"{text[:_LONGEST_SHOWN]!r} is beyond all numbers")
    return Decimal(int(number)) if number == number.to_integral_value() else number

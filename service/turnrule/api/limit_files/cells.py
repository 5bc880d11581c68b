"""Cells of a table, as the readers of CSV and XLSX hand them on, and how each is read for its column.

A CSV cell is text. A spreadsheet's cell may be a number, a day, or something that cannot be read at all. Nothing is
guessed: a cell that may have been changed by the spreadsheet program is refused, with the remedy.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from turnrule.api.faults import quoted
from turnrule.api.limit_files.columns import Form

LONGEST_CELL = 30_000
"""Of characters; a spreadsheet's own bound is 32,767, and no field takes more than a fraction of it."""

LONGEST_NUMBER = 32
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")
_WHOLE = re.compile(r"-?[0-9]{1,9}")
_COMMA = re.compile(r"[-+]?[0-9]+,[0-9]+")
_SHORT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+\.)")


@dataclass(frozen=True, slots=True)
class Number:
    """A number as a spreadsheet keeps it: exactly what the cell holds, and whether it shows as it is."""

    value: Decimal
    is_plain: bool = True

    def __str__(self) -> str:
        return f"{self.value:f}"


@dataclass(frozen=True, slots=True)
class Odd:
    """What stands in a cell and cannot be read, with the code and the remedy."""

    shown: str
    code: str
    remedy: str

    def __str__(self) -> str:
        return self.shown


Cell = str | Number | datetime.date | Odd
"""An empty cell is ""."""


class CellError(Exception):
    """A cell that does not say what its column is for; `code` and `remedy` are what the report tells."""

    def __init__(self, code: str, remedy: str) -> None:
        self.code = code
        self.remedy = remedy
        super().__init__(remedy)


def _length(cell: Cell) -> object:
    """An exact decimal, with the digits that are written."""
    if isinstance(cell, str):
        if _NUMBER.fullmatch(cell) is None or len(cell) > LONGEST_NUMBER:
            raise CellError("invalid_number", _why_no_number(cell))
        return Decimal(cell)
    if isinstance(cell, Number):
        if not cell.is_plain:
            raise CellError("invalid_number", "the cell shows a percentage; format it as text and write the number")
        return cell.value
    raise _made_a_day(cell)


def _why_no_number(text: str) -> str:
    if text != text.strip():
        return f"{quoted(text)} has a space before or behind it; take it away"
    if _COMMA.fullmatch(text):
        return f"write a decimal point and not a comma: {text.replace(',', '.').lstrip('+')}"
    if _SHORT.fullmatch(text):
        return f"write a digit before and behind the point, as in 0.5, in place of {quoted(text)}"
    if len(text) > LONGEST_NUMBER and _NUMBER.fullmatch(text):
        return f"{len(text)} characters; a number has at most {LONGEST_NUMBER}"
    return f"{quoted(text)} is no number; write digits and a decimal point, without a unit"


def _whole(cell: Cell) -> object:
    """A whole number."""
    if isinstance(cell, str):
        if _WHOLE.fullmatch(cell) is None:
            raise CellError("invalid_number", f"{quoted(cell)} is not a whole number")
        return int(cell)
    if isinstance(cell, Number):
        return cell.value
    raise _made_a_day(cell)


def _text(cell: Cell) -> object:
    """Text; a spreadsheet's whole number is taken for the text that it shows."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Number):
        if cell.is_plain and cell.value == cell.value.to_integral_value() and abs(cell.value) < 10**15:
            return str(cell)
        raise CellError(
            "number_in_text",
            f"the spreadsheet has made the number {cell} of this; format the cell as text and retype it",
        )
    raise _made_a_day(cell)


def _word(cell: Cell) -> object:
    """One of a few words."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Number):
        raise CellError("invalid_choice", f"{cell} is a number; write one of the words that the template lists")
    raise _made_a_day(cell)


def _day(cell: Cell) -> object:
    """A day, as YYYY-MM-DD."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Number):
        raise CellError("invalid_date", f"{cell} is a number; format the cell as a date, or write it as 2026-04-30")
    return str(cell)


def _made_a_day(cell: Cell) -> CellError:
    remedy = f"the spreadsheet has made the date {cell} of this; format the cell as text and retype it"
    return CellError("date_in_text", remedy)


READERS: dict[Form, Callable[[Cell], object]] = {
    Form.TEXT: _text,
    Form.WORD: _word,
    Form.LENGTH: _length,
    Form.WHOLE: _whole,
    Form.DAY: _day,
    Form.ANSWERS: _text,
}
"""How a cell that is not empty is read in a column of each form; each raises `CellError`."""


def value_of(cell: Cell, form: Form) -> object:
    """What a cell says, for a body. Raises `CellError`."""
    if isinstance(cell, Odd):
        raise CellError(cell.code, cell.remedy)
    if isinstance(cell, str) and len(cell) > LONGEST_CELL:
        raise CellError("too_long", f"{len(cell)} characters; at most {LONGEST_CELL} are read from a cell")
    return READERS[form](cell)

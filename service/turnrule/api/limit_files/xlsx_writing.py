"""Workbooks written row by row: what they hold is read back as it was, and no text of them is a formula."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import IO

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from turnrule.api.limit_files.bodies import OutCell
from turnrule.api.limit_files.columns import COLUMNS, Form
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_cells import MOST_ROWS
from turnrule.api.limit_files.xlsx_package import SHEET
from turnrule.api.limit_files.xlsx_strings import escaped

HEAD_FONT = Font(bold=True)
HEAD_FILL = PatternFill("solid", fgColor="E8E8E8")
WIDTHS = {Form.TEXT: 22, Form.WORD: 14, Form.LENGTH: 15, Form.WHOLE: 11, Form.DAY: 14, Form.ANSWERS: 40}
"""Characters that a column of each form shows."""

_MOST_DIGITS = 15
_RISKY = ("=", "+", "-", "@", "#", "'")
"""Text that begins so may be taken for a formula or an error value, where its cell does not say that it is text."""


def write_workbook(rows: Iterable[Sequence[OutCell]], out: IO[bytes]) -> None:
    """One sheet with the columns and the rows. Raises `UnreadableError` where there are more than a sheet holds."""
    workbook = Workbook(write_only=True)
    sheet = workbook.create_sheet(SHEET)
    sheet.freeze_panes = "A2"
    for number, column in enumerate(COLUMNS, 1):
        sheet.column_dimensions[get_column_letter(number)].width = WIDTHS[column.form]
    sheet.append([_head(sheet, column.name) for column in COLUMNS])
    for number, cells in enumerate(rows, 2):
        if number > MOST_ROWS:
            raise unreadable(number, "too_many_rows", f"a sheet has {MOST_ROWS} rows; write .csv or .jsonl")
        sheet.append([_cell(sheet, cell) for cell in cells])
    workbook.save(out)


def _head(sheet: Worksheet, name: str) -> Cell:
    cell = WriteOnlyCell(sheet, name)
    cell.font, cell.fill = HEAD_FONT, HEAD_FILL
    return cell


def _cell(sheet: Worksheet, cell: OutCell) -> object:
    """A cell as the workbook keeps it: a length as a number only where that shows the digits as they are printed."""
    if isinstance(cell, Decimal):
        text = f"{cell:f}"
        return float(text) if shows_as(text) else text
    if isinstance(cell, str):
        kept = escaped(cell)
        if not kept.startswith(_RISKY):
            return kept
        written = WriteOnlyCell(sheet, kept)
        written.data_type = "s"
        written.quotePrefix = True
        return written
    return cell


def shows_as(text: str) -> bool:
    """True where a spreadsheet's number would show exactly these digits; it shows 15 at most."""
    return len(text) <= _MOST_DIGITS and repr(float(text)).removesuffix(".0") == text

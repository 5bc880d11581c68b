"""An empty table to enter limits in, whose columns explain themselves: as CSV, or as a workbook.

The workbook has a comment on each column's head, lists to choose from, a sheet of explanations, and cells that are
formatted so that a spreadsheet program changes nothing of what is typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import BinaryIO

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from turnrule.api.limit_files.column_texts import ColumnText
from turnrule.api.limit_files.columns import EXPLAINING, Form
from turnrule.api.limit_files.export import BOM, csv_line, put_in_place
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_cells import MOST_ROWS
from turnrule.api.limit_files.xlsx_package import SHEET
from turnrule.api.limit_files.xlsx_writing import HEAD_FILL, HEAD_FONT, WIDTHS

NEEDED_FILL = PatternFill("solid", fgColor="FFE08A")
_FORMATS = {Form.DAY: "yyyy-mm-dd", Form.WHOLE: "0"}
_TEXT = "@"
_WRAPPED = Alignment(wrap_text=True, vertical="top")
_COMMENT_SIZE = (320, 130)
_EXPLANATIONS = "what goes in"


def write_template(texts: Sequence[ColumnText], path: Path) -> None:
    """Write the template; a file that is there is left alone.

    Raises `FileExistsError`, and `UnreadableError` where the name says no kind of table.
    """
    writer = {".csv": _write_csv, ".xlsx": _write_xlsx}.get(path.suffix.lower())
    if writer is None:
        raise unreadable(0, "unknown_suffix", "a template's name ends in .csv or .xlsx")
    with put_in_place(path, replace=False) as out:
        writer(texts, out)


def _write_csv(texts: Sequence[ColumnText], out: BinaryIO) -> None:
    what, example = EXPLAINING
    out.write(BOM + csv_line(text.column.name for text in texts))
    out.write(csv_line(_begun(what, [text.in_short for text in texts])))
    out.write(csv_line(_begun(example, [text.example for text in texts])))


def _begun(first: str, cells: Sequence[str]) -> list[str]:
    """A row that explains: it says so in its first cell, and so is not read."""
    return [f"{first}: {cells[0]}" if cells[0] else first, *cells[1:]]


def _write_xlsx(texts: Sequence[ColumnText], out: BinaryIO) -> None:
    workbook = Workbook()
    table = workbook.active
    assert isinstance(table, Worksheet)  # noqa: S101 - a new workbook has one
    table.title = SHEET
    table.freeze_panes = "A2"
    for number, text in enumerate(texts, 1):
        _write_column(table, number, text)
    _write_explanations(workbook.create_sheet(_EXPLANATIONS), texts)
    workbook.save(out)


def _write_column(table: Worksheet, number: int, text: ColumnText) -> None:
    form = text.column.form
    letter = get_column_letter(number)
    head = table.cell(1, number, text.column.name)
    head.font, head.fill = HEAD_FONT, NEEDED_FILL if text.is_needed else HEAD_FILL
    comment = Comment(text.in_short, "turnrule")
    comment.width, comment.height = _COMMENT_SIZE
    head.comment = comment
    column = table.column_dimensions[letter]
    column.width = WIDTHS[form]
    column.number_format = _FORMATS.get(form, _TEXT)
    rule = _rule(text, letter)
    if rule is not None:
        rule.add(f"{letter}2:{letter}{MOST_ROWS}")
        table.add_data_validation(rule)


def _rule(text: ColumnText, letter: str) -> DataValidation | None:
    """What the spreadsheet lets into a column; the import says the rest."""
    match text.column.form:
        case Form.WORD:
            rule = DataValidation("list", f'"{",".join(text.words)}"')
            rule.error = f"Choose one of: {', '.join(text.words)}."
        case Form.WHOLE:
            rule = DataValidation("whole", "1", operator="greaterThanOrEqual")
            rule.error = "Write a whole number."
        case Form.DAY:
            rule = DataValidation("date", "1", operator="greaterThan")
            rule.error = "Write a day, as 2026-04-30."
        case Form.LENGTH:
            rule = DataValidation("custom", f'AND(ISERROR(FIND(",",{letter}2)),ISERROR(FIND(" ",{letter}2)))')
            rule.error = "Write digits and a decimal point: no comma, no unit, no space."
        case _:
            return None
    rule.allow_blank = True
    rule.showErrorMessage = True
    rule.errorTitle = text.column.name
    return rule


def _write_explanations(sheet: Worksheet, texts: Sequence[ColumnText]) -> None:
    sheet.freeze_panes = "A2"
    for number, (name, width) in enumerate(
        (("column", 28), ("needed", 9), ("what goes in", 90), ("one of", 44), ("for example", 26)), 1
    ):
        head = sheet.cell(1, number, name)
        head.font, head.fill = HEAD_FONT, HEAD_FILL
        sheet.column_dimensions[get_column_letter(number)].width = width
    for row, text in enumerate(texts, 2):
        needed = "needed" if text.is_needed else None
        words = ", ".join(text.words) or None
        for number, value in enumerate((text.column.name, needed, text.description, words, text.example or None), 1):
            cell = sheet.cell(row, number, value)
            cell.alignment = _WRAPPED
            cell.number_format = _TEXT
        sheet.cell(row, 1).font = Font(bold=text.is_needed)

"""Workbooks, as spreadsheet programs write them."""

from __future__ import annotations

import contextlib
import datetime
import io
import zipfile
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.formula import ArrayFormula

from tests.api.limit_files.reading import (
    HEADER,
    LINE,
    NAMES,
    Value,
    cells,
    csv_file,
    entries,
    faults,
    read,
    xlsx_file,
)
from tests.api.limit_files.workbooks import workbook
from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.cells import Cell, Number, Odd
from turnrule.api.limit_files.xlsx_rows import XlsxTable


def _told(path: Path) -> list[tuple[int, str, str]]:
    return [(fault.row, fault.column, fault.code) for fault in faults(path)]


def _typed() -> list[Value]:
    """The sample row as a spreadsheet program keeps what a person typed."""
    return cells(
        year_from=2021,
        year_to=2024,
        nominal=26.0,
        machining_limit=24.6,
        discard_limit=24.0,
        issued=datetime.date(2023, 4, 1),
        effective_from=datetime.date(2021, 1, 1),
    )


def test_numbers_and_days_are_read_as_what_they_are(tmp_path: Path) -> None:
    [entry] = entries(xlsx_file(tmp_path, _typed()))
    [plain] = entries(csv_file(tmp_path, LINE))
    assert entry.fits == plain.fits
    assert entry.source == plain.source
    assert entry.figures.limits == plain.figures.limits
    assert entry.effective_from == plain.effective_from
    assert entry.figures.printed == {
        "nominal_thickness": "26",
        "minimum_machining_thickness": "24.6",
        "discard_thickness": "24",
    }


def test_a_text_cell_keeps_the_zeros_that_a_number_loses(tmp_path: Path) -> None:
    [entry] = entries(xlsx_file(tmp_path, cells(machining_limit="24.60")))
    assert entry.figures.printed["minimum_machining_thickness"] == "24.60"


def _change(path: Path, change: Callable[[Workbook], None]) -> Path:
    workbook = load_workbook(path)
    change(workbook)
    workbook.save(path)
    return path


def _put(path: Path, column: str, value: object, look: str | None = None) -> Path:
    def change(workbook: Workbook) -> None:
        cell = workbook["limits"].cell(2, NAMES.index(column) + 1)
        cell.value = value  # type: ignore[assignment]  # whatever a person may put there
        if look is not None:
            cell.number_format = look

    return _change(path, change)


@pytest.mark.parametrize(
    ("column", "value", "look", "code", "words"),
    [
        ("nominal", "=12+14", None, "formula", "paste the value"),
        ("make", "=A1", None, "formula", "paste the value"),
        ("issued", "=TODAY()", None, "formula", "paste the value"),
        ("nominal", True, None, "wrong_type", "truth value"),
        ("make", False, None, "wrong_type", "truth value"),
        ("nominal", "#DIV/0!", None, "wrong_type", "error of the spreadsheet"),
        ("nominal", datetime.date(2026, 1, 5), None, "date_in_text", "has made the date 2026-01-05 of this"),
        ("edition", datetime.date(2023, 4, 1), "mmm-yy", "date_in_text", "format the cell as text"),
        ("brake_option", 16.5, None, "number_in_text", "has made the number 16.5 of this"),
        ("section", 0.062, "0.00%", "number_in_text", "format the cell as text"),
        ("nominal", 0.26, "0%", "invalid_number", "percentage"),
        ("edition", 20, "0%", "number_in_text", "format the cell as text"),
        ("unit", 25.4, None, "invalid_choice", "is a number"),
        ("axle", datetime.date(2026, 1, 5), None, "date_in_text", "format the cell as text"),
        ("year_from", datetime.date(2021, 1, 1), None, "date_in_text", "format the cell as text"),
        ("year_from", 2021.5, None, "invalid_number", "not a whole number"),
        ("issued", 45017, None, "invalid_date", "format the cell as a date"),
        ("issued", datetime.datetime(2023, 4, 1, 13, 5), None, "invalid_date", "time of day"),  # noqa: DTZ001
        ("issued", datetime.time(13, 5), None, "invalid_date", "time of day"),
        ("issued", "01/04/2023", None, "invalid_date", "write it as 2026-04-30"),
    ],
)
def test_a_cell_that_the_spreadsheet_has_changed_or_computed_is_told(
    column: str, value: Value, look: str | None, code: str, words: str, tmp_path: Path
) -> None:
    [fault] = faults(_put(xlsx_file(tmp_path, cells()), column, value, look))
    assert (fault.row, fault.column, fault.code) == (2, column, code)
    assert words in fault.remedy


def test_a_formula_is_shown_as_it_stands_there_and_not_by_its_value(tmp_path: Path) -> None:
    [fault] = faults(_put(xlsx_file(tmp_path, cells()), "nominal", "=12+14"))
    assert fault.value == "=12+14"
    array = _put(xlsx_file(tmp_path, cells()), "nominal", ArrayFormula("I2:I2", "=SUM(12,14)"))
    assert [fault.code for fault in faults(array)] == ["formula"]


def test_text_that_only_looks_like_a_formula_is_text(tmp_path: Path) -> None:
    def change(workbook: Workbook) -> None:
        cell = workbook["limits"].cell(2, NAMES.index("section") + 1)
        cell.value = "=p. 14"
        cell.data_type = "s"

    [entry] = entries(_change(xlsx_file(tmp_path, cells()), change))
    assert entry.source.section == "=p. 14"


@pytest.mark.parametrize(("value", "text"), [(500, "500"), (16, "16"), (2014.0, "2014")])
def test_a_whole_number_in_a_text_column_is_the_text_that_it_shows(value: float, text: str, tmp_path: Path) -> None:
    [entry] = entries(_put(xlsx_file(tmp_path, cells()), "edition", value))
    assert entry.source.edition == text


def test_both_calendars_of_workbooks_are_read(tmp_path: Path) -> None:
    def old(workbook: Workbook) -> None:
        workbook.epoch = CALENDAR_MAC_1904
        for name in ("issued", "effective_from"):
            workbook["limits"].cell(2, NAMES.index(name) + 1).value = datetime.date(1999, 12, 31)

    [entry] = entries(_change(xlsx_file(tmp_path, cells(year_from=1998, year_to=1999)), old))
    assert str(entry.source.issued) == "1999-12-31"
    new = _put(xlsx_file(tmp_path, cells()), "issued", datetime.date(1999, 12, 31))
    assert [str(entry.source.issued) for entry in entries(new)] == ["1999-12-31"]


@pytest.mark.parametrize(("serial", "day"), [(1, "1900-01-01"), (59, "1900-02-28"), (61, "1900-03-01")])
def test_days_of_the_first_months_are_those_that_the_program_shows(serial: int, day: str, tmp_path: Path) -> None:
    path = _put(xlsx_file(tmp_path, cells()), "issued", serial, "yyyy-mm-dd")
    with path.open("rb") as file:
        [(_, line)] = _lines(file)
    assert str(line[NAMES.index("issued")]) == day


@pytest.mark.parametrize("serial", [0, 60, -1, 3_000_000])
def test_a_day_that_is_not_in_the_calendar_is_told(serial: int, tmp_path: Path) -> None:
    assert _told(_put(xlsx_file(tmp_path, cells()), "issued", serial, "yyyy-mm-dd")) == [(2, "issued", "invalid_date")]


def test_rich_text_is_the_text_that_it_shows(tmp_path: Path) -> None:
    rich = CellRichText("Ostrel ", TextBlock(InlineFont(b=True), "workshop"), " manual")
    workbook = Workbook()
    table = workbook.active
    assert table is not None
    table.title = "limits"
    table.append(list(NAMES))
    table.append(cells(document=rich))  # type: ignore[arg-type]
    workbook.save(tmp_path / "rich.xlsx")
    [entry] = entries(tmp_path / "rich.xlsx")
    assert entry.source.document == "Ostrel workshop manual"


def test_rows_are_counted_as_the_program_shows_them(tmp_path: Path) -> None:
    path = xlsx_file(tmp_path, cells(), [], [], cells(axle="frnt"))
    assert [row.place.number for row in read(path)] == [2, 5]


def test_cells_to_the_right_of_the_table_are_told(tmp_path: Path) -> None:
    assert _told(xlsx_file(tmp_path, [*cells(), None, "x"])) == [(2, "", "no_such_column")]
    far = _change(xlsx_file(tmp_path, cells()), lambda book: book["limits"].cell(2, 300).__setattr__("value", "x"))
    assert _told(far) == [(2, "", "too_many_columns")]


def test_a_sheet_may_be_named_and_must_be_where_there_are_several(tmp_path: Path) -> None:
    path = xlsx_file(tmp_path, cells(axle="frnt"), sheet="Vorderachse")
    assert _told(path) == [(2, "axle", "invalid_choice")]
    _change(path, lambda book: book.create_sheet("notes").append(["x"]))
    [fault] = faults(path)
    assert (fault.row, fault.code) == (0, "no_such_sheet")
    assert "'Vorderachse', 'notes'" in fault.remedy
    assert [fault.code for fault in faults(path, sheet="Vorderachse")] == ["invalid_choice"]
    assert "did you mean 'Vorderachse'" in faults(path, sheet="Vorderachs")[0].remedy
    _change(path, lambda book: book.create_sheet("limits").append(["x"]))
    assert {fault.code for fault in faults(path)} == {"missing_column", "unknown_column"}


def test_the_first_row_names_the_columns(tmp_path: Path) -> None:
    assert [fault.code for fault in faults(xlsx_file(tmp_path, header=[None]))] == ["no_header"]
    below = xlsx_file(tmp_path, NAMES, cells(), header=[None])
    assert [fault.code for fault in faults(below)] == ["no_header"]
    assert [fault.code for fault in faults(xlsx_file(tmp_path))] == ["no_rows"]
    bold = _change(xlsx_file(tmp_path, cells()), lambda book: book["limits"]["A1"].__setattr__("font", Font(bold=True)))
    assert not faults(bold)


def _lines(file: BinaryIO) -> list[tuple[int, Sequence[Cell]]]:
    with contextlib.closing(XlsxTable(file, None)) as table:
        return [(number, line) for number, line in table if not isinstance(line, RowFault)]


def _as_openpyxl_says(value: object) -> object:
    if isinstance(value, datetime.datetime):
        return value.date() if value.time() == datetime.time() else None
    return value


def _as_we_say(cell: Cell) -> object:
    if isinstance(cell, Number):
        return float(cell.value)
    if isinstance(cell, Odd):
        return None
    return cell if cell != "" else ""


VALUES = (
    st.none()
    | st.integers(-(10**15), 10**15)
    | st.floats(allow_nan=False, allow_infinity=False, min_value=-1e15, max_value=1e15)
    | st.dates(datetime.date(1900, 3, 1), datetime.date(2200, 1, 1))
    | st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=20)
)


@settings(max_examples=80)
@given(rows=st.lists(st.lists(VALUES, max_size=6), min_size=1, max_size=4))
def test_every_cell_is_read_as_a_well_kept_library_reads_it(rows: list[list[object]]) -> None:
    book = Workbook()
    table = book.active
    assert table is not None
    table.append(["unit"])
    for number, row in enumerate(rows, 2):
        for column, value in enumerate(row, 1):
            cell = table.cell(number, column, value)  # type: ignore[call-overload]
            if isinstance(value, str):
                cell.data_type = "s"
    out = io.BytesIO()
    book.save(out)
    theirs = {
        (cell.row, cell.column): _as_openpyxl_says(cell.value)
        for line in load_workbook(out).worksheets[0].iter_rows(min_row=2)
        for cell in line
        if cell.value is not None
    }
    ours = {
        (number, place): _as_we_say(cell)
        for number, line in _lines(out)
        for place, cell in enumerate(line, 1)
        if cell != ""
    }
    assert ours.keys() == theirs.keys()
    for place, cell in ours.items():
        if "_x" not in str(theirs[place]):
            assert cell == theirs[place]


@given(number=st.decimals(Decimal("0.0001"), 2000, places=4))
def test_a_number_is_the_shortest_decimal_of_its_cell(number: Decimal) -> None:
    book = Workbook()
    table = book.active
    assert table is not None
    table.append(["unit"])
    table.append([float(number)])
    out = io.BytesIO()
    book.save(out)
    [(_, [cell])] = _lines(out)
    assert isinstance(cell, Number)
    assert cell.value == number
    assert "E" not in str(cell)


@pytest.mark.parametrize(
    ("kept", "shown"),
    [
        ("24.600000000000001", "24.6"),
        ("0.30000000000000004", "0.30000000000000004"),
        ("1.05E-5", "0.0000105"),
        ("24.60", "24.6"),
        ("24.0", "24"),
        ("2.4E1", "24"),
        ("123456789012345678", "123456789012345680"),
    ],
)
def test_a_number_is_read_as_the_program_that_kept_it_shows_it(kept: str, shown: str, tmp_path: Path) -> None:
    path = xlsx_file(tmp_path, [7], header=["unit"])
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    parts[sheet] = parts[sheet].replace(b"<v>7</v>", f"<v>{kept}</v>".encode())
    with workbook(tmp_path, parts).open("rb") as file:
        [(_, [cell])] = _lines(file)
    assert str(cell) == shown


def test_the_header_of_these_tests_is_the_same_in_both_kinds_of_file() -> None:
    assert HEADER.split(",") == NAMES

"""No text in a file of ours begins a formula, whichever program opens it; and it is read back as it was."""

from __future__ import annotations

import csv
import io
import re
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from openpyxl import load_workbook

from tests.api.limit_files.revisions import PLAIN, sets
from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.columns import COLUMNS, Form
from turnrule.api.limit_files.export import csv_line, export
from turnrule.api.limit_files.faults_csv import FaultsCsv
from turnrule.api.limit_files.spreadsheet_text import as_it_was, safe_text, shown_safely
from turnrule.store.limit_records import LimitRevision

FORMULA = re.compile("[ \u00a0]*[=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
"""What a spreadsheet program may run: the list of OWASP's page on CSV injection, and the same behind spaces."""

RISKY_TEXTS = st.text(st.sampled_from(list("=+-@'\";, \t\r\n\u00a0\uff1daA1")), max_size=9)


def _cells_of_any_program(line: str) -> list[str]:
    """The cells of a line as programs see it that part at commas with quotes, or at semicolons without."""
    return [*next(csv.reader([line])), *line.split(";")[1:], *re.split("[\r\n]", line)[1:-1]]


@given(text=RISKY_TEXTS | st.text(max_size=9))
@example(text="=1+1")
@example(text="'=1+1")
@example(text="a;=1+1")
@example(text="a; \u00a0-2")
@example(text="' '=")
def test_text_made_safe_is_the_same_text_again_and_begins_no_formula(text: str) -> None:
    safe = safe_text(text)
    assert as_it_was(safe) == text
    for cell in re.split("[;\r\n]", safe):
        assert FORMULA.match(cell) is None
    assert not any(FORMULA.match(cell) for cell in re.split("[;\r\n]", shown_safely(text)))


@pytest.mark.parametrize("text", ["'tis", "6.2, '+' side", "O'Rell", "it's; 'so'", "", "'"])
def test_an_apostrophe_that_a_person_typed_stays(text: str) -> None:
    assert as_it_was(text) == text


def test_text_without_risk_is_not_touched() -> None:
    assert safe_text("Ostrel workshop manual, 6.2; table 3 - p. 14") == "Ostrel workshop manual, 6.2; table 3 - p. 14"


@given(rows=sets())
def test_no_cell_of_an_exported_csv_file_begins_a_formula_in_any_program(rows: Sequence[LimitRevision]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "limits.csv"
        export(rows, path)
        text = path.read_bytes().decode("utf-8-sig")
    lines = text.split("\r\n")
    assert lines.pop() == ""
    for line in lines:
        assert not [cell for cell in _cells_of_any_program(line) if FORMULA.match(cell)]


def test_numbers_and_days_of_a_csv_file_are_not_quoted_and_text_always_is() -> None:
    line = csv_line([PLAIN.effective_from, 2021, PLAIN.limits.nominal, 'a "b"', None, ""]).decode()
    assert line == '2021-01-01,2021,26.0,"a ""b""",,\r\n'


@given(
    fault=st.builds(
        RowFault,
        row=st.integers(0, 10**9),
        column=RISKY_TEXTS,
        value=RISKY_TEXTS | st.text(max_size=9),
        code=st.just("invalid_text"),
        remedy=RISKY_TEXTS,
        is_warning=st.booleans(),
        file=RISKY_TEXTS,
    )
)
@example(fault=RowFault(7, "nominal", "=HYPERLINK(A1)", "formula", "-1", is_warning=False))
def test_no_cell_of_the_faults_begins_a_formula_and_each_fault_is_one_line(fault: RowFault) -> None:
    out = io.BytesIO()
    FaultsCsv(out)(fault)
    header, line, rest = out.getvalue().decode("utf-8-sig").split("\r\n")
    assert header == '"row","column","value","code","remedy","level","file"'
    assert rest == ""
    assert not [cell for cell in _cells_of_any_program(line) if FORMULA.match(cell)]
    row, _, _, code, _, level, _ = next(csv.reader([line]))
    assert (int(row), code, level) == (fault.row, fault.code, "warning" if fault.is_warning else "refused")


RISKY = ("=1+1", "+1", "-1", "@SUM(A1)", "#REF!", "'=1", "=cmd|' /C calc'!A0", "_x003D_1")


@pytest.mark.parametrize("text", RISKY)
def test_text_in_a_workbook_is_kept_as_text(text: str, tmp_path: Path) -> None:
    path = tmp_path / "limits.xlsx"
    export([replace(PLAIN, note=f"{text}", fits=replace(PLAIN.fits, model=text))], path)
    sheet = load_workbook(path)["limits"]
    texts = {column.name for column in COLUMNS if column.form is Form.TEXT}
    for head, cell in zip(sheet[1], sheet[2], strict=True):
        assert cell.data_type not in {"f", "e"}
        if head.value in texts and cell.value is not None:
            assert cell.data_type == "s"
    [note] = [cell for head, cell in zip(sheet[1], sheet[2], strict=True) if head.value == "note"]
    assert note.value == text.replace("_x", "_x005F_x")
    assert bool(note.quotePrefix) is (text[0] in "=+-@#'")

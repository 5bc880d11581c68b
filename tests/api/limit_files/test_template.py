"""The template: its columns explain themselves, and it can be filled in and imported as it is."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from tests.api.limit_files.reading import CELLS, NAMES, entries, faults, told
from turnrule.api.limit_files.column_texts import PLACE, read_column_texts
from turnrule.api.limit_files.columns import BY_NAME, COLUMNS, NEEDED_FIRST, Form
from turnrule.api.limit_files.template import write_template
from turnrule.api.limit_files.unreadable import UnreadableError
from turnrule.pack import PackError, load_pack

FOLDER = load_pack().folder
TEXTS = read_column_texts(FOLDER)
EXAMPLES = {text.column.name: text.example for text in TEXTS}


def test_the_pack_explains_the_columns_that_are_read_in_their_order() -> None:
    fields = json.loads((FOLDER / PLACE).read_text("utf-8"))["fields"]
    assert [field["name"] for field in fields] == [column.name for column in COLUMNS]
    types = {
        Form.TEXT: "string",
        Form.WORD: "string",
        Form.ANSWERS: "string",
        Form.LENGTH: "number",
        Form.WHOLE: "integer",
        Form.DAY: "date",
    }
    assert [field["type"] for field in fields] == [types[column.form] for column in COLUMNS]
    needed = {field["name"] for field in fields if field.get("constraints", {}).get("required")}
    assert needed == set(NEEDED_FIRST)
    assert {text.column.name for text in TEXTS if text.words} == {
        column.name for column in COLUMNS if column.form is Form.WORD
    }


def test_a_csv_template_explains_each_column_and_has_no_row_to_take_out(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    write_template(TEXTS, path)
    assert [fault.code for fault in faults(path)] == ["no_rows"]
    header, what, example = list(csv.reader(path.read_text("utf-8-sig").splitlines()))
    assert header == list(BY_NAME)
    assert what[0].startswith("# what goes in: ")
    assert all(len(cell) > 15 for cell in what)
    assert example[header.index("model")] == "Ostrel"
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow([dict(zip(NAMES, CELLS, strict=True)).get(name, "") for name in header])
    [entry] = entries(path)
    assert entry.fits.model == "Ostrel"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A template as a workbook."""
    path = tmp_path / "t.xlsx"
    write_template(TEXTS, path)
    return path


def test_a_workbook_template_has_a_comment_on_each_head_and_a_sheet_that_explains(book: Path) -> None:
    workbook = load_workbook(book)
    table = workbook["limits"]
    assert table.freeze_panes == "A2"
    for cell, text in zip(table[1], TEXTS, strict=True):
        assert cell.value == text.column.name
        assert cell.comment is not None
        assert text.description in cell.comment.text
        assert cell.font.b
        assert cell.comment.text.startswith("Needed.") is (text.column.name in NEEDED_FIRST)
    explained = workbook["what goes in"]
    assert [row[0].value for row in explained.iter_rows(min_row=2)] == list(BY_NAME)
    assert [row[2].value for row in explained.iter_rows(min_row=2)] == [text.description for text in TEXTS]


def test_a_workbook_template_offers_the_words_of_each_list_and_checks_what_is_typed(book: Path) -> None:
    rules = {
        str(rule.sqref).split(":")[0].rstrip("2"): rule
        for rule in load_workbook(book)["limits"].data_validations.dataValidation
    }
    for number, text in enumerate(TEXTS, 1):
        rule = rules.get(get_column_letter(number))
        if text.column.form in {Form.TEXT, Form.ANSWERS}:
            assert rule is None
            continue
        assert rule is not None
        assert rule.showErrorMessage
        assert rule.error
        assert str(rule.sqref).endswith("1048576")
        if text.words:
            assert rule.type == "list"
            assert rule.formula1 == f'"{",".join(text.words)}"'
            assert len(rule.formula1) < 255


def test_a_workbook_template_keeps_what_is_typed_as_it_is_typed(book: Path) -> None:
    table = load_workbook(book)["limits"]
    for number, text in enumerate(TEXTS, 1):
        look = table.column_dimensions[get_column_letter(number)].number_format
        expected = {Form.DAY: "yyyy-mm-dd", Form.WHOLE: "0"}.get(text.column.form, "@")
        assert look == expected


def test_a_workbook_template_that_was_filled_in_is_imported(book: Path) -> None:
    assert told(book) == [(0, "", "no_rows")]
    workbook = load_workbook(book)
    workbook["limits"].append([EXAMPLES[column.name] or None for column in COLUMNS])
    workbook.save(book)
    [entry] = entries(book)
    assert entry.figures.printed["nominal_thickness"] == "26.0"


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("hours of work", encoding="utf-8")
    with pytest.raises(FileExistsError):
        write_template(TEXTS, path)
    assert path.read_text("utf-8") == "hours of work"
    with pytest.raises(UnreadableError, match=r"\.csv or \.xlsx"):
        write_template(TEXTS, tmp_path / "t.ods")
    assert list(tmp_path.iterdir()) == [path]


def test_a_pack_that_does_not_explain_the_columns_is_told(tmp_path: Path) -> None:
    with pytest.raises(PackError, match="install the program again"):
        read_column_texts(tmp_path)
    (tmp_path / "entry").mkdir()
    (tmp_path / PLACE).write_text('{"fields": [{"name": "unit"}]}', encoding="utf-8")
    with pytest.raises(PackError, match="does not explain"):
        read_column_texts(tmp_path)

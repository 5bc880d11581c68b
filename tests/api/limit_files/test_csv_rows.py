"""CSV files, as people and programs write them."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.limit_files.reading import CELLS, FIRST, HEADER, LINE, NAMES, csv_file, entries, faults, line, read, told
from turnrule.api.limit_files.csv_rows import LONGEST_ROW
from turnrule.api.limit_files.opening import opened


def test_a_plain_file_is_read(tmp_path: Path) -> None:
    [entry] = entries(csv_file(tmp_path, LINE))
    assert entry.fits.make == "Corvane"
    assert entry.figures.printed["nominal_thickness"] == "26.0"
    assert str(entry.source.issued) == "2023-04-01"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"])
def test_separators_line_ends_and_a_byte_order_mark_make_no_difference(
    separator: str, end: str, bom: bytes, tmp_path: Path
) -> None:
    cells = [f'"{cell}"' for cell in CELLS]
    text = end.join([separator.join(NAMES), separator.join(cells)])
    (tmp_path / "a.csv").write_bytes(bom + text.encode())
    assert entries(tmp_path / "a.csv") == entries(csv_file(tmp_path, LINE))


def test_columns_may_stand_in_any_order_and_those_not_needed_may_be_left_out(tmp_path: Path) -> None:
    kept = [pair for pair in zip(NAMES, CELLS, strict=True) if pair[0] not in {"issued", "year_to"}]
    header, cells = zip(*reversed(kept), strict=True)
    [entry] = entries(csv_file(tmp_path, ",".join(cells), header=",".join(header)))
    assert entry.fits.year_to is None
    assert entry.source.issued is None


def test_blank_rows_count_and_are_not_read(tmp_path: Path) -> None:
    path = csv_file(tmp_path, "", LINE, "," * (len(NAMES) - 1), line(axle="frnt"))
    assert [row.place.number for row in read(path)] == [3, 5]
    assert told(path) == [(5, "axle", "invalid_choice")]


def test_a_row_with_a_line_break_in_a_cell_is_one_row_and_its_break_is_told(tmp_path: Path) -> None:
    path = csv_file(tmp_path, line(section='"p. 14\r\np. 15"'), line(axle="frnt"))
    assert told(path) == [(2, "section", "invalid_text"), (3, "axle", "invalid_choice")]


def test_quotes_and_separators_within_quotes_belong_to_the_text(tmp_path: Path) -> None:
    [entry] = entries(csv_file(tmp_path, line(section='"6.2, table ""3"""')))
    assert entry.source.section == '6.2, table "3"'


@pytest.mark.parametrize(
    ("cells", "count"), [(LINE + ",x", 18), (LINE.rpartition(",")[0], 16), ("mm;rotor", 1), (LINE + ",", 18)]
)
def test_a_row_with_more_or_fewer_cells_is_told_and_the_others_are_read(cells: str, count: int, tmp_path: Path) -> None:
    path = csv_file(tmp_path, cells, line(axle="frnt"))
    assert told(path) == [(2, "", "ragged_row"), (3, "axle", "invalid_choice")]
    assert f"has {count} cells and the header 17" in faults(path)[0].remedy


@pytest.mark.parametrize(
    ("header", "code", "column", "words"),
    [
        (
            HEADER.replace("discard_limit", "discard_thickness"),
            "unknown_column",
            "discard_thickness",
            "'discard_limit'",
        ),
        (HEADER.replace("edition", "Edition"), "unknown_column", "Edition", "did you mean 'edition'?"),
        (HEADER.replace("issued", "isued"), "unknown_column", "isued", "did you mean 'issued'?"),
        (HEADER.replace("issued", "colour"), "unknown_column", "colour", "no column of this name"),
        (HEADER.replace("issued", "edition"), "doubled_column", "edition", "2 times"),
        (HEADER.replace("kind", ""), "missing_column", "kind", "add it"),
    ],
)
def test_a_header_with_a_fault_is_told_and_nothing_below_it_is_read(
    header: str, code: str, column: str, words: str, tmp_path: Path
) -> None:
    found = faults(csv_file(tmp_path, line(axle="frnt"), header=header))
    assert (1, column, code) in {(fault.row, fault.column, fault.code) for fault in found}
    assert {fault.row for fault in found} == {1}
    assert any(words in fault.remedy for fault in found)


def test_a_cell_under_a_column_without_a_name_is_told(tmp_path: Path) -> None:
    header = HEADER.replace("issued", "")
    assert told(csv_file(tmp_path, line(issued=""), header=header)) == []
    assert told(csv_file(tmp_path, LINE, header=header)) == [(2, "", "no_such_column")]


@pytest.mark.parametrize(
    ("content", "row", "code"),
    [
        (b"", 1, "empty_file"),
        (b"\n" + HEADER.encode(), 1, "empty_file"),
        (b"a,b,c\n1,2,3\n", 1, "no_header"),
        (HEADER.replace(",", "|").encode(), 1, "no_header"),
        (b'"unit,kind\n', 1, "no_header"),
        ((HEADER + "\n" + LINE + "\n").encode("utf-16"), 1, "not_utf8"),
        ((HEADER + "\n" + LINE + "\n" + line(make="Corváne") + "\n").encode("cp1252"), 3, "not_utf8"),
        ((HEADER + "\n" + LINE + "\n" + line(make='"Cor"vane') + "\n").encode(), 3, "invalid_quotes"),
        ((HEADER + "\n" + LINE + "\n" + line(make='"Corvane') + "\n").encode(), 3, "invalid_quotes"),
        ((HEADER + "\n" + LINE.replace(",", "\r") + "\n").encode(), 2, "invalid_quotes"),
        ((HEADER + "\n" + line(make="x" * LONGEST_ROW) + "\n").encode(), 2, "row_too_long"),
        ((HEADER + "\n" + line(make='"' + "x\n" * LONGEST_ROW) + "\n").encode(), 2, "invalid_quotes"),
        (HEADER.encode() + b"\n", 0, "no_rows"),
    ],
)
def test_a_file_that_cannot_be_read_on_says_where_and_what_to_do(
    content: bytes, row: int, code: str, tmp_path: Path
) -> None:
    path = tmp_path / "limits.csv"
    path.write_bytes(content)
    [fault] = faults(path)
    assert (fault.row, fault.code) == (row, code)
    assert len(fault.remedy) > 15


@pytest.mark.parametrize("setting", [131_072, 1 << 30])
def test_what_is_told_of_a_long_row_does_not_depend_on_a_setting_of_the_process(setting: int, tmp_path: Path) -> None:
    before = csv.field_size_limit(setting)
    try:
        for cell, code in (('"' + "x\n" * LONGEST_ROW, "invalid_quotes"), ("x" * LONGEST_ROW, "row_too_long")):
            path = tmp_path / "limits.csv"
            path.write_bytes((HEADER + "\n" + line(make=cell) + "\n").encode())
            assert [(fault.row, fault.code) for fault in faults(path)] == [(2, code)]
    finally:
        csv.field_size_limit(before)


def test_rows_before_one_that_cannot_be_decoded_are_still_checked(tmp_path: Path) -> None:
    path = tmp_path / "limits.csv"
    path.write_bytes((HEADER + "\n" + line(axle="frnt") + "\n").encode() + b"\xff\n")
    assert told(path) == [(2, "axle", "invalid_choice"), (3, "", "not_utf8")]


@given(content=st.binary(max_size=300) | st.text(max_size=200).map(lambda text: f"{HEADER}\n{text}".encode()))
def test_no_bytes_crash_the_reader(content: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(content)
    with opened(path, FIRST) as found:
        rows = list(found.rows)
    assert rows
    assert all(row.entry is not None or row.faults for row in rows)

"""Which rows of a file are read, and what a file may be."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.bodies import EXAMPLE_LIMITS
from tests.api.limit_files.reading import CELLS, FIRST, LINE, NAMES, csv_file, faults, line, read, told, xlsx_file
from turnrule.api.limit_files import opening
from turnrule.api.limit_files.opening import opened
from turnrule.api.limit_files.reading import SECOND_ENTRIES
from turnrule.api.limit_files.row_numbers import RowNumbers, RowNumbersError

BAD = line(axle="frnt")


def test_only_the_rows_that_are_named_are_looked_at(tmp_path: Path) -> None:
    path = csv_file(tmp_path, LINE, BAD, LINE, BAD, LINE)
    assert [row.place.number for row in read(path, "2,4,6")] == [2, 4, 6]
    assert told(path, "2,4,6") == []
    assert told(path, "2-4") == [(3, "axle", "invalid_choice")]
    assert told(path, "5") == [(5, "axle", "invalid_choice")]


def test_nothing_is_read_behind_the_last_row_that_is_named(tmp_path: Path) -> None:
    path = csv_file(tmp_path, LINE, "ragged", '"never closed')
    assert told(path, "2") == []
    assert told(path, "2-3") == [(3, "", "ragged_row")]


def test_a_named_row_that_is_not_there_is_told(tmp_path: Path) -> None:
    path = csv_file(tmp_path, LINE, "", LINE)
    assert told(path, "2,9") == [(9, "", "no_such_row")]
    assert told(path, "3") == [(3, "", "no_such_row")]
    assert told(path, "2-400") == []
    assert told(path, "7-400") == [(7, "", "no_such_row")]
    assert "rows 7 to 400" in faults(path, "7-400")[0].remedy


def test_rows_of_workbooks_and_of_lines_are_named_in_the_same_way(tmp_path: Path) -> None:
    book = xlsx_file(tmp_path, CELLS, [cell if cell != "front" else "frnt" for cell in CELLS])
    assert told(book, "2") == []
    assert told(book, "3") == [(3, "axle", "invalid_choice")]
    lines = tmp_path / "a.jsonl"
    lines.write_text("{}\n\n[]\n", encoding="utf-8")
    assert {fault.row for fault in faults(lines, "3")} == {3}


@given(parts=st.lists(st.tuples(st.integers(1, 60), st.integers(0, 9)), min_size=1, max_size=6))
def test_stretches_hold_what_they_name_whatever_their_order(parts: list[tuple[int, int]]) -> None:
    text = ",".join(f"{first}-{first + more}" if more else str(first) for first, more in parts)
    meant = {number for first, more in parts for number in range(first, first + more + 1)}
    rows = RowNumbers(text)
    assert [number for number in range(1, 80) if number in rows] == sorted(meant)
    assert rows.last == max(meant)
    assert {number for first, last in rows.not_found() for number in range(first, last + 1)} == meant
    rows.met(70)
    rows.met(max(meant))
    assert max(meant) not in {last for _, last in rows.not_found()}


@pytest.mark.parametrize("text", ["", "a", "2-", "-2", "5-3", "0", "2;3", "2-40-50", "1.5", "2,,3", "9999999999"])
def test_what_names_no_rows_is_refused(text: str) -> None:
    with pytest.raises(RowNumbersError, match=r"2-40,57|counted from 1"):
        RowNumbers(text)


def test_a_file_of_no_known_kind_is_told(tmp_path: Path) -> None:
    path = tmp_path / "limits.xls"
    path.write_bytes(b"x")
    [fault] = faults(path)
    assert (fault.row, fault.code) == (0, "unknown_suffix")
    assert ".csv, .xlsx, .json, .jsonl" in fault.remedy


def test_a_file_beyond_the_greatest_size_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "LARGEST_FILE", 100)
    assert [fault.code for fault in faults(csv_file(tmp_path, LINE))] == ["file_too_large"]


def test_a_file_that_is_not_there_is_an_error_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read(tmp_path / "none.csv")


def test_how_far_the_reading_is_can_be_seen(tmp_path: Path) -> None:
    book = xlsx_file(tmp_path, *[CELLS] * 2000)
    for path in (csv_file(tmp_path, *[LINE] * 2000), book):
        with opened(path, FIRST) as found:
            seen = [found.position() for _ in found.rows]
        assert seen == sorted(seen)
        assert len(set(seen)) > 2
        assert seen[0] < found.size / 2 < seen[-1] <= found.size


def test_a_second_entry_may_leave_out_the_document_and_has_no_columns_of_a_first_one(tmp_path: Path) -> None:
    short = [(name, cell) for name, cell in zip(NAMES, CELLS, strict=True) if NAMES.index(name) < 11]
    path = csv_file(tmp_path, ",".join(cell for _, cell in short), header=",".join(name for name, _ in short))
    with opened(path, SECOND_ENTRIES) as found:
        [row] = list(found.rows)
    assert row.entry is not None
    assert row.entry.source is None
    whole = csv_file(tmp_path, f"{LINE},a-1,looked twice", header=",".join([*NAMES, "limits_id", "reason"]))
    with opened(whole, SECOND_ENTRIES) as found:
        [named] = list(found.rows)
    assert (named.faults, named.limits_id, named.answers) == ((), "a-1", ())
    assert named.entry is not None
    body = tmp_path / "a.json"
    body.write_text(EXAMPLE_LIMITS[:-1] + ', "answered_warnings": [], "reason": 7}', encoding="utf-8")
    with opened(body, SECOND_ENTRIES) as found:
        assert [row.faults for row in found.rows] == [()]


def test_a_header_with_more_columns_than_are_read_is_told_at_once(tmp_path: Path) -> None:
    header = ",".join([*NAMES, *(f"x{number}" for number in range(15_000))])
    assert told(csv_file(tmp_path, LINE, header=header)) == [(1, "", "too_many_columns")]

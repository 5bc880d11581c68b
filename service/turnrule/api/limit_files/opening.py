"""A file of limits, opened by what its name says it is, and read row by row.

Whatever is wrong with the file is a fault of one of its rows, or of row 0: nothing is raised for its content.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Generic, TypeVar

from turnrule.actions.file_rows import Entry, Row, RowFault
from turnrule.api.limit_files.csv_rows import CsvTable
from turnrule.api.limit_files.json_rows import JsonPlace, bodies_of, lines_of, row_of
from turnrule.api.limit_files.reading import Asked
from turnrule.api.limit_files.row_numbers import RowNumbers
from turnrule.api.limit_files.table_rows import Header, Numbered, rows_of
from turnrule.api.limit_files.unreadable import UnreadableError, unreadable
from turnrule.api.limit_files.xlsx_rows import XlsxTable
from turnrule.judging.faults import Fault

LARGEST_FILE = 4 * 1024 * 1024 * 1024
SUFFIXES = (".csv", ".xlsx", ".json", ".jsonl")
_LINES = (".jsonl", ".ndjson")

Item = TypeVar("Item")


@dataclass(slots=True)
class Opened(Generic[Entry]):
    """An open file: how much there is to read, how much was read (in the same measure), and its rows."""

    size: int
    position: Callable[[], int]
    rows: Iterator[Row[Entry]]


@contextlib.contextmanager
def opened(
    path: Path, asked: Asked[Entry], *, only: RowNumbers | None = None, sheet: str | None = None
) -> Iterator[Opened[Entry]]:
    """The rows of a file or of a folder of JSON files; `only` those that are named, and a fault for each not there.

    `sheet` names the sheet of a workbook. Raises `OSError`, nothing for what the file holds.
    """
    wanted = only or RowNumbers()
    with contextlib.ExitStack() as stack:
        try:
            if path.is_dir():
                size, position, rows = _folder(path, asked, wanted)
            else:
                size, position, rows = _one(stack, path, asked, wanted, sheet)
        except UnreadableError as error:
            yield Opened(0, lambda: 0, iter([_refused(error.fault)]))
        else:
            yield Opened(size, position, _to_the_end(rows, wanted))


Rows = tuple[int, Callable[[], int], Iterator[Row[Entry]]]


def _one(
    stack: contextlib.ExitStack, path: Path, asked: Asked[Entry], only: RowNumbers, sheet: str | None
) -> Rows[Entry]:
    suffix = path.suffix.lower()
    file = stack.enter_context(path.open("rb"))
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise unreadable(0, "file_too_large", f"it has {size} bytes, and at most {LARGEST_FILE} are read; divide it")
    if suffix == ".csv":
        table = CsvTable(file)
        return size, file.tell, _of_table(table.names, table, asked, only)
    if suffix == ".xlsx":
        workbook = XlsxTable(file, sheet)
        stack.callback(workbook.close)
        return workbook.size, lambda: workbook.position, _of_table(workbook.names, workbook, asked, only)
    if suffix in {".json", *_LINES}:
        raws = _raws(file, path)
        return size, file.tell, (row_of(number, "", raw, asked) for number, raw in _only(raws, only))
    remedy = f"what a file is is told by its name; it ends in one of {', '.join(SUFFIXES)}"
    raise unreadable(0, "unknown_suffix", remedy)


def _of_table(names: Sequence[str], table: Numbered, asked: Asked[Entry], only: RowNumbers) -> Iterator[Row[Entry]]:
    header = Header(names, asked.needed)
    if header.faults:
        return iter([_refused(*header.faults)])
    return rows_of(header, _only(table, only), asked)


def _raws(file: BinaryIO, path: Path) -> Iterator[tuple[int, bytes]]:
    return lines_of(file) if path.suffix.lower() in _LINES else bodies_of(file)


def _folder(path: Path, asked: Asked[Entry], only: RowNumbers) -> Rows[Entry]:
    """Every JSON file of a folder, by name; their bodies are counted on from one to the next."""
    files = sorted(place for place in path.iterdir() if place.suffix.lower() in {".json", *_LINES} and place.is_file())
    if not files:
        raise unreadable(0, "empty_folder", "there are no .json or .jsonl files in it")
    read = 0
    count = 0

    def each() -> Iterator[tuple[int, tuple[str, bytes | RowFault]]]:
        nonlocal read, count
        for place in files:
            with place.open("rb") as file:
                try:
                    for _, raw in _raws(file, place):
                        count += 1
                        yield count, (place.name, raw)
                except UnreadableError as error:
                    count += 1
                    yield count, (place.name, error.fault)
            read += place.stat().st_size

    def rows() -> Iterator[Row[Entry]]:
        for number, (name, raw) in _only(each(), only):
            if isinstance(raw, bytes):
                yield row_of(number, name, raw, asked)
            else:
                fault = JsonPlace(number, name, None).told(Fault("", raw.code, raw.remedy))
                yield Row(JsonPlace(number, name, None), None, [fault])

    return sum(place.stat().st_size for place in files), lambda: read, rows()


def _only(numbered: Iterable[tuple[int, Item]], only: RowNumbers) -> Iterator[tuple[int, Item]]:
    """Those that are named; nothing is read behind the last of them."""
    last = only.last
    for number, item in numbered:
        if last is not None and number > last:
            return
        if number in only:
            yield number, item
        if number == last:
            return


def _to_the_end(rows: Iterator[Row[Entry]], only: RowNumbers) -> Iterator[Row[Entry]]:
    """The rows, then whatever ended the reading, then the rows that were named and are not there."""
    count = 0
    try:
        for row in rows:
            count += 1
            only.met(row.place.number)
            yield row
    except UnreadableError as error:
        yield _refused(error.fault)
        return
    if not count and only.last is None:
        yield _refused(RowFault(0, "", "", "no_rows", "there are no rows in it"))
    for first, last in only.not_found():
        named = f"row {first}" if first == last else f"rows {first} to {last}"
        yield _refused(RowFault(first, "", "", "no_such_row", f"{named} should be read, and nothing stands there"))


def _refused(*faults: RowFault) -> Row[Entry]:
    """No row at all, but what is wrong with the file."""
    return Row(JsonPlace(0, "", None), None, faults)

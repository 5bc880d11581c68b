"""Rows of a CSV file: UTF-8, separated by commas, semicolons or tabs, read strictly and line by line.

Never more than one row is held. What cannot be decoded or has its quotes wrong ends the reading there: nothing that
stands behind it could be trusted.
"""

from __future__ import annotations

import csv
from collections.abc import Container, Iterator, Sequence
from typing import BinaryIO

from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.cells import Cell
from turnrule.api.limit_files.columns import BY_NAME
from turnrule.api.limit_files.spreadsheet_text import as_it_was
from turnrule.api.limit_files.unreadable import unreadable

LONGEST_ROW = 100_000
"""Bytes of one row: below the longest cell that `csv` reads unless told otherwise, 131,072 characters, which is a
setting of the whole process; so no answer here depends on what else runs in it."""

_SEPARATORS = (",", ";", "\t")
_FEWEST_KNOWN = 2
_TEMPLATE = "'turnrule limits template' writes one that does"
_BOM = b"\xef\xbb\xbf"
_WIDE_BOMS = (b"\xff\xfe", b"\xfe\xff")
_NEVER_CLOSED = "a quote that begins a cell here is never closed; nothing behind it could be read"


class CsvTable:
    """A CSV file: the names in its header, then its rows with their numbers; a ragged row as what is wrong with it.

    Raises `UnreadableError`, here and while it is read.
    """

    def __init__(self, file: BinaryIO, known: Container[str] = BY_NAME, written_by: str = _TEMPLATE) -> None:
        """`known` are the names of columns by which a header is told, `written_by` says where to get one."""
        self._lines = _Lines(file)
        first = next(self._lines, "")
        if not first.strip():
            raise unreadable(1, "empty_file", "the first row is blank; it holds the names of the columns")
        separator, self.names = _header(first, known, written_by)
        self._reader = csv.reader(self._lines, delimiter=separator, strict=True)

    def __iter__(self) -> Iterator[tuple[int, Sequence[Cell] | RowFault]]:
        """Row 2 and all that follow, as a spreadsheet counts them: blank ones count."""
        width = len(self.names)
        number = 1
        while True:
            number += 1
            self._lines.row = number
            self._lines.length = 0
            try:
                cells = next(self._reader)
            except StopIteration:
                return
            except csv.Error as error:
                raise unreadable(number, "invalid_quotes", _about_quotes(error)) from None
            if len(cells) != width and any(cells):
                yield number, _ragged(number, cells, width)
            else:
                yield number, [as_it_was(cell) for cell in cells]


def _ragged(number: int, cells: Sequence[str], width: int) -> RowFault:
    remedy = f"the row has {len(cells)} cells and the header {width}; is a separator missing, or one too many?"
    return RowFault(number, "", "", "ragged_row", remedy)


def _header(first: str, known: Container[str], written_by: str) -> tuple[str, list[str]]:
    """The separator under which the first line names columns, and the names. Raises `UnreadableError`."""
    found = {}
    for separator in _SEPARATORS:
        try:
            names = next(csv.reader([first], delimiter=separator, strict=True))
        except csv.Error:
            continue
        if sum(name in known for name in names) >= _FEWEST_KNOWN:
            found[separator] = names
    if len(found) != 1:
        remedy = f"the first row does not name the columns, set apart by commas, semicolons or tabs; {written_by}"
        raise unreadable(1, "no_header", remedy)
    return found.popitem()


def _about_quotes(error: csv.Error) -> str:
    if "unexpected end" in str(error):
        return _NEVER_CLOSED
    return 'text stands behind a closing quote, or a bare carriage return; a quote within quotes is written ""'


class _Lines:
    """The lines of the file as text; `row` is what is being read, `length` how many bytes it has had so far."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.row = 1
        self.length = 0
        self._is_first = True

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        line = self._file.readline(LONGEST_ROW + 1)
        if not line:
            raise StopIteration
        if self._is_first:
            self._is_first = False
            if line.startswith(_WIDE_BOMS):
                raise unreadable(1, "not_utf8", "this is UTF-16; save it as 'CSV UTF-8'")
            line = line.removeprefix(_BOM)
        goes_on = self.length > 0
        self.length += len(line)
        if self.length > LONGEST_ROW:
            if goes_on:
                raise unreadable(self.row, "invalid_quotes", _NEVER_CLOSED)
            raise unreadable(self.row, "row_too_long", f"the row has more than {LONGEST_ROW} bytes")
        try:
            return line.decode("utf-8")
        except UnicodeDecodeError:
            raise unreadable(self.row, "not_utf8", "this row is not UTF-8; save the file as 'CSV UTF-8'") from None

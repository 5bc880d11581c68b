"""Rows of a workbook's sheet, read as a stream."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import BinaryIO

from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.cells import Cell
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_cells import SheetCells
from turnrule.api.limit_files.xlsx_package import LARGEST_STREAM, Package, Part
from turnrule.api.limit_files.xlsx_strings import SharedStrings
from turnrule.api.limit_files.xlsx_xml import fed


class XlsxTable:
    """A sheet: the names in its first row, then its rows with their numbers. Raises `UnreadableError`."""

    def __init__(self, file: BinaryIO, sheet: str | None) -> None:
        self.position = 0
        self._strings = SharedStrings()
        try:
            self._begin(Package(file), sheet)
        except BaseException:
            self._strings.close()
            raise

    def _begin(self, package: Package, sheet: str | None) -> None:
        self._sheet = package.sheet(sheet)
        self.size = self._sheet.size
        if self._sheet.strings is not None:
            self._strings.fill(package.open(self._sheet.strings, LARGEST_STREAM))
        self._rows = self._read(package.open(self._sheet.part, LARGEST_STREAM))
        number, cells = next(self._rows, (0, ()))
        if number != 1 or not any(cells):
            raise unreadable(1, "no_header", "the first row of the sheet is blank; it holds the names of the columns")
        self.names = [str(cell) for cell in cells]

    def close(self) -> None:
        """Let go of what was put aside."""
        self._strings.close()

    def __iter__(self) -> Iterator[tuple[int, Sequence[Cell] | RowFault]]:
        """The rows after the first that have any cells."""
        return self._rows

    def _read(self, part: Part) -> Iterator[tuple[int, Sequence[Cell]]]:
        cells = SheetCells(self._strings, self._sheet.looks, from_1904=self._sheet.from_1904)
        for self.position in fed(part, cells):
            yield from cells.rows
            cells.rows.clear()

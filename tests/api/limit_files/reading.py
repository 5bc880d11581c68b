"""Read a file of a test, and say what came of it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path

from openpyxl import Workbook

from turnrule.actions.file_rows import Row, RowFault
from turnrule.actions.requests import LimitsEntry
from turnrule.api.limit_files.columns import NEEDED_FIRST
from turnrule.api.limit_files.opening import opened
from turnrule.api.limit_files.reading import Asked
from turnrule.api.limit_files.row_numbers import RowNumbers
from turnrule.api.limits_schemas import read_limits

FIRST = Asked(read_limits, NEEDED_FIRST, read_limits)
"""First entries with all that can be said of them without a store."""

HEADER = (
    "unit,kind,make,model,year_from,year_to,axle,brake_option,nominal,machining_limit,discard_limit,"
    "publisher,document,section,edition,issued,effective_from"
)
LINE = (
    "mm,rotor,Corvane,Ostrel,2021,2024,front,B16,26.0,24.6,24.0,Corvane,Ostrel workshop manual,p. 14,2023-04,"
    "2023-04-01,2021-01-01"
)
NAMES, CELLS = HEADER.split(","), LINE.split(",")


def line(**changes: str) -> str:
    """The sample row with some cells changed, as a line of a CSV file."""
    return ",".join(changes.get(name, cell) for name, cell in zip(NAMES, CELLS, strict=True))


def read(path: Path, rows: str | None = None, sheet: str | None = None) -> list[Row[LimitsEntry]]:
    """Every row of a file of first entries."""
    only = None if rows is None else RowNumbers(rows)
    with opened(path, FIRST, only=only, sheet=sheet) as found:
        return list(found.rows)


def faults(path: Path, rows: str | None = None, sheet: str | None = None) -> list[RowFault]:
    """Every fault of a file of first entries."""
    return [fault for row in read(path, rows, sheet) for fault in row.faults]


def told(path: Path, rows: str | None = None) -> list[tuple[int, str, str]]:
    """Row, column and code of every fault."""
    return [(fault.row, fault.column, fault.code) for fault in faults(path, rows)]


def entries(path: Path) -> list[LimitsEntry]:
    """What the rows of a file enter; none of them may have a fault."""
    rows = read(path)
    assert not [fault for row in rows for fault in row.faults]
    return [row.entry for row in rows if row.entry is not None]


def csv_file(folder: Path, *lines: str, header: str = HEADER, name: str = "limits.csv") -> Path:
    """A CSV file of these lines."""
    path = folder / name
    path.write_bytes("".join(f"{text}\r\n" for text in (header, *lines)).encode())
    return path


Value = str | float | bool | datetime.date | datetime.time | None


def xlsx_file(
    folder: Path, *rows: Iterable[Value], header: Sequence[Value] = NAMES, sheet: str = "limits", name: str = "l.xlsx"
) -> Path:
    """A workbook with these rows, as another program may write it."""
    workbook = Workbook()
    table = workbook.active
    assert table is not None
    table.title = sheet
    for row in (header, *rows):
        table.append(list(row))
    path = folder / name
    workbook.save(path)
    return path


def cells(**changes: Value) -> list[Value]:
    """The sample row with some cells changed, as a workbook's row."""
    return [changes.get(name, cell) for name, cell in zip(NAMES, CELLS, strict=True)]

"""Revisions written to a file that can be imported again: CSV, XLSX or one JSON body on each line.

A file is written beside its place and put there when it is whole; memory does not grow with it.
"""

from __future__ import annotations

import contextlib
import datetime
import errno
import os
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

import orjson

from turnrule.api.limit_files.bodies import OutCell, body_of, cells_of
from turnrule.api.limit_files.columns import COLUMNS
from turnrule.api.limit_files.spreadsheet_text import safe_text
from turnrule.api.limit_files.unreadable import unreadable
from turnrule.api.limit_files.xlsx_writing import write_workbook
from turnrule.store.limit_records import LimitRevision

BOM = b"\xef\xbb\xbf"
"""Without it a spreadsheet program takes a CSV file for one in an encoding of its own."""


def write_jsonl(rows: Iterable[LimitRevision], out: BinaryIO) -> None:
    """One body on each line."""
    out.writelines(orjson.dumps(body_of(row)) + b"\n" for row in rows)


def write_csv(rows: Iterable[LimitRevision], out: BinaryIO) -> None:
    """A table with commas, its text in quotes and its numbers without (RFC 4180)."""
    out.write(BOM + csv_line(column.name for column in COLUMNS))
    out.writelines(csv_line(cells_of(row)) for row in rows)


def csv_line(cells: Iterable[OutCell], safe: Callable[[str], str] = safe_text) -> bytes:
    """One row of a CSV file; no cell of it can begin a formula, since all text in it goes through `safe`."""
    return (",".join(_csv_cell(cell, safe) for cell in cells) + "\r\n").encode("utf-8", "surrogatepass")


def _csv_cell(cell: OutCell, safe: Callable[[str], str]) -> str:
    if cell is None or cell == "":
        return ""
    if isinstance(cell, str):
        return '"' + safe(cell).replace('"', '""') + '"'
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return cell.isoformat() if isinstance(cell, datetime.date) else str(cell)


def write_xlsx(rows: Iterable[LimitRevision], out: BinaryIO) -> None:
    """A workbook with one sheet."""
    write_workbook((cells_of(row) for row in rows), out)


WRITERS: dict[str, Callable[[Iterable[LimitRevision], BinaryIO], None]] = {
    ".csv": write_csv,
    ".xlsx": write_xlsx,
    ".jsonl": write_jsonl,
}


def export(rows: Iterable[LimitRevision], path: Path) -> None:
    """Write the rows to a file of the kind that its name says. Raises `UnreadableError` for any other name.

    Whatever the rows raise is handed on; then nothing is written.
    """
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise unreadable(0, "unknown_suffix", f"its name ends in one of {', '.join(WRITERS)}")
    with put_in_place(path) as out:
        writer(rows, out)


@contextlib.contextmanager
def put_in_place(path: Path, *, replace: bool = True) -> Iterator[BinaryIO]:
    """A new file beside a place, that is moved there when all of it is written, and removed when it cannot be.

    Raises `FileExistsError` where something is there that must not be replaced.
    """
    if not replace and path.exists():
        raise FileExistsError(errno.EEXIST, "is there already, and is not replaced", str(path))
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with beside.open("xb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)

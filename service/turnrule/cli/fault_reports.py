"""The faults of a file, shown to a person as far as one reads, and written to a file as many as there are."""

from __future__ import annotations

import contextlib
import shutil
import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.export import put_in_place
from turnrule.api.limit_files.faults_csv import FaultsCsv, shown
from turnrule.cli.exits import Exit, stop

MOST_SHOWN = 200
"""Nobody reads more of them on a screen; the rest is counted, and written where `--faults` says."""

_LONGEST_VALUE = 60
_NARROWEST, _WIDEST = 40, 100


class FaultReport:
    """Is told faults one by one; keeps those that are shown, and writes each to a CSV file if there is one."""

    def __init__(self, csv: FaultsCsv | None) -> None:
        self.first: list[RowFault] = []
        self.count = 0
        self._csv = csv

    def __call__(self, fault: RowFault) -> None:
        """Take in one fault."""
        self.count += 1
        if len(self.first) < MOST_SHOWN:
            self.first.append(fault)
        if self._csv is not None:
            self._csv(fault)

    def lines(self) -> Iterator[str]:
        """The faults as a person reads them, within the width of the terminal."""
        for fault in self.first:
            yield from fault_lines(fault)
        if self.count > len(self.first):
            yield f"... and {self.count - len(self.first)} more: --faults FILE.csv writes all of them."

    def documents(self) -> Sequence[dict[str, object]]:
        """The faults that are shown, for a program."""
        return [
            {
                "row": fault.row,
                "column": fault.column,
                "value": fault.value,
                "code": fault.code,
                "remedy": fault.remedy,
                "level": "warning" if fault.is_warning else "refused",
                "file": fault.file,
            }
            for fault in self.first
        ]


@contextlib.contextmanager
def reporting(path: Path | None, about: Path) -> Iterator[FaultReport]:
    """A report on a file that also goes to a file, which is put in its place at the end; an older one is replaced.

    Ends the command where that would replace the file that it is about, or anything but a CSV file.
    """
    if path is None:
        yield FaultReport(None)
        return
    if path.suffix.lower() != ".csv" or (path.exists() and path.samefile(about)):
        stop(Exit.USAGE, f"--faults {path}: name a .csv file of its own for the faults.")
    with put_in_place(path) as out:
        yield FaultReport(FaultsCsv(out))


def width() -> int:
    """How many characters of a line are used."""
    return max(_NARROWEST, min(_WIDEST, shutil.get_terminal_size().columns))


def fault_lines(fault: RowFault) -> list[str]:
    """One fault: where, what stands there, and below it the remedy with its code."""
    row = f"row {fault.row}" if fault.row else "the file"
    where = [fault.file or None, row, fault.column or None]
    head = ", ".join(shown(part) for part in where if part is not None)
    value = shown(fault.value)
    if value and value != fault.column:
        head += f": {value if len(value) <= _LONGEST_VALUE else value[:_LONGEST_VALUE] + '...'}"
    level = "warning: " if fault.is_warning else ""
    return [*wrapped(head), *wrapped(f"{level}{shown(fault.remedy)} [{fault.code}]", indent="  ")]


def wrapped(text: str, indent: str = "") -> list[str]:
    """Text in lines of the terminal's width; what follows the first is set in."""
    return textwrap.wrap(
        text, width(), initial_indent=indent, subsequent_indent=f"{indent}  ", break_on_hyphens=False
    ) or [indent]

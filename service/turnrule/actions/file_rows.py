"""Rows of a file as the actions see them: an entry or its faults, and how a fault is told in the file's own terms.

How files are read is the business of an outer room; here is only what a row is once it was read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from turnrule.judging.faults import Fault

Entry = TypeVar("Entry")


@dataclass(frozen=True, slots=True)
class RowFault:
    """One thing that is wrong with a file: where, the value as it stands there, a stable code, what to do.

    `row` is counted as a spreadsheet counts, the header being row 1; 0 is the file as a whole. `column` is a column's
    name, in a JSON file a JSON Pointer, "" the whole row. `is_warning` where a written reason is enough to go on.
    `file` names the file within a folder.
    """

    row: int
    column: str
    value: str
    code: str
    remedy: str
    is_warning: bool = False
    file: str = ""


@dataclass(frozen=True, slots=True)
class OpenAnswer:
    """A reason that a row gives for a warning: to one at a JSON Pointer, or to all of its code where that is None."""

    code: str
    pointer: str | None
    reason: str


class Place(Protocol):
    """Where a row stands in its file."""

    @property
    def number(self) -> int:
        """The row, as a spreadsheet counts."""

    @property
    def file(self) -> str:
        """The file within a folder; "" where one file was named."""

    def told(self, fault: Fault, *, is_warning: bool = False) -> RowFault:
        """A fault of the row's body, with the column and the value that it is about."""


@dataclass(frozen=True, slots=True)
class Row(Generic[Entry]):
    """One row of a file: what it enters, or (`entry` None) the faults for which nothing can be made of it.

    `limits_id` is the record that the row names; `answers` are its reasons to go on past warnings.
    """

    place: Place
    entry: Entry | None
    faults: Sequence[RowFault] = ()
    limits_id: str | None = None
    answers: tuple[OpenAnswer, ...] = ()

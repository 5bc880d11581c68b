"""Rows brought into order in passing files, so that memory does not grow with their number."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator
from types import TracebackType
from typing import Any, Generic, Self, TypeVar

from turnrule.actions.row_spool import Spool

Row = TypeVar("Row")

RUN = 2000
"""So many rows are held, and put in order, at a time."""

WIDE = 32
"""So many runs are merged at a time."""


class SortedRows(Generic[Row]):
    """Takes rows in any order and gives them by their key, rising; equal ones as they came.

    Each run of rows goes to a file without a name; as soon as there are many of one length, they become one of the
    next. A row is therefore written a few times at most, however many there are.
    """

    def __init__(self, key: Callable[[Row], Any]) -> None:
        self._key = key
        self._held: list[Row] = []
        self._levels: list[list[Spool[Row]]] = []
        self.count = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for spool in self._runs():
            spool.close()

    def add(self, row: Row) -> None:
        """Take one more row."""
        self._held.append(row)
        self.count += 1
        if len(self._held) >= RUN:
            self._held.sort(key=self._key)
            self._put(0, self._held)
            self._held = []

    def __iter__(self) -> Iterator[Row]:
        held = sorted(self._held, key=self._key)
        return iter(heapq.merge(*self._runs(), held, key=self._key))

    @property
    def files(self) -> int:
        """How many files stand open."""
        return len(self._runs())

    def _runs(self) -> list[Spool[Row]]:
        """Every run that was put aside, the rows that came first in the first."""
        return [spool for level in reversed(self._levels) for spool in level]

    def _put(self, level: int, rows: Iterable[Row]) -> None:
        """Put rows that are in order aside, and merge what has become many."""
        spool: Spool[Row] = Spool()
        for row in rows:
            spool.add(row)
        if level == len(self._levels):
            self._levels.append([])
        runs = self._levels[level]
        runs.append(spool)
        if len(runs) >= WIDE:
            self._put(level + 1, heapq.merge(*runs, key=self._key))
            for run in runs:
                run.close()
            self._levels[level] = []

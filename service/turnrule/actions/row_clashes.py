"""Rows of one file that get in each other's way: two for the same vehicles and days, or under the same id.

Sorted in passing files, so that a million rows are held against each other in little memory.
"""

from __future__ import annotations

import contextlib
import heapq
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import IO

from turnrule.actions.file_rows import Place
from turnrule.store.folding import fold
from turnrule.store.limit_records import LimitRevision

_HELD = 50_000
"""So many lines are sorted at a time."""

_MOST_BESIDE = 1000
"""With so many rows of the same vehicles one is compared; the store itself refuses what is beyond."""

_BETWEEN = "\x1f"
_NAMED, _MADE = "0", "1"
"""Within one id, those that the file gave come first: another one can be made for the others."""

_OPEN_YEAR, _OPEN_DAY = "9999", "9999-99-99"


@dataclass(frozen=True, slots=True)
class Clash:
    """A row that gets in the way of another one: by its id (`same_id`), or by its vehicles and days.

    Without all rows that clash, none of the others do. `is_named` where the file gave it that id.
    """

    row: int
    file: str
    other: int
    other_file: str
    same_id: str | None = None
    is_named: bool = True


class Clashes:
    """Takes in rows, and tells which clash. What it puts aside is let go of by `close`."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._aside = contextlib.ExitStack()
        self._runs: list[IO[str]] = []

    def close(self) -> None:
        """Let go of the passing files."""
        self._aside.close()

    def add(self, place: Place, draft: LimitRevision, *, is_named: bool) -> None:
        """Take in what one row is for, and under which id; whether it was the file that gave it the id."""
        fits = draft.fits
        end = draft.effective_to
        at = (f"{place.number:010}", place.file)
        self.add_id(place, draft.limits_id, is_named=is_named)
        self._take(
            "for",
            *(fold(fits.make), fold(fits.model), draft.limits.kind, fits.axle, fold(fits.brake_option or "")),
            *(f"{fits.year_from:04}", _OPEN_YEAR if fits.year_to is None else f"{fits.year_to:04}"),
            *(draft.effective_from.isoformat(), _OPEN_DAY if end is None else end.isoformat()),
            *at,
        )

    def add_id(self, place: Place, limits_id: str, *, is_named: bool = True) -> None:
        """Take in the id of a row's record alone."""
        self._take("id", limits_id, _NAMED if is_named else _MADE, f"{place.number:010}", place.file)

    def _take(self, *parts: str) -> None:
        self._lines.append(_BETWEEN.join(parts))
        if len(self._lines) >= _HELD:
            self._put_aside()

    def _put_aside(self) -> None:
        run = self._aside.enter_context(_passing_file())
        run.writelines(f"{line}\n" for line in sorted(self._lines))
        self._lines.clear()
        self._runs.append(run)

    def found(self) -> Iterator[Clash]:
        """Every row that clashes with one before it, in the order of what they are for."""
        for run in self._runs:
            run.seek(0)
        lines = heapq.merge(sorted(self._lines), *((line.rstrip("\n") for line in run) for run in self._runs))
        parted = (line.split(_BETWEEN) for line in lines)
        for (what, *_), rows in groupby(parted, key=lambda parts: parts[: 2 if parts[0] == "id" else 6]):
            yield from (_same_id if what == "id" else _same_vehicles)(rows)


def _passing_file() -> IO[str]:
    return tempfile.TemporaryFile("w+", encoding="utf-8", newline="\n")


def _same_id(rows: Iterator[list[str]]) -> Iterator[Clash]:
    _, limits_id, _, first, file = next(rows)
    for _, _, named, row, other_file in rows:
        yield Clash(int(row), other_file, int(first), file, limits_id, named == _NAMED)


def _same_vehicles(rows: Iterator[list[str]]) -> Iterator[Clash]:
    """Rows come by their first year: whatever ends before it is out of the way of all that follow."""
    beside: list[list[str]] = []
    for row in rows:
        year_from, _, start, end, number, file = row[6:]
        beside = [other for other in beside if other[7] >= year_from]
        for other in beside:
            if other[8] < end and start < other[9]:
                yield Clash(int(number), file, int(other[10]), other[11])
                break
        beside = [*beside[1 - _MOST_BESIDE :], row]

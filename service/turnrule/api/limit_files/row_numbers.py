"""Which rows of a file are meant: `2-40,57`."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator

_PART = re.compile(r"\s*([0-9]{1,9})\s*(?:-\s*([0-9]{1,9})\s*)?")


class RowNumbersError(ValueError):
    """The text names no rows; the message says how they are named."""


class RowNumbers:
    """The rows that are read: all of them, or those that a text names. It is told which were there."""

    def __init__(self, text: str | None = None) -> None:
        """Raises `RowNumbersError`."""
        self._parts = None if text is None else _merged(_parts(text))
        self._starts = [first for first, _ in self._parts or ()]
        self._found: set[int] = set()

    @property
    def last(self) -> int | None:
        """The last row that is named; None where all are meant."""
        return None if self._parts is None else self._parts[-1][1]

    def __contains__(self, number: int) -> bool:
        return self._parts is None or self._part(number, self._parts) is not None

    def met(self, number: int) -> None:
        """A row of this number was there."""
        at = None if self._parts is None else self._part(number, self._parts)
        if at is not None:
            self._found.add(at)

    def _part(self, number: int, parts: list[tuple[int, int]]) -> int | None:
        """Which of the stretches a row lies in."""
        at = bisect_right(self._starts, number) - 1
        return at if at >= 0 and number <= parts[at][1] else None

    def not_found(self) -> Iterator[tuple[int, int]]:
        """The named stretches of which no row was there, each by its first and last row."""
        for at, part in enumerate(self._parts or ()):
            if at not in self._found:
                yield part


def _parts(text: str) -> Iterator[tuple[int, int]]:
    for part in text.split(","):
        found = _PART.fullmatch(part)
        if found is None:
            raise RowNumbersError(f"{part.strip()!r}: name rows as 2-40,57")
        first, last = int(found[1]), int(found[2] or found[1])
        if not 1 <= first <= last:
            raise RowNumbersError(f"{part.strip()!r}: rows are counted from 1, and the first comes before the last")
        yield first, last


def _merged(parts: Iterator[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches in rising order, those that overlap as one."""
    merged: list[tuple[int, int]] = []
    for first, last in sorted(parts):
        if merged and first <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return merged

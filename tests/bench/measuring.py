"""How measurements are taken and shown."""

from __future__ import annotations

import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

_KIB = 1024
_MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Spread:
    """Durations in microseconds: the middle one, the one that 99 of 100 keep below, the longest, how many."""

    median: float
    p99: float
    longest: float
    count: int


def spread_of(seconds: Sequence[float]) -> Spread:
    """The spread of durations. There must be at least two."""
    ordered = sorted(one * 1e6 for one in seconds)
    at = min(len(ordered) - 1, round(0.99 * (len(ordered) - 1)))
    return Spread(statistics.median(ordered), ordered[at], ordered[-1], len(ordered))


def timed(calls: Iterable[Callable[[], object]]) -> Spread:
    """How long each of these calls takes."""
    seconds = []
    for call in calls:
        begun = time.perf_counter()
        call()
        seconds.append(time.perf_counter() - begun)
    return spread_of(seconds)


def peak_memory_mib() -> float:
    """The most memory that this process ever had resident, in MiB (`ru_maxrss` counts in KiB on Linux)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * _KIB / _MIB


def size_mib(database: Path) -> float:
    """What a store takes on disk, its log included, in MiB."""
    beside = (database, database.with_name(f"{database.name}-wal"))
    return sum(file.stat().st_size for file in beside if file.exists()) / _MIB


def show(title: str, head: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print a table: text to the left, numbers to the right."""
    cells = [[_cell(value) for value in row] for row in rows]
    widths = [max(len(line[column]) for line in (list(head), *cells)) for column in range(len(head))]
    sys.stdout.write(f"\n{title}\n")
    for line in (list(head), ["-" * width for width in widths], *cells):
        first, *others = zip(line, widths, strict=True)
        text = [first[0].ljust(first[1]), *(cell.rjust(width) for cell, width in others)]
        sys.stdout.write("  ".join(text).rstrip() + "\n")
    sys.stdout.flush()


def _cell(value: object) -> str:
    if isinstance(value, float):
        return f"{value:,.1f}"
    return f"{value:,}" if isinstance(value, int) else str(value)


def progress(text: str) -> None:
    """Say what is being done, where somebody watches."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r\x1b[K{text}")
        sys.stderr.flush()

"""What an entry check says, and what it may look at besides the entry itself."""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from turnrule.actions.requests import LimitsEntry
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind
from turnrule.store.limit_records import LimitRevision
from turnrule.store.reference_port import ReferenceStore


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing that an entry check found: where, a stable code, a sentence with the remedy.

    `refused` where the entry cannot be taken as it is; else it is a warning, and the entry goes on with a written
    reason.
    """

    pointer: str
    code: str
    detail: str
    refused: bool


def refusal(pointer: str, code: str, detail: str) -> Remark:
    """The entry cannot be taken as it is."""
    return Remark(pointer, code, detail, refused=True)


def warning(pointer: str, code: str, detail: str) -> Remark:
    """The entry goes on only with a written reason."""
    return Remark(pointer, code, detail, refused=False)


@dataclass(frozen=True, slots=True)
class Habit:
    """What is usual of one measure among similar parts: its median and bounds, as natural logarithms."""

    median: float
    least: float
    most: float


Bucket = tuple[Kind, int]


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What an entry is seen against: live records of the same vehicles, limits of similar parts, the day.

    `on` is the day of the entry; where it is None, nothing is said of what lies in the future. `habits` keeps what
    was worked out of `similar`, by bucket: many entries see the same similar parts.
    """

    overlapping: Callable[[LimitsEntry], Sequence[LimitRevision]]
    similar: Callable[[LimitsEntry], Sequence[LimitSet]]
    on: datetime.date | None = None
    habits: dict[Bucket, dict[str, Habit]] = field(default_factory=dict)


MOST_SIMILAR = 200
"""So many similar parts are looked at; more would move their median by little."""

_BUCKETS = tuple(Decimal(11) ** step / Decimal(10) ** step for step in range(97))
"""Sizes from 1 mm on, each a tenth greater than the one before: parts within one step are of a size."""


def bucket_of(limits: LimitSet) -> Bucket | None:
    """Kind and size step of a part; None where it has no size, or one below 1 mm."""
    size = limits.nominal or limits.discard or limits.machining
    if size is None or size < 1:
        return None
    return limits.kind, bisect_right(_BUCKETS, size) - 1


def around(store: ReferenceStore, on: datetime.date | None = None) -> Surroundings:
    """The surroundings of entries into a store, on a day.

    Similar parts are read once for each size step, so that a long import asks once for all its rows of a size.
    """
    kept: dict[Bucket, Sequence[LimitSet]] = {}

    def overlapping(entry: LimitsEntry) -> Sequence[LimitRevision]:
        own = entry.corrects.limits_id if entry.corrects is not None else entry.limits_id
        kind = entry.figures.limits.kind
        return store.overlapping(entry.fits, kind, start=entry.effective_from, end=entry.effective_to, but=own)

    def similar(entry: LimitsEntry) -> Sequence[LimitSet]:
        bucket = bucket_of(entry.figures.limits)
        if bucket is None:
            return ()
        if bucket not in kept:
            kind, step = bucket
            least = int(_BUCKETS[step] * _UNITS_PER_MM)
            most = int(_BUCKETS[min(step + 1, len(_BUCKETS) - 1)] * _UNITS_PER_MM)
            kept[bucket] = store.similar(kind, at_least=least, at_most=most, limit=MOST_SIMILAR)
        return kept[bucket]

    return Surroundings(overlapping, similar, on)


_UNITS_PER_MM = 10_000_000
"""The store counts lengths in units of 0.1 nm."""

"""Many parts judged one after another, their verdicts kept in groups; nothing is told that is not kept.

Memory does not grow with their number: what is waiting is one group, or stands in a file of its own.
"""

from __future__ import annotations

import pickle
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Sent, judged_part
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import ReadRequest
from turnrule.judging.faults import PartError
from turnrule.store.port import Idempotency, IdempotencyConflictError, Key, StoreError, VerdictRecord

GROUP = 100
"""So many verdicts are kept in one transaction."""

MOST_TOGETHER = 10_000
"""So many verdicts can be kept all or none: others who write wait as long as that takes."""


@dataclass(frozen=True, slots=True)
class Item:
    """One part of a batch, by its place from 0: its bytes and what they ask, or why they cannot be read."""

    place: int
    body: bytes
    request: ReadRequest | None = None
    error: Exception | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """Who sent the batch, and under which idempotency key, if any."""

    key: Key
    idempotency_key: str | None = None

    def sent(self, item: Item) -> Sent:
        """The item as a request of its own. A space stands in its idempotency key, and in no caller's own."""
        if self.idempotency_key is None:
            return Sent(self.key, item.body)
        return Sent(self.key, item.body, f"{self.idempotency_key} {item.place}")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of an item: the stored verdict (`replayed` where it was stored before), or an error."""

    place: int
    record: VerdictRecord | None = None
    replayed: bool = False
    error: Exception | None = None


@dataclass(frozen=True, slots=True)
class _Worked:
    """An item that was judged: the record to keep, or what it led to before."""

    place: int
    idempotency: Idempotency | None = None
    record: VerdictRecord | None = None
    replayed: bool = False
    error: Exception | None = None


class BatchRefusedError(Exception):
    """Items of a batch that is kept all or none cannot be taken; nothing was kept. `refused` is in their order."""

    code = "batch_refused"

    def __init__(self, refused_items: list[tuple[int, Exception]], count: int) -> None:
        super().__init__(f"{count} of the items cannot be taken; nothing was recorded")
        self.refused = refused_items
        self.count = count


def judge_batch(desk: Desk, batch: Batch, items: Iterable[Item], group: int = GROUP) -> Iterator[Outcome]:
    """Judge each item and keep the verdicts in groups; what became of each, in their order, once it is kept.

    An item that cannot be judged or kept never holds up the others.
    """
    waiting: list[_Worked] = []
    for item in items:
        waiting.append(_worked(desk, batch, item))
        if len(waiting) >= group:
            yield from _settled(desk, waiting)
            waiting = []
    yield from _settled(desk, waiting)


def judge_together(desk: Desk, batch: Batch, items: Iterable[Item], spool: BinaryIO, most: int) -> Iterator[Outcome]:
    """Judge all items and keep their verdicts in one transaction, or none: that is done when this returns.

    Raises `BatchRefusedError` with up to `most` of the items that cannot be taken, `RefusedError` for too many items,
    `IdempotencyConflictError` and `StoreError`. `spool` is a file that is this call's own.
    """
    wrong: list[tuple[int, Exception]] = []
    bad = 0
    for count, item in enumerate(items):
        if count == MOST_TOGETHER:
            raise refused("too_many_items", "", f"at most {MOST_TOGETHER} items are kept all or none; leave atomic out")
        worked = _worked(desk, batch, item)
        if isinstance(worked.error, StoreError) and not isinstance(worked.error, IdempotencyConflictError):
            raise worked.error
        if worked.error is not None:
            bad += 1
            wrong += [(item.place, worked.error)] if len(wrong) < most else []
        elif not bad:
            pickle.dump(worked, spool)
    if bad:
        raise BatchRefusedError(wrong, bad)
    pairs = ((one.record, one.idempotency) for one in _read(spool) if one.record is not None)
    kept = desk.store.record_verdicts(pairs, together=True)
    return (
        _outcome(desk, one, stored.id)
        for one, stored in zip(_read(spool), kept, strict=True)
        if not isinstance(stored, IdempotencyConflictError)
    )


def _read(spool: BinaryIO) -> Iterator[_Worked]:
    spool.seek(0)
    while True:
        try:
            one: _Worked = pickle.load(spool)  # noqa: S301 - written above
        except EOFError:
            return
        yield one


def _worked(desk: Desk, batch: Batch, item: Item) -> _Worked:
    """The item judged, and not kept yet."""
    if item.request is None:
        return _Worked(item.place, error=item.error)
    sent = batch.sent(item)
    try:
        before = None if sent.idempotency is None else desk.store.idempotent(sent.idempotency)
        if before is not None:
            return _Worked(item.place, sent.idempotency, before, replayed=True)
        return _Worked(item.place, sent.idempotency, judged_part(desk, item.request, sent))
    except (PartError, RefusedError, StoreError) as error:
        return _Worked(item.place, error=error)


def _settled(desk: Desk, waiting: list[_Worked]) -> Iterator[Outcome]:
    """What became of a group, its new verdicts kept in one transaction."""
    pairs = [(one.record, one.idempotency) for one in waiting if one.record is not None and not one.replayed]
    try:
        kept = iter(desk.store.record_verdicts(pairs) if pairs else ())
    except StoreError as error:
        yield from (
            _outcome(desk, one, None) if one.replayed or one.error else Outcome(one.place, error=error)
            for one in waiting
        )
        return
    for one in waiting:
        if one.record is None or one.replayed:
            yield _outcome(desk, one, None)
            continue
        stored = next(kept)
        if isinstance(stored, IdempotencyConflictError):
            yield Outcome(one.place, error=stored)
        else:
            yield _outcome(desk, one, stored.id)


def _outcome(desk: Desk, one: _Worked, stored_id: str | None) -> Outcome:
    """The outcome of an item whose verdict is stored under this id; another's where the same was sent twice at once."""
    if one.record is None or stored_id in {None, one.record.id}:
        return Outcome(one.place, one.record, one.replayed, one.error)
    return Outcome(one.place, desk.store.verdict(str(stored_id)), replayed=True)

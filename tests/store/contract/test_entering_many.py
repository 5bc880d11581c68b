"""Many first entries at once: all of them or none, out of sight until the last, and in nobody's way."""

from __future__ import annotations

import datetime
import multiprocessing
import threading
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.contract.refusing import refused
from tests.store.contract.writers import import_until_killed
from tests.store.entries import accepted, draft, model, rejection, release, verify
from tests.store.samples import FITS, NOON, verdict
from turnrule.judging.words import Kind
from turnrule.store.errors import (
    DraftOpenError,
    NameTakenError,
    NotOpenError,
    OverlapError,
    StaleRevisionError,
    StoreError,
    StoreUnavailableError,
)
from turnrule.store.limit_records import LimitQuery, LimitRevision, OpenDraft
from turnrule.store.port import Store, VerdictQuery

MANY = 1300
"""More than an adapter would sensibly store in one transaction."""
Row = tuple[LimitRevision, int | None]


def _rows(count: int, first: int = 0) -> Iterator[Row]:
    for number in range(first, first + count):
        yield draft(f"N{number:05}", fits=model(number)), None


def _enter(store: Store, rows: Iterator[Row]) -> int:
    return store.enter_many(rows, at=NOON, by="importer")


def test_many_drafts_are_kept_as_each_alone_would_be(store: Store) -> None:
    accepted(store, draft("L1"))
    correction = draft("L1", reason="a digit", entered_by="another reader")
    assert _enter(store, iter([(draft("L2", fits=model(2)), None), (correction, 1)])) == 2
    second = replace(draft("L2", fits=model(2)), revision=1)
    assert [one.revision for one in store.drafts()] == [replace(correction, revision=2), second]
    assert verify(store, "L1").revision == 2
    assert store.reject("L2", rejection()).revision.limits_id == "L2"


def test_no_drafts_are_none(store: Store) -> None:
    assert _enter(store, iter([])) == 0
    assert store.drafts() == []


def test_more_than_one_transaction_holds_are_all_there(store: Store) -> None:
    assert _enter(store, _rows(MANY)) == MANY
    assert store.waiting_counts(NOON.date())[1] == MANY
    assert [one.revision for one in store.drafts(limit=MANY + 1)] == [
        replace(row, revision=1) for row, _ in _rows(MANY)
    ]


BAD: dict[str, tuple[Row, type[StoreError]]] = {
    "a name in use": ((draft("L1", fits=model(-1)), None), NameTakenError),
    "a name twice": ((draft("N00000", fits=model(-1)), None), NameTakenError),
    "a second draft": ((draft("L2", fits=model(-2)), 1), DraftOpenError),
    "a stale correction": ((draft("L1"), 7), StaleRevisionError),
    "a correction of nothing": ((draft("L9", fits=model(-1)), 1), StaleRevisionError),
    "a vehicle that has a record": ((draft("L9"), None), OverlapError),
    "a vehicle twice": ((draft("L9", fits=model(1)), None), OverlapError),
    "no entry": ((draft("L9", fits=model(-1), entered_by=""), None), StoreError),
}


@pytest.mark.parametrize(("bad", "error"), BAD.values(), ids=BAD.keys())
@pytest.mark.parametrize("before", [3, MANY])
def test_one_that_is_refused_leaves_none(store: Store, bad: Row, error: type[StoreError], before: int) -> None:
    accepted(store, draft("L1"))
    accepted(store, draft("L2", fits=model(-2)))
    kept = store.enter(draft("L2", fits=model(-2)), corrects=1)

    def rows() -> Iterator[Row]:
        yield from _rows(before)
        yield bad
        yield from _rows(3, first=before)

    with pytest.raises(error) as caught:
        _enter(store, rows())
    assert not isinstance(caught.value, StoreUnavailableError)
    assert store.drafts() == [OpenDraft(kept)]
    assert store.history("N00000") == []
    assert _enter(store, _rows(before)) == before


class _Told(BaseException):
    """What the reader of a file may raise, whatever it is."""


@pytest.mark.parametrize("error", [KeyError("row 7"), _Told(), KeyboardInterrupt()], ids=repr)
@pytest.mark.parametrize("before", [0, 3, MANY])
def test_whatever_the_iterable_raises_is_handed_on_and_leaves_none(
    store: Store, error: BaseException, before: int
) -> None:
    def rows() -> Iterator[Row]:
        yield from _rows(before)
        raise error

    with pytest.raises(type(error)) as caught:
        _enter(store, rows())
    assert caught.value is error
    assert store.drafts() == []
    assert store.waiting_counts(NOON.date()) == (0, 0, 0)
    assert _enter(store, _rows(MANY)) == MANY


SEEN: dict[str, Callable[[Store], object]] = {
    "drafts": lambda store: store.drafts(),
    "an open draft": lambda store: store.open_draft("N00000"),
    "drafts of a vehicle": lambda store: store.drafts_of("Corvane", "Ostrel 0"),
    "a history": lambda store: store.history("N00000"),
    "the history of a record that is corrected": lambda store: store.history("L1"),
    "the draft of a record that is corrected": lambda store: store.open_draft("L1"),
    "what overlaps": lambda store: store.overlapping(model(0), Kind.ROTOR, start=NOON.date(), end=None),
    "what overlaps a record that is corrected": lambda store: store.overlapping(
        FITS, Kind.ROTOR, start=NOON.date(), end=None
    ),
    "counts": lambda store: store.waiting_counts(NOON.date()),
    "makes": lambda store: (store.makes(), store.models("Corvane")),
    "limits": lambda store: (store.limits(LimitQuery()), store.held(LimitQuery()), store.limit_revision("N00000", 1)),
    "waiting": lambda store: (store.waiting(), store.changes(0, 9)),
    "faults": lambda store: store.check(),
}


def test_nobody_sees_a_part_of_them(adapter: Adapter, place: str, store: Store) -> None:
    accepted(store, draft("L1"))
    release(store)
    other = adapter.open(place)
    before = {name: see(other) for name, see in SEEN.items()}

    def rows() -> Iterator[Row]:
        yield draft("L1"), 1
        for place_, row in enumerate(_rows(MANY)):
            yield row
            if place_ in {0, 499, 500, 501, 1000, MANY - 1}:
                for one in (other, store):
                    assert {name: see(one) for name, see in SEEN.items()} == before
                    with pytest.raises(NotOpenError):
                        verify(one, "N00000")
                    with pytest.raises(NotOpenError):
                        one.reject("N00000", rejection())

    assert _enter(store, rows()) == MANY + 1
    for name, see in SEEN.items():
        if name not in {"makes", "limits", "waiting", "faults"}:
            assert see(other) != before[name], name
    assert verify(other, "N00000").revision == 1
    other.close()


def test_what_an_import_has_brought_is_in_the_way_of_others_until_it_ends(
    adapter: Adapter, place: str, store: Store
) -> None:
    other = adapter.open(place)

    def rows() -> Iterator[Row]:
        yield from _rows(MANY)
        for one in (draft("N00000", fits=model(-1)), draft("L1", fits=model(0))):
            with pytest.raises((NameTakenError, OverlapError)):
                other.enter(one)
        raise KeyError("the end of the file is missing")

    with pytest.raises(KeyError):
        _enter(store, rows())
    other.enter(draft("N00000", fits=model(-1)))
    other.enter(draft("L1", fits=model(0)))
    other.close()


def test_others_write_while_many_are_entered(adapter: Adapter, place: str, store: Store) -> None:
    """A writer that waits comes to its turn after a chunk: it never waits for all of them."""
    other = adapter.open(place)
    begun, ended = threading.Event(), threading.Event()
    waits: list[float] = []

    def write() -> None:
        begun.wait(30)
        while not ended.is_set():
            since = time.monotonic()
            other.record_verdict(verdict(f"v{len(waits)}"))
            waits.append(time.monotonic() - since)

    def rows() -> Iterator[Row]:
        for row in _rows(4 * MANY):
            begun.set()
            yield row

    thread = threading.Thread(target=write)
    thread.start()
    since = time.monotonic()
    try:
        assert _enter(store, rows()) == 4 * MANY
        took = time.monotonic() - since
    finally:
        ended.set()
        thread.join()
    assert len(waits) > 10
    assert max(waits) < took / 2, (max(waits), took)
    assert len(other.verdicts(VerdictQuery(), limit=10**6)) == len(waits)
    other.close()


def test_memory_does_not_grow_with_their_number(store: Store) -> None:
    _enter(store, _rows(3))
    peaks = []
    for first, count in ((1000, 1000), (3000, 2200)):
        tracemalloc.start()
        _enter(store, _rows(count, first))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] * 1.25, peaks


def test_what_a_killed_process_left_is_seen_by_nobody_and_cleared_away_by_a_later_entry(
    adapter: Adapter, place: str, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=import_until_killed, args=(adapter.name, place, MANY, sender))
    process.start()
    sender.close()
    assert receiver.recv() == MANY
    process.kill()
    process.join()
    receiver.close()
    assert store.check() == []
    assert store.drafts() == []
    for wrong in (draft("N00000", fits=model(-1)), draft("L1", fits=model(0))):
        with pytest.raises((NameTakenError, OverlapError)):  # it might still be at work
            store.enter(wrong)
    monkeypatch.setattr(adapter.abandoned[0], adapter.abandoned[1], -1)
    assert store.enter(draft("N00000", fits=model(0))).revision == 1
    assert _enter(store, _rows(MANY, first=1)) == MANY
    assert store.check() == []


def test_an_import_that_was_given_up_by_others_does_not_end_well(
    adapter: Adapter, place: str, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = adapter.open(place)

    def rows() -> Iterator[Row]:
        yield from _rows(MANY)
        monkeypatch.setattr(adapter.abandoned[0], adapter.abandoned[1], -1)
        other.enter(draft("L1"))
        monkeypatch.undo()

    with pytest.raises(StoreError, match="stood still for so long"):
        _enter(store, rows())
    assert [one.revision.limits_id for one in store.drafts()] == ["L1"]
    other.close()


@pytest.mark.parametrize("at", [NOON.replace(tzinfo=None)])
def test_an_import_without_a_zone_or_a_name_is_refused(store: Store, at: datetime.datetime) -> None:
    with refused():
        store.enter_many(_rows(3), at=at, by="importer")
    with refused():
        store.enter_many(_rows(3), at=NOON, by="")
    assert store.drafts() == []

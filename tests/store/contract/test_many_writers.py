"""Several processes write one store at once, and processes are killed while they write."""

from __future__ import annotations

import multiprocessing
import random
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnContext

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.contract.writers import SHARED_KEYS, migrate_at_once, record_until_killed, write_everything
from tests.store.samples import revision, verdict
from turnrule.store.port import Idempotency, LimitQuery, Store, VerdictQuery

WRITERS = 4
ROUNDS = 50
KILLS = 8
ALL = VerdictQuery()


@pytest.fixture(scope="module")
def processes() -> SpawnContext:
    """Processes that are started afresh and inherit nothing."""
    return multiprocessing.get_context("spawn")


def test_four_writing_processes_lose_nothing_and_are_never_locked_out(
    adapter: Adapter, place: str, store: Store, processes: SpawnContext
) -> None:
    with processes.Pool(WRITERS) as pool:
        calls = [(adapter.name, place, writer, ROUNDS) for writer in range(WRITERS)]
        everyone = pool.starmap(write_everything, calls)
    recorded = [pair for done in everyone for pair in done.recorded]
    shared = {(name, id_, sequence) for done in everyone for name, id_, sequence in done.shared}
    # Every writer got the same record for the same key, and there is exactly one of it.
    assert len(shared) == SHARED_KEYS
    stored = {(record.id, record.sequence) for record in store.verdicts(ALL, limit=10_000)}
    assert stored == {*recorded, *((id_, sequence) for _, id_, sequence in shared)}
    assert sorted(sequence for _, sequence in stored) == list(range(1, WRITERS * ROUNDS + SHARED_KEYS + 1))
    released = sorted(pair for done in everyone for pair in done.released)
    assert [(release.number, release.notes) for release in store.releases(limit=1000)] == released
    assert [number for number, _ in released] == list(range(1, WRITERS * ROUNDS // 5 + 1))
    assert {row.limits_id for row in store.limits(LimitQuery(), limit=1000)} == {
        f"L{notes.removeprefix('w')}" for _, notes in released
    }
    assert store.misses()[0].count == WRITERS * ROUNDS


def test_migrating_from_four_processes_at_once_migrates_once(
    adapter: Adapter, place: str, processes: SpawnContext
) -> None:
    with processes.Pool(WRITERS) as pool:
        done = pool.starmap(migrate_at_once, [(adapter.name, place)] * WRITERS)
    opened = adapter.open(place)
    assert opened.check() == []
    assert list(opened.pending()) == []
    names = Counter(name for names in done for name in names)
    assert names
    assert set(names.values()) == {1}
    opened.close()


def test_every_acknowledged_write_of_a_killed_process_is_whole(
    adapter: Adapter, place: str, store: Store, processes: SpawnContext
) -> None:
    chance = random.Random(20260302)
    told: list[tuple[str, str, int]] = []
    for number in range(KILLS):
        receiver, sender = processes.Pipe(duplex=False)
        writer = processes.Process(target=record_until_killed, args=(adapter.name, place, number, sender))
        writer.start()
        sender.close()
        told.append(receiver.recv())
        time.sleep(chance.uniform(0, 0.15))
        writer.kill()
        writer.join()
        told += _rest(receiver)
        receiver.close()
        assert store.check() == []
    assert len(told) > KILLS
    for what, name, number in told:
        if what == "release":
            release = store.release(number)
            assert release is not None
            assert release.notes == name
            assert store.limit_revision(f"{name}-19") == revision(f"{name}-19")
        else:
            record = store.verdict(name)
            assert record == verdict(name, sequence=number, vehicle=record.vehicle if record else None)
            assert store.idempotent(Idempotency("counter", name, "body")) == record
    # What was not acknowledged is whole all the same: at most one verdict of each killed process.
    assert len(store.verdicts(ALL, limit=100_000)) <= sum(what == "verdict" for what, _, _ in told) + KILLS


def _rest(receiver: Connection) -> list[tuple[str, str, int]]:
    """What was told before the other end was closed."""
    found = []
    try:
        while True:
            found.append(receiver.recv())
    except EOFError:
        return found


def test_threads_of_one_process_share_a_store(store: Store) -> None:
    threads, each = 8, 25
    barrier = threading.Barrier(threads)

    def write(thread: int) -> list[int]:
        barrier.wait()
        sequences = []
        for number in range(each):
            kept = store.record_verdict(verdict(f"t{thread}-{number}"))
            assert store.verdict(kept.id) == kept
            sequences.append(kept.sequence)
        return sequences

    with ThreadPoolExecutor(threads) as pool:
        sequences = [sequence for found in pool.map(write, range(threads)) for sequence in found]
    assert sorted(sequences) == list(range(1, threads * each + 1))


def test_threads_that_race_for_one_idempotency_key_all_get_the_same_record(store: Store) -> None:
    threads = 8
    barrier = threading.Barrier(threads)

    def write(thread: int) -> tuple[str, int]:
        barrier.wait()
        kept = store.record_verdict(verdict(f"t{thread}"), Idempotency("counter", "k", "body"))
        return kept.id, kept.sequence

    with ThreadPoolExecutor(threads) as pool:
        assert len(set(pool.map(write, range(threads)))) == 1
    assert len(store.verdicts(ALL)) == 1

"""Connections are used by one thread at a time, and never cross a fork."""

from __future__ import annotations

import multiprocessing
import threading
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection

import pytest

from tests.store.raw import raw
from tests.store.samples import key, verdict
from turnrule.store.port import StoreError, StoreUnavailableError, VerdictQuery
from turnrule.store.sqlite import SqliteStore, open_sqlite

FORK = multiprocessing.get_context("fork")
ALL = VerdictQuery()


def test_calls_that_overlap_use_different_connections(filled: SqliteStore) -> None:
    connections = filled._connections  # noqa: SLF001  # no call of the port shows it
    with connections.reading() as one, connections.reading() as two:
        assert one is not two
        with connections.writing() as three:
            assert three not in {one, two}
    with connections.reading() as again:
        assert again in {one, two, three}


def test_a_reader_sees_the_state_before_a_write_until_it_is_committed(filled: SqliteStore) -> None:
    connections = filled._connections  # noqa: SLF001  # no call of the port stops half-way
    with connections.writing() as conn:
        conn.execute("UPDATE pulse SET beats = 77")
        with connections.reading() as other:
            assert other.execute("SELECT beats FROM pulse").fetchone() == (0,)
    with connections.reading() as other:
        assert other.execute("SELECT beats FROM pulse").fetchone() == (77,)


def test_a_thread_that_writes_for_too_long_is_reported_to_the_others(filled: SqliteStore) -> None:
    inside, done = threading.Event(), threading.Event()

    def hold() -> None:
        with filled._connections.writing():  # noqa: SLF001  # no call of the port stops half-way
            inside.set()
            done.wait(10)

    with ThreadPoolExecutor(1) as pool:
        holding = pool.submit(hold)
        assert inside.wait(10)
        with pytest.raises(StoreUnavailableError, match="other threads have been writing"):
            filled.add_key(key("new"))
        done.set()
        holding.result()
    filled.add_key(key("new"))


def test_more_threads_than_idle_connections_leave_no_connection_open(filled: SqliteStore) -> None:
    barrier = threading.Barrier(20)

    def read(_: int) -> int:
        with filled._connections.reading() as conn:  # noqa: SLF001  # all at once
            barrier.wait(10)
            return len(conn.execute("SELECT * FROM verdicts").fetchall())

    with ThreadPoolExecutor(20) as pool:
        assert set(pool.map(read, range(20))) == {13}
    assert len(filled._connections._idle) <= 8  # noqa: SLF001
    filled.close()
    assert not filled.path.with_name("store.sqlite-wal").exists()


def test_an_interrupted_write_is_undone_and_the_store_serves_on(filled: SqliteStore) -> None:
    def interrupted() -> None:
        with filled._connections.writing() as conn:  # noqa: SLF001  # no call of the port stops half-way
            conn.execute("UPDATE pulse SET beats = 99")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    with raw(filled.path) as conn:
        assert conn.execute("SELECT beats FROM pulse").fetchone() == (0,)
    filled.ping()


def _in_child(store: SqliteStore, told: Connection, name: str) -> None:
    try:
        told.send(store.record_verdict(verdict(name)).sequence)
        store.close()
    except StoreError as error:
        told.send(repr(error))


def test_a_store_that_was_opened_before_a_fork_serves_on_both_sides(filled: SqliteStore) -> None:
    filled.ping()
    pipe, told = FORK.Pipe()
    sequences = []
    for number in range(3):
        child = FORK.Process(target=_in_child, args=(filled, told, f"child {number}"))
        child.start()
        sequences.append(filled.record_verdict(verdict(f"parent {number}")).sequence)
        sequences.append(pipe.recv())
        child.join()
    assert sorted(sequences) == list(range(14, 20))
    assert filled.check() == []


def test_a_store_that_was_in_use_during_a_fork_is_refused_in_the_child(filled: SqliteStore) -> None:
    pipe, told = FORK.Pipe()
    with filled._connections.writing() as conn:  # noqa: SLF001  # a call that is under way
        conn.execute("UPDATE pulse SET beats = 5")
        child = FORK.Process(target=_in_child, args=(filled, told, "child"))
        child.start()
        assert "forked while the store was in use" in pipe.recv()
        child.join()
        opened = FORK.Process(target=_opened_in_child, args=(filled, told))
        opened.start()
        assert "forked while the store was in use" in pipe.recv()
        opened.join()
    with raw(filled.path) as conn:
        assert conn.execute("SELECT beats FROM pulse").fetchone() == (5,)
    assert filled.record_verdict(verdict("parent")).sequence == 14
    assert filled.check() == []


def _opened_in_child(store: SqliteStore, told: Connection) -> None:
    try:
        told.send(open_sqlite(store.path).verdicts(ALL))
    except StoreError as error:
        told.send(repr(error))

"""A store that cannot serve says so, says what to do, keeps nothing half-written, and serves again afterwards."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from tests.store.entries import draft, model, rejection, release, verify, withdrawal
from tests.store.raw import raw
from tests.store.samples import NOON, key, publish, revision, verdict
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)
from turnrule.store.sqlite import SqliteStore, open_sqlite

ALL = VerdictQuery()


def _writes(store: SqliteStore) -> list[Callable[[], object]]:
    return [
        store.ping,
        lambda: store.record_verdict(verdict("new"), Idempotency("counter", "new", "body")),
        lambda: publish(store, revision("new")),
        lambda: store.add_key(key("new")),
        lambda: store.enter(draft("entered", fits=model(91))),
        lambda: store.enter_many([(draft("imported", fits=model(92)), None)], at=NOON, by="importer"),
        lambda: verify(store, "L4"),
        lambda: store.reject("L3", rejection()),
        lambda: store.withdraw(withdrawal("L6")),
        lambda: release(store),
        lambda: store.set_rules(store.rules(), at=NOON, by="office"),
    ]


def test_a_missing_folder_is_named_with_the_remedy(tmp_path: Path) -> None:
    with pytest.raises(StoreUnavailableError, match="its folder does not exist; make it"):
        open_sqlite(tmp_path / "no such folder" / "store.sqlite")
    assert not (tmp_path / "no such folder").exists()


def test_a_folder_that_goes_away_is_named_too(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    store = open_sqlite(folder / "store.sqlite")
    folder.rmdir()
    for call in (store.migrate, store.pending, store.check, store.ping):
        with pytest.raises(StoreUnavailableError, match="folder"):
            call()


def test_a_folder_in_place_of_the_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(StoreUnavailableError, match="is a folder"):
        open_sqlite(tmp_path)


@pytest.mark.parametrize("name", ["x" * 300, "nul\0byte"])
def test_a_path_that_the_system_refuses_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(StoreUnavailableError):
        open_sqlite(tmp_path / name).pending()


def test_a_path_with_signs_that_mean_something_in_an_address_is_only_a_path(tmp_path: Path) -> None:
    path = tmp_path / "a store?mode=ro&x=%41#b.sqlite"
    store = open_sqlite(path)
    store.migrate()
    store.add_key(key())
    store.close()
    assert path.is_file()


def test_opening_what_is_not_there_makes_no_file(path: Path) -> None:
    store = open_sqlite(path)
    assert store.pending()
    assert store.check()
    with pytest.raises(StoreNotMigratedError, match="turnrule store migrate"):
        store.keys()
    assert not path.exists()
    store.close()


def test_another_writer_that_holds_on_is_waited_for_and_then_reported(filled: SqliteStore) -> None:
    before = filled.verdicts(ALL)
    with raw(filled.path) as conn:
        conn.execute("BEGIN IMMEDIATE")
        for write in _writes(filled):
            with pytest.raises(StoreUnavailableError, match="another program has held it locked for too long"):
                write()
        assert filled.verdicts(ALL) == before
        conn.execute("ROLLBACK")
    for write in _writes(filled):
        write()
    assert filled.check() == []


def test_another_writer_that_lets_go_in_time_is_waited_for(filled: SqliteStore) -> None:
    patient = open_sqlite(filled.path, wait=20)
    ready, holder = multiprocessing.get_context("spawn").Pipe()
    process = multiprocessing.get_context("spawn").Process(target=_hold_for_a_while, args=(filled.path, holder))
    process.start()
    assert ready.recv() == "holding"
    assert patient.record_verdict(verdict("new")).sequence == 14
    process.join()
    patient.close()


def _hold_for_a_while(path: Path, told: Connection) -> None:
    with raw(path) as conn:
        conn.execute("BEGIN IMMEDIATE")
        told.send("holding")
        told.poll(0.5)
        conn.execute("ROLLBACK")


def test_a_store_that_was_opened_for_reading_reads_and_refuses_to_write(filled: SqliteStore) -> None:
    reader = open_sqlite(filled.path, read_only=True)
    assert reader.verdicts(ALL) == filled.verdicts(ALL)
    assert reader.limits(LimitQuery()) == filled.limits(LimitQuery())
    assert reader.pending() == []
    assert reader.check() == []
    for write in (*_writes(reader), reader.migrate):
        with pytest.raises(StoreUnavailableError, match="opened for reading only"):
            write()
    assert len(filled.verdicts(ALL)) == 13
    reader.close()


def test_a_file_that_this_user_may_not_write_is_reported(filled: SqliteStore) -> None:
    filled.close()
    # In a folder that any user can reach, since this test may have to become another one.
    folder = Path(tempfile.mkdtemp())
    try:
        copy = Path(shutil.copy(filled.path, folder / "store.sqlite"))
        copy.chmod(0o444)
        folder.chmod(0o555)
        pipe, told = multiprocessing.get_context("spawn").Pipe()
        process = multiprocessing.get_context("spawn").Process(target=_write_without_leave, args=(copy, told))
        process.start()
        told.close()
        outcomes = pipe.recv()
        process.join()
        assert outcomes
        assert all("StoreUnavailableError" in outcome and "permission" in outcome for outcome in outcomes), outcomes
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def _write_without_leave(path: Path, told: Connection) -> None:
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    outcomes = []
    try:
        for write in _writes(open_sqlite(path)):
            try:
                outcomes.append(f"done: {write()}")
            except StoreUnavailableError as error:
                outcomes.append(repr(error))
    except StoreUnavailableError as error:
        outcomes.append(f"{error!r} permission" if "may write" in str(error) else repr(error))
    told.send(outcomes)


@pytest.mark.parametrize(
    "content", [b"not a database, but long enough to be taken for one. " * 100, b"\x00" * 8192, b"SQLite format 3\x00"]
)
def test_a_file_that_is_no_store_is_reported_and_left_alone(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with pytest.raises(StoreUnavailableError, match=r"not a store|damaged"):
        open_sqlite(path).migrate()
    assert path.read_bytes() == content


def test_the_database_of_another_program_is_reported_and_left_alone(path: Path) -> None:
    with raw(path) as conn:
        conn.execute("CREATE TABLE something (x)")
    before = path.read_bytes()
    with pytest.raises(StoreUnavailableError, match="belongs to another program"):
        open_sqlite(path)
    assert path.read_bytes() == before


def test_a_file_that_is_replaced_while_in_use_is_noticed_before_anything_is_lost(filled: SqliteStore) -> None:
    filled.record_verdict(verdict("before"))
    moved = filled.path.with_name("moved.sqlite")
    filled.path.rename(moved)
    for call in (*_writes(filled), filled.keys):
        with pytest.raises(StoreUnavailableError, match="moved or replaced"):
            call()
    shutil.copy(moved, filled.path)
    with pytest.raises(StoreUnavailableError, match="moved or replaced"):
        filled.record_verdict(verdict("after"))
    filled.path.unlink()
    moved.rename(filled.path)
    assert filled.record_verdict(verdict("after")).sequence == 15


def test_a_failure_in_the_middle_of_a_release_leaves_nothing_of_it(filled: SqliteStore) -> None:
    before = (filled.releases(), filled.limits(LimitQuery()), filled.verdicts(ALL))
    with raw(filled.path) as conn:
        conn.execute(
            "CREATE TRIGGER broken BEFORE INSERT ON limit_revisions WHEN NEW.limits_id = 'N150'"
            " BEGIN SELECT RAISE(ABORT, 'broken'); END"
        )
        with pytest.raises(Exception, match="broken"):
            publish(filled, *(revision(f"N{number}") for number in range(100, 200)))
        conn.execute("DROP TRIGGER broken")
    assert (filled.releases(), filled.limits(LimitQuery()), filled.verdicts(ALL)) == before
    assert publish(filled, revision("N1")).number == 3


def test_an_error_of_the_callers_iterable_writes_nothing(filled: SqliteStore) -> None:
    def broken() -> Iterator[object]:
        yield revision("N1")
        raise KeyError("broken")

    with pytest.raises(KeyError):
        publish(filled, *broken())  # type: ignore[arg-type]  # the iterable breaks before its type matters
    assert filled.release(3) is None
    filled.ping()


def test_wal_and_full_synchronisation_hold_on_every_connection(filled: SqliteStore) -> None:
    with filled._connections.writing() as conn:  # noqa: SLF001  # no call of the port shows it
        (synchronous,) = conn.execute("PRAGMA synchronous").fetchone()
        (journal,) = conn.execute("PRAGMA journal_mode").fetchone()
        (keys,) = conn.execute("PRAGMA foreign_keys").fetchone()
        assert (synchronous, journal, keys) == (2, "wal", 1)
        with filled._connections.reading() as other:  # noqa: SLF001  # likewise
            assert other is not conn
            assert other.execute("PRAGMA synchronous").fetchone() == (2,)
    with raw(filled.path) as conn:
        assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_store_that_left_wal_comes_back_to_it_or_is_refused(filled: SqliteStore) -> None:
    filled.close()
    with raw(filled.path) as conn:
        assert conn.execute("PRAGMA journal_mode = DELETE").fetchone() == ("delete",)
    with pytest.raises(StoreUnavailableError, match="journal_mode = delete where wal is needed"):
        open_sqlite(filled.path, read_only=True)
    store = open_sqlite(filled.path)
    assert store.check() == []
    store.close()
    with raw(filled.path) as conn:
        assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_no_error_of_the_driver_comes_through(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("DROP TABLE pulse")
    with pytest.raises(StoreUnavailableError, match="restore the last sound backup") as caught:
        filled.ping()
    assert isinstance(caught.value.__cause__, sqlite3.Error)

"""Migrations run once, in order, each whole, and only when they are asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlite_utils import Database

from tests.store.raw import raw, rows_of, tables
from tests.store.samples import key, verdict
from turnrule.store import sqlite_migrations, sqlite_opening
from turnrule.store.port import StoreNotMigratedError, StoreUnavailableError, VerdictQuery
from turnrule.store.sqlite import SqliteStore, open_sqlite
from turnrule.store.sqlite_migrations import APPLICATION_ID, MIGRATIONS, NAMES
from turnrule.store.sqlite_schema import INDEXES, TABLES
from turnrule.store.sqlite_triggers import TRIGGERS


def test_the_names_are_those_of_the_migrations_in_order() -> None:
    assert [migration.name for migration in MIGRATIONS._migrations] == list(NAMES)  # noqa: SLF001  # it lists no other way
    assert list(NAMES) == sorted(NAMES)
    assert all(migration.transactional for migration in MIGRATIONS._migrations)  # noqa: SLF001


def test_each_migration_is_recorded_in_a_strict_table_and_counted_in_the_header(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        rows = rows_of(conn, "_sqlite_migrations")
        assert [(row["migration_set"], row["name"]) for row in rows] == [("turnrule", name) for name in NAMES]
        assert conn.execute("PRAGMA user_version").fetchone() == (len(NAMES),)
        assert conn.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)


@pytest.mark.parametrize("statements", [1, 5, 20, 30])
def test_a_migration_that_fails_leaves_nothing_and_can_be_run_again(
    path: Path, monkeypatch: pytest.MonkeyPatch, statements: int
) -> None:
    everything = (*TABLES, *INDEXES, *TRIGGERS)
    monkeypatch.setattr(sqlite_migrations, "TABLES", (*everything[:statements], "CREATE TABLE broken (x) STRICT"))
    store = open_sqlite(path)
    with pytest.raises(StoreUnavailableError):
        store.migrate()
    with raw(path) as conn:
        assert tables(conn) == []
        assert conn.execute("PRAGMA user_version").fetchone() == (0,)
    assert list(store.pending()) == list(NAMES)
    with pytest.raises(StoreNotMigratedError):
        store.keys()
    monkeypatch.undo()
    assert list(store.migrate()) == list(NAMES)
    assert store.check() == []
    store.close()


def test_migrating_again_changes_nothing(filled: SqliteStore) -> None:
    before = filled.verdicts(VerdictQuery())
    assert list(filled.migrate()) == []
    assert filled.verdicts(VerdictQuery()) == before


@pytest.fixture
def newer(filled: SqliteStore) -> SqliteStore:
    """A store that a newer program has migrated."""
    with raw(filled.path) as conn:
        conn.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('turnrule', 'm9999', '2030')"
        )
        conn.execute("CREATE TABLE news (x INTEGER) STRICT")
        conn.execute(f"PRAGMA user_version = {len(NAMES) + 1}")
    return filled


def test_a_store_that_is_newer_than_the_program_refuses_every_call_at_once(newer: SqliteStore) -> None:
    for call in (newer.keys, newer.ping, newer.migrate, lambda: newer.record_verdict(verdict("new"))):
        with pytest.raises(StoreNotMigratedError, match="newer"):
            call()
    assert list(newer.pending()) == []
    assert any("install the newer program" in fault for fault in newer.check())


def test_a_store_that_is_newer_is_left_as_it_is(newer: SqliteStore) -> None:
    newer.close()
    before = newer.path.read_bytes()
    store = open_sqlite(newer.path)
    with pytest.raises(StoreNotMigratedError):
        store.migrate()
    store.close()
    assert newer.path.read_bytes() == before


def test_a_store_that_is_older_than_the_program_refuses_until_it_is_migrated(
    filled: SqliteStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    def add(db: Database) -> None:
        db.execute("CREATE TABLE added (x INTEGER NOT NULL) STRICT")

    names = (*NAMES, "m9999_added")
    for module in (sqlite_migrations, sqlite_opening):
        monkeypatch.setattr(module, "NAMES", names)
    monkeypatch.setattr("turnrule.store.sqlite.NAMES", names)
    monkeypatch.setattr("turnrule.store.sqlite_check.NAMES", names)
    monkeypatch.setattr(MIGRATIONS, "_migrations", list(MIGRATIONS._migrations))  # noqa: SLF001  # taken back afterwards
    MIGRATIONS(name="m9999_added")(add)
    with pytest.raises(StoreNotMigratedError, match="older schema than this program; run `turnrule store migrate`"):
        filled.keys()
    assert list(filled.pending()) == ["m9999_added"]
    assert any("m9999_added" in fault for fault in filled.check())
    assert list(filled.migrate()) == ["m9999_added"]
    filled.add_key(key("new"))
    assert filled.check() == []


def test_an_empty_file_is_a_store_that_is_not_migrated_yet(path: Path) -> None:
    path.touch()
    store = open_sqlite(path)
    with pytest.raises(StoreNotMigratedError):
        store.ping()
    assert list(store.migrate()) == list(NAMES)
    store.ping()
    store.close()


def test_a_store_opened_before_its_schema_was_made_is_in_wal_afterwards(path: Path) -> None:
    path.touch()
    store = open_sqlite(path)
    store.migrate()
    with raw(path) as conn:
        assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert store.check() == []
    store.close()

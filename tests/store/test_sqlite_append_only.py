"""What is kept stays as it was written, whichever program writes to the file."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.store.raw import good_row, insert, raw, rows_of, tables
from turnrule.store.sqlite import open_sqlite
from turnrule.store.sqlite_tables import SEALED

KEPT = {
    "releases": ("never changed", "never deleted"),
    "limit_revisions": ("never changed", "never deleted"),
    "policies": ("never changed", "never deleted"),
    "verdicts": ("never changed", "never deleted"),
    "idempotency_keys": ("never changed", None),
    "api_keys": ("revoked once", "never deleted"),
}


@pytest.mark.parametrize(
    ("table", "column"), [(table.name, column) for table in SEALED if table.name in KEPT for column in table.columns]
)
def test_nothing_that_is_kept_can_be_changed_not_even_to_itself(
    conn: sqlite3.Connection, table: str, column: str
) -> None:
    before = rows_of(conn, table)
    with pytest.raises(sqlite3.IntegrityError, match=KEPT[table][0]):
        conn.execute(f'UPDATE "{table}" SET "{column}" = "{column}"')  # noqa: S608  # names of ours
    for value in (None, 1, "x", b"x", "2026-03-03T00:00:00.000000Z"):
        with pytest.raises(sqlite3.IntegrityError):
            conn.execute(f'UPDATE "{table}" SET "{column}" = ?', (value,))  # noqa: S608  # names of ours
    assert rows_of(conn, table) == before


@pytest.mark.parametrize(("table", "message"), [(table, deleted) for table, (_, deleted) in KEPT.items() if deleted])
def test_nothing_that_is_kept_can_be_deleted(conn: sqlite3.Connection, table: str, message: str) -> None:
    conn.execute("PRAGMA foreign_keys = OFF")
    before = rows_of(conn, table)
    with pytest.raises(sqlite3.IntegrityError, match=message):
        conn.execute(f'DELETE FROM "{table}"')  # noqa: S608  # names of ours
    assert rows_of(conn, table) == before


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE"])
def test_nothing_that_is_kept_can_be_replaced_by_an_insert(
    conn: sqlite3.Connection, table: str, recursive: str, verb: str
) -> None:
    conn.execute(f"PRAGMA recursive_triggers = {recursive}")
    before = rows_of(conn, table)
    for row in before:
        with pytest.raises(sqlite3.IntegrityError):
            insert(conn, table, row, verb=verb)
    assert rows_of(conn, table) == before


def test_a_key_can_be_revoked_and_nothing_else(conn: sqlite3.Connection) -> None:
    at = "2026-03-03T00:00:00.000000Z"
    conn.execute("UPDATE api_keys SET revoked_at = ?, seal = zeroblob(16) WHERE name = 'counter'", (at,))
    for change in ("revoked_at = NULL", "revoked_at = '2026-03-04T00:00:00.000000Z'"):
        with pytest.raises(sqlite3.IntegrityError, match="revoked once"):
            conn.execute(f"UPDATE api_keys SET {change} WHERE name = 'counter'")  # noqa: S608  # names of ours
    (found,) = conn.execute("SELECT revoked_at FROM api_keys WHERE name = 'counter'").fetchone()
    assert found == at


@pytest.mark.parametrize("release", [1, 2])
def test_a_published_release_takes_no_more_revisions(conn: sqlite3.Connection, release: int) -> None:
    row = good_row(conn, "limit_revisions") | {"release": release}
    with pytest.raises(sqlite3.IntegrityError, match="takes no more revisions"):
        insert(conn, "limit_revisions", row)


def test_a_revision_without_its_release_is_not_committed(conn: sqlite3.Connection) -> None:
    conn.execute("BEGIN")
    insert(conn, "limit_revisions", good_row(conn, "limit_revisions"))
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        conn.execute("COMMIT")


def test_the_sample_was_written_by_the_store_itself(sample: Path) -> None:
    with raw(sample) as conn:
        assert all(rows_of(conn, table) for table in tables(conn))
    store = open_sqlite(sample)
    assert store.check() == []
    store.close()

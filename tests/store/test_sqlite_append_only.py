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
    "acceptances": ("never changed", "never deleted"),
    "mismatches": ("never changed", "never deleted"),
    "rejections": ("never changed", "never deleted"),
    "withdrawals": ("never changed", "never deleted"),
    "store_rules": ("never changed", "never deleted"),
    "imports": ("never opened again", "never deleted"),
    "kept_answers": ("never changed", None),
    "policies": ("never changed", "never deleted"),
    "lathes": ("never changed", "never deleted"),
    "sites": ("never changed", "never deleted"),
    "axle_verdicts": ("never changed", "never deleted"),
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


@pytest.mark.parametrize(
    ("table", "message"),
    [("acceptances", "is verified already"), ("verdicts", "a verdict with this id is stored already")],
)
@pytest.mark.parametrize("verb", ["INSERT", "INSERT OR REPLACE"])
def test_nothing_is_replaced_by_a_row_under_the_next_number(
    conn: sqlite3.Connection, table: str, message: str, verb: str
) -> None:
    before = rows_of(conn, table)
    for row in before:
        with pytest.raises(sqlite3.IntegrityError, match=message):
            insert(conn, table, row | {"sequence": len(before) + 1}, verb=verb)
    assert rows_of(conn, table) == before


def test_a_key_can_be_revoked_and_nothing_else(conn: sqlite3.Connection) -> None:
    at = "2026-03-03T00:00:00.000000Z"
    conn.execute("UPDATE api_keys SET revoked_at = ?, seal = zeroblob(16) WHERE name = 'counter'", (at,))
    for change in ("revoked_at = NULL", "revoked_at = '2026-03-04T00:00:00.000000Z'"):
        with pytest.raises(sqlite3.IntegrityError, match="revoked once"):
            conn.execute(f"UPDATE api_keys SET {change} WHERE name = 'counter'")  # noqa: S608  # names of ours
    (found,) = conn.execute("SELECT revoked_at FROM api_keys WHERE name = 'counter'").fetchone()
    assert found == at


@pytest.mark.parametrize("table", ["acceptances", "withdrawals"])
def test_nothing_is_slipped_into_what_a_published_release_counts(conn: sqlite3.Connection, table: str) -> None:
    row = good_row(conn, table)
    for sequence in range(1, row["sequence"]):
        with pytest.raises(sqlite3.IntegrityError, match="numbered one by one"):
            insert(conn, table, row | {"sequence": sequence})


def test_a_number_is_not_given_again_where_the_last_row_was_removed(conn: sqlite3.Connection) -> None:
    conn.execute("DROP TRIGGER withdrawals_no_delete")
    conn.execute("DELETE FROM withdrawals WHERE sequence = 1")
    kept = {"limits_id": "L7", "revision": 1, "withdrawn_by": "lead", "reason": "recalled", "seal": bytes(16)}
    at = "2026-03-02T12:00:00.000000Z"
    with pytest.raises(sqlite3.IntegrityError, match="numbered one by one"):
        insert(conn, "withdrawals", kept | {"sequence": 1, "withdrawn_at": at})
    insert(conn, "withdrawals", kept | {"sequence": 2, "withdrawn_at": at})


@pytest.mark.parametrize("column", ["accepted", "withdrawn"])
def test_a_release_counts_what_is_there_and_no_less_than_the_one_before(conn: sqlite3.Connection, column: str) -> None:
    row = good_row(conn, "releases")
    there = row[column]
    insert(conn, "releases", row)
    for counted in (there - 1, there + 1):
        with pytest.raises(sqlite3.IntegrityError, match="counts what is there"):
            insert(conn, "releases", row | {"number": 4, column: counted})
    insert(conn, "releases", row | {"number": 4})


def test_a_draft_of_an_import_can_be_deleted_until_the_import_is_finished(conn: sqlite3.Connection) -> None:
    insert(conn, "imports", good_row(conn, "imports") | {"finished": 0})
    row = good_row(conn, "limit_revisions") | {"limits_id": "L8", "import_id": 2}
    insert(conn, "limit_revisions", row)
    conn.execute("DELETE FROM limit_revisions WHERE limits_id = 'L8'")
    insert(conn, "limit_revisions", row)
    conn.execute("UPDATE imports SET finished = 1 WHERE id = 2")
    with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
        conn.execute("DELETE FROM limit_revisions WHERE limits_id = 'L8'")
    with pytest.raises(sqlite3.IntegrityError, match="takes no more"):
        insert(conn, "limit_revisions", row | {"limits_id": "L9"})


def test_an_older_revision_is_neither_entered_nor_verified_after_a_newer_one(conn: sqlite3.Connection) -> None:
    row = good_row(conn, "limit_revisions")
    insert(conn, "limit_revisions", row | {"revision": 3})
    with pytest.raises(sqlite3.IntegrityError, match="newer than those before it"):
        insert(conn, "limit_revisions", row | {"revision": 2})
    insert(conn, "limit_revisions", row | {"revision": 4})
    both = {"limits_id": "L2", "verified_by": "second reader", "pause_s": None}
    newest = good_row(conn, "acceptances") | both
    insert(conn, "acceptances", newest | {"revision": 4})
    with pytest.raises(sqlite3.IntegrityError, match="a newer revision of the limits record is verified"):
        insert(conn, "acceptances", newest | {"revision": 3, "sequence": 7})


def test_a_draft_is_either_verified_or_rejected_and_takes_no_second_entry_afterwards(conn: sqlite3.Connection) -> None:
    rejected, verified = {"limits_id": "L5", "revision": 1}, {"limits_id": "L6", "revision": 1}
    with pytest.raises(sqlite3.IntegrityError, match="a rejected draft is never verified"):
        insert(conn, "acceptances", good_row(conn, "acceptances") | rejected)
    with pytest.raises(sqlite3.IntegrityError, match="is withdrawn, not rejected"):
        insert(conn, "rejections", good_row(conn, "rejections") | verified)
    for closed in (rejected, verified):
        with pytest.raises(sqlite3.IntegrityError, match="takes no more second entries"):
            insert(conn, "mismatches", good_row(conn, "mismatches") | closed | {"attempt": 1})


def test_the_sample_was_written_by_the_store_itself(sample: Path) -> None:
    with raw(sample) as conn:
        assert all(rows_of(conn, table) for table in tables(conn))
    store = open_sqlite(sample)
    assert store.check() == []
    store.close()

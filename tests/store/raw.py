"""The file as another program sees it: SQL, without anything of the store's own code between."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

Row = dict[str, Any]
BOOKS = "_sqlite_migrations"


@contextmanager
def raw(path: Path) -> Iterator[sqlite3.Connection]:
    """A connection of Python's own, in which every statement is its own transaction."""
    conn = sqlite3.connect(path, isolation_level=None)
    conn.execute("PRAGMA foreign_keys = ON")
    try:
        yield conn
    finally:
        conn.close()


@contextmanager
def copy_of(path: Path) -> Iterator[sqlite3.Connection]:
    """A copy of a store in memory: the same schema and rows, and nothing that a test does to it lasts."""
    conn = sqlite3.connect(":memory:", isolation_level=None)
    try:
        with raw(path) as source:
            source.backup(conn)
        conn.execute("PRAGMA foreign_keys = ON")
        yield conn
    finally:
        conn.close()


def tables(conn: sqlite3.Connection) -> list[str]:
    """Every table that is the store's own."""
    rows = conn.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT GLOB 'sqlite_*'")
    return sorted(name for (name,) in rows)


def rows_of(conn: sqlite3.Connection, table: str) -> list[Row]:
    """All rows of a table, by column."""
    cursor = conn.execute(f'SELECT * FROM "{table}"')  # noqa: S608  # names of ours
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor]


def insert(conn: sqlite3.Connection, table: str, row: Row, *, verb: str = "INSERT") -> None:
    """Insert a row, column by column."""
    columns, marks = ", ".join(f'"{name}"' for name in row), ", ".join("?" * len(row))
    conn.execute(f'{verb} INTO "{table}" ({columns}) VALUES ({marks})', tuple(row.values()))


NEXT: dict[str, Row] = {
    "releases": {"number": 3, "accepted": 5, "withdrawn": 1},
    "imports": {"id": 2},
    "limit_revisions": {"limits_id": "L2", "revision": 2, "import_id": None},
    "acceptances": {
        "sequence": 6,
        "limits_id": "L3",
        "revision": 1,
        "entered_by": "first reader",
        "verified_by": "first reader",
        "pause_s": 86400,
    },
    "mismatches": {"attempt": 2},
    "rejections": {"limits_id": "L3"},
    "withdrawals": {"sequence": 2, "limits_id": "L1", "revision": 2},
    "open_drafts": {"limits_id": "L5"},
    "vehicles": {"model_key": "new"},
    "store_rules": {"revision": 2},
    "kept_answers": {"value": "new"},
    "policies": {"revision": 3},
    "lathes": {"revision": 3},
    "sites": {"revision": 3},
    "events": {"sequence": 24, "number": 99},
    "axle_verdicts": {"sequence": 2, "id": "new", "left_id": "new left", "right_id": "new right"},
    "api_keys": {"name": "new", "digest": "new"},
    "verdicts": {"sequence": 14, "id": "new", "axle_id": None},
    "idempotency_keys": {"value": "new"},
    "misses": {"model_key": "new"},
    "pulse": {"one": 1},
    BOOKS: {"id": 7, "name": "another"},
}
"""What makes a row of the sample the next one of its table."""


def good_row(conn: sqlite3.Connection, table: str) -> Row:
    """A row that the table takes, as full as any that is there."""
    rows = rows_of(conn, table)
    fullest = max(rows, key=lambda row: sum(value is not None for value in row.values()))
    if table == "pulse":
        conn.execute("DELETE FROM pulse")
    if table == "axle_verdicts" and not conn.execute("SELECT 1 FROM verdicts WHERE axle_id = 'new'").fetchone():
        conn.execute("PRAGMA foreign_keys = OFF")
        for place, side in enumerate(("left", "right")):
            named = {"id": f"new {side}", "side": side, "axle_id": "new"}
            whole = good_row(conn, "verdicts")
            insert(conn, "verdicts", whole | {"sequence": whole["sequence"] + place} | named)
        conn.execute("PRAGMA foreign_keys = ON")
    return fullest | NEXT[table]


def stored(conn: sqlite3.Connection, table: str, row: Row) -> None:
    """Store a row as a whole transaction."""
    conn.execute("BEGIN IMMEDIATE")
    try:
        insert(conn, table, row)
        conn.execute("COMMIT")
    except sqlite3.IntegrityError:
        conn.execute("ROLLBACK")
        raise

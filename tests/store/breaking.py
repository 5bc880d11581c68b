"""Doing to a store's file what its triggers would refuse."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from tests.store.raw import raw
from turnrule.store.sqlite_rows import Table

Forged = tuple[Table, str, str, object]
"""A table, a condition on its rows, a column, and what the column says afterwards under a seal that fits."""


def without_triggers(path: Path, *statements: str | Forged) -> None:
    """Do to the file what its triggers would refuse, and put them back; each statement must meet a row."""
    with raw(path) as conn:
        conn.execute("PRAGMA foreign_keys = OFF")
        triggers = conn.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            conn.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            if isinstance(statement, str):
                assert conn.execute(statement).rowcount > 0, statement
            else:
                _forge(conn, *statement)
        for _, sql in triggers:
            conn.execute(sql)


def _forge(conn: sqlite3.Connection, table: Table, which: str, column: str, value: object) -> None:
    rows = conn.execute(table.select(f"WHERE {which}")).fetchall()
    assert rows
    place = table.columns.index(column)
    for row in rows:
        values = table.opened(row)
        *_, seal = table.sealed((*values[:place], value, *values[place + 1 :]))  # type: ignore[arg-type]  # of any type
        conn.execute(f"UPDATE {table.name} SET {column} = ?, seal = ? WHERE seal = ?", (value, seal, row[-1]))  # noqa: S608

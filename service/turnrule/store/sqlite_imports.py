"""Imports in the embedded store: what keeps many drafts together until all of them are there, or clears them away.

The drafts of an import stand in the tables from the first chunk on, so that nobody else takes their names; but they
are not handed out before the row of their import says that it is finished.
"""

from __future__ import annotations

import datetime
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from turnrule.store.errors import StoreError
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_limit_tables import IMPORTS, Import, import_of, import_values
from turnrule.store.sqlite_rows import moment_text, one

CHUNK = 500
"""So many drafts of an import are stored, or cleared away, in one transaction: other writers wait for no more."""

REST_S = 0.1
"""For so long the store is left alone between two chunks: so often a writer that waits in SQLite looks again."""

ABANDONED_S = 600
"""An import that has not moved for so long was left by a program that ended; the next entry clears it away."""

_GIVEN_UP = 0
_NOW = "SELECT CAST(strftime('%s', 'now') AS INTEGER)"
_NEXT = "SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'imports'"
_ONE = IMPORTS.select("WHERE id = ?")
_UNFINISHED = IMPORTS.select("WHERE finished = 0 AND touched < ? ORDER BY id")
_DRAFTS = "SELECT limits_id, revision FROM open_drafts WHERE import_id = ? LIMIT ?"
_UPDATE = "UPDATE imports SET touched = ?, finished = ?, seal = ? WHERE id = ?"


class Turns:
    """Takes turns with other writers: between two transactions of long work, one that waits comes to its own."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections
        self._free_since = time.monotonic() - REST_S

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """What `Connections.writing` is, once the store was left alone for long enough."""
        left = self._free_since + REST_S - time.monotonic()
        if left > 0:
            time.sleep(left)
        with self._connections.writing() as conn:
            yield conn
        self._free_since = time.monotonic()


def begin(connections: Connections, at: datetime.datetime, by: str) -> int:
    """Begin an import; its number."""
    with connections.writing() as conn:
        (number,) = conn.execute(_NEXT).fetchone()
        begun = Import(number, moment_text(at), by, _now(conn), finished=False)
        conn.execute(IMPORTS.insert, IMPORTS.sealed(import_values(begun)))
        return int(number)


def moved(conn: sqlite3.Connection, number: int, *, finished: bool = False) -> None:
    """Say that an import still goes on, or that it is finished. Raises `StoreError` where it was given up."""
    found = _found(conn, number)
    if found is None or found.touched == _GIVEN_UP:
        raise StoreError("the import stood still for so long that it was given up; nothing of it was kept")
    _keep(conn, replace(found, touched=_now(conn), finished=finished))


def clear(connections: Connections, number: int) -> None:
    """Give an unfinished import up, and delete it and its drafts, chunk by chunk."""
    with connections.writing() as conn:
        found = _found(conn, number)
        if found is None or found.finished:
            return
        # From here on its own program cannot finish it, whatever is deleted by then.
        _keep(conn, replace(found, touched=_GIVEN_UP))
    turns, left = Turns(connections), True
    while left:
        with turns.writing() as conn:
            left = _delete_some(conn, number)


def _delete_some(conn: sqlite3.Connection, number: int) -> bool:
    """Delete a chunk of an import's drafts, or the import where none is left; false in the end."""
    keys = conn.execute(_DRAFTS, (number, CHUNK)).fetchall()
    conn.executemany("DELETE FROM open_drafts WHERE limits_id = ? AND revision = ?", keys)
    conn.executemany("DELETE FROM limit_revisions WHERE limits_id = ? AND revision = ?", keys)
    if not keys:
        conn.execute("DELETE FROM imports WHERE id = ?", (number,))
    return bool(keys)


def _found(conn: sqlite3.Connection, number: int) -> Import | None:
    row = one(conn.execute(_ONE, (number,)), IMPORTS)
    return None if row is None else import_of(row)


def _keep(conn: sqlite3.Connection, changed: Import) -> None:
    *_, touched, finished, seal = IMPORTS.sealed(import_values(changed))
    conn.execute(_UPDATE, (touched, finished, seal, changed.number))


def clear_abandoned(connections: Connections) -> None:
    """Clear away what a program left that ended in the middle of an import."""
    with connections.reading() as conn:
        rows = conn.execute(_UNFINISHED, (_now(conn) - ABANDONED_S,)).fetchall()
        numbers = [import_of(IMPORTS.opened(row)).number for row in rows]
    for number in numbers:
        clear(connections, number)


def _now(conn: sqlite3.Connection) -> int:
    """Seconds of the system's clock, which every program on this machine shares."""
    return int(conn.execute(_NOW).fetchone()[0])

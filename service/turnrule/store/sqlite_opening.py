"""Opening the embedded store's file: what must hold of the path, of the file, and of every connection to it."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from urllib.parse import quote

from sqlite_utils import Database

from turnrule.store.port import StoreNotMigratedError
from turnrule.store.sqlite_faults import unavailable
from turnrule.store.sqlite_migrations import NAMES, is_foreign, version

_FULL = 2
MIGRATE = "run `turnrule store migrate`"
_PRAGMAS = (
    "foreign_keys = ON",
    "synchronous = FULL",
    "cell_size_check = ON",
    "temp_store = MEMORY",
)


def connect(path: Path, mode: str, wait: float) -> Database:
    """A connection in which no transaction begins by itself; any thread may use it, one at a time.

    `mode` is SQLite's: ro, rw, or rwc, which makes the file; `wait` is in seconds.
    """
    conn = sqlite3.connect(
        f"file:{quote(str(path.absolute()))}?mode={mode}",
        uri=True,
        timeout=wait,
        isolation_level=None,
        check_same_thread=False,
        cached_statements=256,
    )
    return Database(conn, execute_plugins=False)


def prepare(db: Database, path: Path, *, read_only: bool, create: bool) -> None:
    """Set what holds for a connection, and raise unless it does hold."""
    for pragma in _PRAGMAS:
        db.execute(f"PRAGMA {pragma}")
    if read_only:
        db.execute("PRAGMA query_only = ON")
    if is_foreign(db):
        raise unavailable(path, "the file belongs to another program; name another path")
    in_use = create or version(db) > 0
    if in_use and not read_only:
        db.enable_wal()
    for pragma, wanted in (("synchronous", _FULL), ("foreign_keys", 1), ("journal_mode", "wal")):
        (found,) = db.execute(f"PRAGMA {pragma}").fetchone()
        if found != wanted and (in_use or pragma != "journal_mode"):
            raise unavailable(path, f"SQLite answers {pragma} = {found} where {wanted} is needed; use a local disk")


def stands(path: Path) -> bool:
    """True where there is a file. Raises `StoreUnavailableError` where there can be none."""
    try:
        if "\0" in str(path):
            raise unavailable(path, "a path has no NUL in it; name another path")
        if not path.parent.is_dir():
            raise unavailable(path, "its folder does not exist; make it, or name another path")
        if path.is_dir():
            raise unavailable(path, "the path is a folder; name a file in it")
        return path.exists()
    except OSError as error:
        raise unavailable(path, f"the system will not look at it ({error.strerror}); name another path") from error


def require_current(db: Database, path: Path) -> None:
    """Raise `StoreNotMigratedError` unless the store has the schema that this program knows."""
    found = db.conn.execute("PRAGMA user_version").fetchone()[0]
    if found == len(NAMES):
        return
    if found > len(NAMES):
        raise StoreNotMigratedError(f"the store {path} is newer than this program; install a newer version of it")
    state = "has an older schema than this program" if found else "has no schema yet"
    raise StoreNotMigratedError(f"the store {path} {state}; {MIGRATE}")


def file_at(place: str) -> tuple[int, int] | None:
    """What tells one file from another, also where both have had the same name."""
    try:
        found = os.stat(place)  # noqa: PTH116  # every call asks, and a Path costs half as much again
    except OSError:
        return None
    return found.st_dev, found.st_ino

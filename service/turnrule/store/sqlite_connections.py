"""Connections to the embedded store, each used by one thread at a time, and the two ways to use one.

A small pool: a call borrows an idle connection or opens one, and gives it back. Writers of one process queue at a
lock, so that they do not poll for each other; those of other processes wait in SQLite, up to `wait` seconds.

No connection crosses a fork, which would undo SQLite's locks: idle ones are closed before it, and where a call was
under way the child refuses the store rather than trust it.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from weakref import WeakSet

from sqlite_utils import Database

from turnrule.store.port import StoreError, StoreNotMigratedError
from turnrule.store.sqlite_faults import damaged, is_constraint, store_error, unavailable
from turnrule.store.sqlite_opening import MIGRATE, connect, file_at, prepare, require_current, stands
from turnrule.store.sqlite_rows import SealError

_MOST_IDLE = 8
_FORKED = "this process was forked while the store was in use; open the store after the fork"


class Connections:
    """The connections of one open store; `path` need not exist before the store is migrated."""

    def __init__(self, path: Path, *, read_only: bool, wait: float) -> None:
        """Nothing is opened yet; `wait` is in seconds."""
        self.path = path
        self.read_only = read_only
        self._wait = wait
        self._place = str(path)
        self._idle: list[Database] = []
        self._borrowed = 0
        self._file: tuple[int, int] | None = None
        self._closed = False
        self._forked = path in _FORKED_PATHS
        self._lock = threading.Lock()
        self._writer = threading.Lock()
        _OPEN.add(self)

    def close(self) -> None:
        """Close what is idle now, and what is borrowed when it comes back."""
        with self._lock:
            self._closed = True
        self.rest()

    def rest(self) -> None:
        """Close the idle connections; the next call opens another."""
        with self._lock:
            idle, self._idle = self._idle, []
        for db in idle:
            db.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """A connection of a migrated store, for statements that each read one state of it."""
        with self.borrowed() as db:
            require_current(db, self.path)
            yield db.conn

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A connection within a transaction begun as a writer: all of it is committed at the end, or nothing."""
        with self.transaction() as db:
            require_current(db, self.path)
            yield db.conn

    @contextmanager
    def transaction(self, *, create: bool = False) -> Iterator[Database]:
        """What `writing` is, migrated or not."""
        if self.read_only:
            raise unavailable(self.path, "it was opened for reading only; open it for writing")
        if not self._writer.acquire(timeout=self._wait):
            raise unavailable(self.path, "other threads have been writing to it for too long; try again")
        try:
            with self.borrowed(create=create) as db:
                db.conn.execute("BEGIN IMMEDIATE")
                yield db
                db.conn.execute("COMMIT")
        finally:
            self._writer.release()

    @contextmanager
    def borrowed(self, *, create: bool = False) -> Iterator[Database]:
        """A connection for this thread alone; whatever SQLite cannot do becomes a `StoreError`, and is undone."""
        try:
            db = self._take(create=create)
        except (sqlite3.Error, UnicodeError) as error:
            raise store_error(error, self.path) from error
        sound = False
        try:
            yield db
            sound = True
        except (sqlite3.Error, OverflowError, UnicodeError) as error:
            sound = is_constraint(error)
            raise store_error(error, self.path) from error
        except SealError as error:
            raise damaged(self.path, str(error)) from error
        except StoreError:
            sound = True
            raise
        finally:
            self._give(db, sound=sound)

    def _take(self, *, create: bool) -> Database:
        with self._lock:
            if self._closed:
                raise unavailable(self.path, "it was closed; open it again")
            if self._forked:
                raise unavailable(self.path, _FORKED)
            db = self._idle.pop() if self._idle else None
            self._borrowed += 1
        try:
            self._require_same_file()
            return db or self._open(create=create)
        except BaseException:
            with self._lock:
                self._borrowed -= 1
                if db is not None:
                    self._idle.append(db)
            raise

    def _give(self, db: Database, *, sound: bool) -> None:
        """Undo what was not committed, and keep the connection unless something went wrong with it."""
        try:
            if db.conn.in_transaction:
                db.conn.execute("ROLLBACK")
        except sqlite3.Error:
            sound = False
        with self._lock:
            self._borrowed -= 1
            keep = sound and not self._closed and len(self._idle) < _MOST_IDLE
            if keep:
                self._idle.append(db)
        if not keep:
            db.close()

    def _open(self, *, create: bool) -> Database:
        if not create and not stands(self.path):
            raise StoreNotMigratedError(f"there is no store at {self.path} yet; {MIGRATE}")
        mode = "ro" if self.read_only else "rwc" if create else "rw"
        db = connect(self.path, mode, self._wait)
        try:
            prepare(db, self.path, read_only=self.read_only, create=create)
            if self._file is None:
                self._file = file_at(self._place)
        except BaseException:
            db.close()
            raise
        return db

    def _require_same_file(self) -> None:
        """Raise where the path leads to another file than the connections do: what is written would be lost."""
        if self._file is not None and file_at(self._place) != self._file:
            raise unavailable(self.path, "its file was moved or replaced while in use; open the store again")

    def forked(self) -> None:
        """In the child of a fork: start afresh, or refuse for good where a connection came along."""
        self._lock, self._writer = threading.Lock(), threading.Lock()
        if self._borrowed or self._idle:
            # Closing an inherited connection would undo the parent's locks, so it is kept and never used.
            _INHERITED.extend(self._idle)
            self._idle = []
            self._forked = True
            _FORKED_PATHS.add(self.path)


_OPEN: WeakSet[Connections] = WeakSet()
_FORKED_PATHS: set[Path] = set()
_INHERITED: list[Database] = []


def _before_fork() -> None:
    for connections in list(_OPEN):
        connections.rest()


def _in_child() -> None:
    for connections in list(_OPEN):
        connections.forked()


os.register_at_fork(before=_before_fork, after_in_child=_in_child)

"""The store in one SQLite file: the embedded adapter of the store's port.

WAL with `synchronous=FULL`: what a call has answered survives a crash of the program and of the machine. Any number
of threads may use one store, and any number of processes may open the same file, on a local disk.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path

from turnrule.judging.words import Axle, Kind
from turnrule.store import sqlite_axles, sqlite_check, sqlite_events, sqlite_migrations, sqlite_records, sqlite_verdicts
from turnrule.store.port import (
    AxleRecord,
    Event,
    Idempotency,
    IdempotencyConflictError,
    Kept,
    Key,
    LatheRevision,
    Miss,
    PolicyRevision,
    SiteRevision,
    StoreNotMigratedError,
    VerdictQuery,
    VerdictRecord,
)
from turnrule.store.reference_port import Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_migrations import NAMES
from turnrule.store.sqlite_opening import stands
from turnrule.store.sqlite_reference import SqliteReference

WAIT_SECONDS = 10.0
"""How long a writer waits for the others before it gives up."""


def open_sqlite(path: Path, *, read_only: bool = False, wait: float = WAIT_SECONDS) -> SqliteStore:
    """The store at this path, which need not exist before it is migrated. Raises `StoreUnavailableError`.

    `read_only` refuses every write; `wait` is how many seconds a call waits for other writers.
    """
    return SqliteStore(path, read_only=read_only, wait=wait)


class SqliteStore(SqliteReference):
    """What `turnrule.store.port.Store` promises, kept in one file; safe for threads."""

    def __init__(self, path: Path, *, read_only: bool, wait: float) -> None:
        """Open the file, where there is one, so that what is wrong with it shows at once."""
        self._connections = Connections(path.absolute(), read_only=read_only, wait=wait)
        if stands(self.path):
            with self._connections.borrowed():
                pass

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self._connections.path

    def close(self) -> None:
        """Let go of the file."""
        self._connections.close()

    def ping(self) -> None:
        """Raise `StoreError` unless the store can be read and written now: it writes, since only that shows it."""
        with self._connections.writing() as conn:
            conn.execute("UPDATE pulse SET beats = beats + 1")

    def pending(self) -> Sequence[str]:
        """The names of the migrations that have not run yet, in order."""
        if not stands(self.path):
            return NAMES
        with self._connections.borrowed() as db:
            return sqlite_migrations.pending(db)

    def migrate(self) -> Sequence[str]:
        """Run what is pending, each in one transaction with the row that records it; returns the names."""
        done: list[str] = []
        self._connections.rest()  # a connection that was opened before there was a schema is not in WAL
        while True:
            with self._connections.transaction(create=True) as db:
                if sqlite_migrations.version(db) > len(NAMES):
                    raise StoreNotMigratedError(
                        f"the store {self.path} is newer than this program; install a newer one"
                    )
                name = sqlite_migrations.run_next(db)
            if name is None:
                break
            done.append(name)
        return done

    def check(self) -> Sequence[str]:
        """Every fault found in the store, as sentences; empty when it is sound."""
        if not stands(self.path):
            return [f"there is no store at {self.path} yet: run `turnrule store migrate`"]
        with self._connections.borrowed() as db:
            return sqlite_check.check(db, self.path)

    def add_key(self, key: Key) -> None:
        """Keep a new key. Raises `NameTakenError`."""
        sqlite_records.add_key(self._connections, key)

    def key_by_digest(self, digest: str) -> Key | None:
        """The key with this secret's digest, revoked or not."""
        return sqlite_records.key_by_digest(self._connections, digest)

    def keys(self) -> Sequence[Key]:
        """All keys, oldest first."""
        return sqlite_records.keys(self._connections)

    def revoke_key(self, name: str, at: datetime.datetime) -> bool:
        """Revoke a key; false when there is none of this name that still works."""
        return sqlite_records.revoke_key(self._connections, name, at)

    def save_policy(self, policy: PolicyRevision) -> None:
        """Keep the next revision of a policy. Raises `NameTakenError` when that revision exists."""
        sqlite_records.save_policy(self._connections, policy)

    def policy(self, name: str, revision: int | None = None) -> PolicyRevision | None:
        """A policy's revision, or its newest."""
        return sqlite_records.policy(self._connections, name, revision)

    def policies(self) -> Sequence[PolicyRevision]:
        """The newest revision of each policy, by name."""
        return sqlite_records.policies(self._connections)

    def save_lathe(self, lathe: LatheRevision) -> None:
        """Keep the next revision of a lathe. Raises `NameTakenError` when that revision exists."""
        sqlite_records.save_lathe(self._connections, lathe)

    def lathe(self, name: str, revision: int | None = None) -> LatheRevision | None:
        """A lathe's revision, or its newest."""
        return sqlite_records.lathe(self._connections, name, revision)

    def lathes(self) -> Sequence[LatheRevision]:
        """The newest revision of each lathe, by name."""
        return sqlite_records.lathes(self._connections)

    def save_site(self, site: SiteRevision) -> None:
        """Keep the next revision of a site. Raises `NameTakenError` when that revision exists."""
        sqlite_records.save_site(self._connections, site)

    def site(self, name: str, revision: int | None = None) -> SiteRevision | None:
        """A site's revision, or its newest."""
        return sqlite_records.site(self._connections, name, revision)

    def sites(self) -> Sequence[SiteRevision]:
        """The newest revision of each site, by name."""
        return sqlite_records.sites(self._connections)

    def events(self, *, after: int = 0, limit: int = 100) -> Sequence[Event]:
        """What happened, in the order of commit, after one of the events."""
        return sqlite_events.events(self._connections, after, limit)

    def record_axle(
        self, axle: AxleRecord, sides: Sequence[VerdictRecord], once: Once[AxleRecord] | None = None
    ) -> AxleRecord:
        """Keep the verdict on an axle and those on its sides, which name it, all in one transaction."""
        return sqlite_axles.record_axle(self._connections, axle, sides, once)

    def axle(self, id: str) -> AxleRecord | None:  # noqa: A002  # the word of the contract
        """One axle verdict."""
        return sqlite_axles.axle(self._connections, id)

    def axles(
        self, *, site: str | None = None, vehicle: str | None = None, after: int = 0, limit: int = 100
    ) -> Sequence[AxleRecord]:
        """Axle verdicts in the order of their sequence, after one of them; None is any site or vehicle."""
        return sqlite_axles.axles(self._connections, site, vehicle, after, limit)

    def record_verdict(self, record: VerdictRecord, idempotency: Idempotency | None = None) -> VerdictRecord:
        """Keep a verdict and, in the same transaction, its idempotency key."""
        return sqlite_verdicts.record_verdict(self._connections, record, idempotency)

    def record_verdicts(
        self, records: Iterable[tuple[VerdictRecord, Idempotency | None]], *, together: bool = False
    ) -> Sequence[Kept | IdempotencyConflictError]:
        """Keep several verdicts in one transaction, in their order."""
        return sqlite_verdicts.record_verdicts(self._connections, records, together=together)

    def idempotent(self, idempotency: Idempotency) -> VerdictRecord | None:
        """The record that this idempotency key led to, if any. Raises `IdempotencyConflictError`."""
        return sqlite_verdicts.idempotent(self._connections, idempotency)

    def verdict(self, id: str) -> VerdictRecord | None:  # noqa: A002  # the word of the contract
        """One verdict."""
        return sqlite_verdicts.verdict(self._connections, id)

    def verdicts(self, query: VerdictQuery, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts in the order of their sequence, after one of them."""
        return sqlite_verdicts.verdicts(self._connections, query, after, limit)

    def newest_verdicts(
        self, query: VerdictQuery, *, before: int | None = None, limit: int = 100
    ) -> Sequence[VerdictRecord]:
        """Verdicts from the newest to the oldest, before one of them."""
        return sqlite_verdicts.newest_verdicts(self._connections, query, before, limit)

    def count_verdicts(self, query: VerdictQuery) -> int:
        """How many verdicts a query finds."""
        return sqlite_verdicts.count_verdicts(self._connections, query)

    def touched_verdicts(self, since: int, until: int, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts about a make and model of which a record changed between two releases."""
        return sqlite_verdicts.touched_verdicts(self._connections, since, until, after, limit)

    def count_miss(  # noqa: PLR0917  # an application has this many parts
        self,
        make: str,
        model: str,
        year: int,
        axle: Axle,
        kind: Kind,
        brake_option: str | None,
        at: datetime.datetime,
    ) -> None:
        """Count an application that was asked for and not found."""
        sqlite_records.count_miss(self._connections, Miss(make, model, year, axle, kind, brake_option, 1, at, at))

    def misses(self, *, after: int = 0, limit: int = 100) -> Sequence[Miss]:
        """What was asked for and not found, most wanted first; `after` is how many to pass over."""
        return sqlite_records.misses(self._connections, after, limit)

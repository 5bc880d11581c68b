"""What a store holds and does, whatever stands behind it.

Every adapter passes the same contract suite. A method that writes has committed when it returns; a method that
fails has written nothing. Times are UTC; lengths are exact decimals in millimetres.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from typing import Protocol

from turnrule.judging.words import Axle, Kind
from turnrule.store.errors import (
    IdempotencyConflictError,
    NameTakenError,
    StoreError,
    StoreNotMigratedError,
    StoreUnavailableError,
)
from turnrule.store.limit_records import FitsTo, LimitQuery, LimitRevision, Release, Source
from turnrule.store.records import (
    AxleRecord,
    Event,
    EventKind,
    Kept,
    Key,
    LatheRevision,
    Miss,
    PolicyRevision,
    SiteRevision,
    VerdictQuery,
    VerdictRecord,
)
from turnrule.store.reference_port import Idempotency, Once, ReferenceStore

__all__ = [
    "AxleRecord",
    "Event",
    "EventKind",
    "FitsTo",
    "Idempotency",
    "IdempotencyConflictError",
    "Kept",
    "Key",
    "LatheRevision",
    "LimitQuery",
    "LimitRevision",
    "Miss",
    "NameTakenError",
    "PolicyRevision",
    "ReferenceStore",
    "Release",
    "SiteRevision",
    "Source",
    "Store",
    "StoreError",
    "StoreNotMigratedError",
    "StoreUnavailableError",
    "VerdictQuery",
    "VerdictRecord",
]


class Store(ReferenceStore, Protocol):
    """A place that keeps limits, policies, verdicts and keys."""

    def close(self) -> None:
        """Let go of the store."""

    def ping(self) -> None:
        """Raise `StoreError` unless the store can be read and written now."""

    def pending(self) -> Sequence[str]:
        """The names of the migrations that have not run yet, in order."""

    def migrate(self) -> Sequence[str]:
        """Run what is pending, each in one transaction with the row that records it; returns the names."""

    def check(self) -> Sequence[str]:
        """Every fault found in the store, as sentences; empty when it is sound."""

    def add_key(self, key: Key) -> None:
        """Keep a new key. Raises `NameTakenError`."""

    def key_by_digest(self, digest: str) -> Key | None:
        """The key with this secret's digest, revoked or not."""

    def keys(self) -> Sequence[Key]:
        """All keys, oldest first."""

    def revoke_key(self, name: str, at: datetime.datetime) -> bool:
        """Revoke a key; false when there is none of this name that still works."""

    def save_policy(self, policy: PolicyRevision) -> None:
        """Keep the next revision of a policy. Raises `NameTakenError` when that revision exists."""

    def policy(self, name: str, revision: int | None = None) -> PolicyRevision | None:
        """A policy's revision, or its newest."""

    def policies(self) -> Sequence[PolicyRevision]:
        """The newest revision of each policy, by name."""

    def save_lathe(self, lathe: LatheRevision) -> None:
        """Keep the next revision of a lathe. Raises `NameTakenError` when that revision exists."""

    def lathe(self, name: str, revision: int | None = None) -> LatheRevision | None:
        """A lathe's revision, or its newest."""

    def lathes(self) -> Sequence[LatheRevision]:
        """The newest revision of each lathe, by name."""

    def save_site(self, site: SiteRevision) -> None:
        """Keep the next revision of a site. Raises `NameTakenError` when that revision exists."""

    def site(self, name: str, revision: int | None = None) -> SiteRevision | None:
        """A site's revision, or its newest."""

    def sites(self) -> Sequence[SiteRevision]:
        """The newest revision of each site, by name."""

    def events(self, *, after: int = 0, limit: int = 100) -> Sequence[Event]:
        """What happened, in the order of commit, after one of the events.

        Whoever goes on from the last sequence that was seen misses nothing: none is ever stored below another.
        """

    def record_axle(
        self, axle: AxleRecord, sides: Sequence[VerdictRecord], once: Once[AxleRecord] | None = None
    ) -> AxleRecord:
        """Keep the verdict on an axle and those on its sides, which name it, all in one transaction.

        Returns the axle as stored. Raises `NameTakenError` where one of the ids is stored already, and
        `AnsweredBeforeError` or `IdempotencyConflictError` as `Once` says; nothing is written then.
        """

    def axle(self, id: str) -> AxleRecord | None:  # noqa: A002  # the word of the contract
        """One axle verdict."""

    def axles(
        self, *, site: str | None = None, vehicle: str | None = None, after: int = 0, limit: int = 100
    ) -> Sequence[AxleRecord]:
        """Axle verdicts in the order of their sequence, after one of them; None is any site or vehicle."""

    def record_verdict(self, record: VerdictRecord, idempotency: Idempotency | None = None) -> VerdictRecord:
        """Keep a verdict and, in the same transaction, its idempotency key.

        Returns the record as stored; when the idempotency key is known with the same body, the record of the
        first time and nothing is written. Raises `IdempotencyConflictError` when the body is another one.
        """

    def record_verdicts(
        self, records: Iterable[tuple[VerdictRecord, Idempotency | None]], *, together: bool = False
    ) -> Sequence[Kept | IdempotencyConflictError]:
        """Keep several verdicts in one transaction, in their order; they are taken one by one, and not held.

        Returns for each which verdict is stored: that of the first time where its idempotency key is known with the
        same body, and the error itself where it is known with another. That does not hold up the others, unless they
        are to be kept `together`: then the error is raised, and none is kept.
        """

    def idempotent(self, idempotency: Idempotency) -> VerdictRecord | None:
        """The record that this idempotency key led to, if any. Raises `IdempotencyConflictError`."""

    def verdict(self, id: str) -> VerdictRecord | None:  # noqa: A002  # the word of the contract
        """One verdict."""

    def verdicts(self, query: VerdictQuery, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts in the order of their sequence, after one of them."""

    def newest_verdicts(
        self, query: VerdictQuery, *, before: int | None = None, limit: int = 100
    ) -> Sequence[VerdictRecord]:
        """Verdicts from the newest to the oldest by their sequence, before one of them or from the last."""

    def count_verdicts(self, query: VerdictQuery) -> int:
        """How many verdicts a query finds."""

    def touched_verdicts(self, since: int, until: int, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts about a make and model of which a record changed after release `since` up to release `until`.

        In the order of their sequence; those that were judged under `until` itself or a later release are left out.
        """

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

    def misses(self, *, after: int = 0, limit: int = 100) -> Sequence[Miss]:
        """What was asked for and not found, most wanted first; `after` is how many to pass over."""

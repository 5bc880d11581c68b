"""What a store holds and does, whatever stands behind it.

Every adapter passes the same contract suite. A method that writes has committed when it returns; a method that
fails has written nothing. Times are UTC; lengths are exact decimals in millimetres.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Protocol

from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.errors import (
    IdempotencyConflictError,
    NameTakenError,
    StoreError,
    StoreNotMigratedError,
    StoreUnavailableError,
)
from turnrule.store.limit_records import FitsTo, LimitQuery, LimitRevision, Release, Source
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


@dataclass(frozen=True, slots=True)
class Key:
    """An API key; the secret itself is never stored, only its SHA-256."""

    name: str
    digest: str
    scopes: frozenset[str]
    site: str | None
    created_at: datetime.datetime
    revoked_at: datetime.datetime | None = None


@dataclass(frozen=True, slots=True)
class PolicyRevision:
    """One revision of a policy as it was written (a JSON document of the contract), never changed."""

    name: str
    revision: int
    document: bytes
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class LatheRevision:
    """One revision of a shop's figures for one lathe, as they were written (a JSON document), never changed."""

    name: str
    revision: int
    document: bytes
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class SiteRevision:
    """Which policy a site has from a moment on; never changed."""

    site: str
    revision: int
    policy: str
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class VerdictRecord:
    """A verdict as it was answered, with everything that it was judged from.

    `request` and `answer` are the exact bytes; the other fields repeat what look-ups and reports need.
    `withdrawn` is the number of the last withdrawal that counted, `lathe_name` and `lathe_revision` say for which lathe
    its passes were planned, `drawn` holds the earlier readings that were taken from stored verdicts (a JSON array), and
    `axle_id` is the axle verdict that this is a side of. `sequence` is given by the store, rising in the order of
    commit; 0 until then.
    """

    id: str
    judged_at: datetime.datetime
    key_name: str
    site: str | None
    ruling: Ruling
    kind: Kind
    make: str | None
    model: str | None
    year: int | None
    axle: Axle | None
    side: str | None
    vehicle: str | None
    odometer_km: Decimal | None
    reference: str | None
    release: int | None
    policy_name: str
    policy_revision: int
    limits_id: str | None
    limits_revision: int | None
    engine: str
    digest: str
    request: bytes
    answer: bytes
    withdrawn: int = 0
    lathe_name: str | None = None
    lathe_revision: int | None = None
    drawn: bytes | None = None
    axle_id: str | None = None
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Kept:
    """Which verdict was stored, and as which one in the order of commit."""

    id: str
    sequence: int


@dataclass(frozen=True, slots=True)
class AxleRecord:
    """A verdict on an axle as it was answered; its sides are verdicts of their own, one of them at least.

    `request` and `answer` are the exact bytes; `sequence` is given by the store, 0 until then.
    """

    id: str
    judged_at: datetime.datetime
    key_name: str
    site: str | None
    ruling: Ruling
    kind: Kind
    vehicle: str | None
    reference: str | None
    left_id: str | None
    right_id: str | None
    digest: str
    request: bytes
    answer: bytes
    sequence: int = 0


class EventKind(StrEnum):
    """What can happen in a store that others want to hear of."""

    VERDICT = "verdict"
    AXLE_VERDICT = "axle_verdict"
    RELEASE = "release"
    WITHDRAWAL = "withdrawal"
    POLICY = "policy"
    LATHE = "lathe"
    SITE = "site"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that was stored, in the order of commit.

    `subject` is the id of the verdict or record, the number of the release, or the name of what has revisions;
    `revision` is that of a policy, lathe, site or withdrawn record, and None for the rest. `ruling` and `site` are told
    of verdicts, `digest` of verdicts and releases.
    """

    sequence: int
    kind: EventKind
    subject: str
    at: datetime.datetime
    by: str
    revision: int | None = None
    site: str | None = None
    ruling: Ruling | None = None
    digest: str | None = None


@dataclass(frozen=True, slots=True)
class VerdictQuery:
    """Which verdicts are listed; None is any. Makes and models match without regard to case and spacing.

    `since` is included and `until` is not.
    """

    site: str | None = None
    ruling: Ruling | None = None
    kind: Kind | None = None
    make: str | None = None
    model: str | None = None
    vehicle: str | None = None
    reference: str | None = None
    since: datetime.datetime | None = None
    until: datetime.datetime | None = None
    limits_id: str | None = None
    limits_revision: int | None = None
    axle: Axle | None = None
    side: str | None = None
    axle_id: str | None = None


@dataclass(frozen=True, slots=True)
class Miss:
    """An application that was asked for and not found, and how often."""

    make: str
    model: str
    year: int
    axle: Axle
    kind: Kind
    brake_option: str | None
    count: int
    first_at: datetime.datetime
    last_at: datetime.datetime


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

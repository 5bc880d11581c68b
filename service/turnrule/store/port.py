"""What a store holds and does, whatever stands behind it.

Every adapter passes the same contract suite. A method that writes has committed when it returns; a method that
fails has written nothing. Times are UTC; lengths are exact decimals in millimetres.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind, Ruling, Unit


class StoreError(Exception):
    """The store could not do what was asked; nothing was written."""

    code = "store_error"


class StoreUnavailableError(StoreError):
    """The store cannot be reached, is full, is locked for too long, or refuses to write."""

    code = "store_unavailable"


class StoreNotMigratedError(StoreError):
    """The store has no schema, an older one, or one from a newer version."""

    code = "store_not_migrated"


class NameTakenError(StoreError):
    """A name that must be unique is in use."""

    code = "name_taken"


class IdempotencyConflictError(StoreError):
    """The idempotency key was used before, with another body."""

    code = "idempotency_conflict"


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
class Source:
    """The document that a limit was read from."""

    document: str
    publisher: str
    section: str
    edition: str
    issued: datetime.date | None = None

    @property
    def citation(self) -> str:
        """The source in one line, as a trace shows it."""
        return f"{self.publisher}, {self.document}, {self.section} ({self.edition})"


@dataclass(frozen=True, slots=True)
class FitsTo:
    """The vehicles that a record is for; both years are included, an open end is None."""

    make: str
    model: str
    year_from: int
    year_to: int | None
    axle: Axle
    brake_option: str | None = None


@dataclass(frozen=True, slots=True)
class LimitRevision:
    """One revision of one limits record, never changed once stored.

    A store keeps it only where `entered_by` and `verified_by` are two people and every length is a whole number of
    0.1 nm. `printed` keeps each value as the document prints it, by contract field name, in `printed_unit`.
    """

    limits_id: str
    revision: int
    fits: FitsTo
    limits: LimitSet
    printed_unit: Unit
    printed: dict[str, str]
    source: Source
    effective_from: datetime.date
    effective_to: datetime.date | None = None
    review_due: datetime.date | None = None
    entered_by: str = ""
    verified_by: str = ""
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """A numbered, immutable set of verified revisions; `digest` is the SHA-256 of its content.

    `records` counts the records that it holds, each by its newest revision, and not what was new in it.
    """

    number: int
    published_at: datetime.datetime
    published_by: str
    notes: str
    digest: str
    records: int


@dataclass(frozen=True, slots=True)
class LimitQuery:
    """Which limits are looked for; None is any. Makes and models match without regard to case and spacing.

    `on` lies within `effective_from` <= `on` < `effective_to`; a `release` that was never published holds nothing.
    """

    make: str | None = None
    model: str | None = None
    year: int | None = None
    axle: Axle | None = None
    kind: Kind | None = None
    brake_option: str | None = None
    release: int | None = None
    on: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class PolicyRevision:
    """One revision of a policy as it was written (a JSON document of the contract), never changed."""

    name: str
    revision: int
    document: bytes
    written_at: datetime.datetime
    written_by: str


@dataclass(frozen=True, slots=True)
class VerdictRecord:
    """A verdict as it was answered, with everything that it was judged from.

    `request` and `answer` are the exact bytes; the other fields repeat what look-ups and reports need.
    `sequence` is given by the store, rising in the order of commit; 0 until then.
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
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Idempotency:
    """A caller's idempotency key, within the API key that sent it, and the digest of the body sent with it."""

    key_name: str
    value: str
    body_digest: str


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


class Store(Protocol):
    """A place that keeps releases, policies, verdicts and keys."""

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

    def publish(
        self,
        revisions: Iterable[LimitRevision],
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        digest: str,
    ) -> Release:
        """Store the revisions and publish the next release that holds them on top of what the last one held."""

    def release(self, number: int | None = None) -> Release | None:
        """A release by number, or the newest."""

    def releases(self, *, after: int = 0, limit: int = 100) -> Sequence[Release]:
        """Releases in rising order."""

    def limits(self, query: LimitQuery, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """The revisions that governed in a release (the newest when None) on a day, by `limits_id`, rising."""

    def limit_revision(self, limits_id: str, revision: int | None = None) -> LimitRevision | None:
        """One revision of a record, or its newest."""

    def applications(self, kind: Kind | None = None) -> Sequence[tuple[str, str]]:
        """The distinct makes and models of the newest release, as written."""

    def save_policy(self, policy: PolicyRevision) -> None:
        """Keep the next revision of a policy. Raises `NameTakenError` when that revision exists."""

    def policy(self, name: str, revision: int | None = None) -> PolicyRevision | None:
        """A policy's revision, or its newest."""

    def policies(self) -> Sequence[PolicyRevision]:
        """The newest revision of each policy, by name."""

    def record_verdict(self, record: VerdictRecord, idempotency: Idempotency | None = None) -> VerdictRecord:
        """Keep a verdict and, in the same transaction, its idempotency key.

        Returns the record as stored; when the idempotency key is known with the same body, the record of the
        first time and nothing is written. Raises `IdempotencyConflictError` when the body is another one.
        """

    def idempotent(self, idempotency: Idempotency) -> VerdictRecord | None:
        """The record that this idempotency key led to, if any. Raises `IdempotencyConflictError`."""

    def verdict(self, id: str) -> VerdictRecord | None:  # noqa: A002  # the word of the contract
        """One verdict."""

    def verdicts(self, query: VerdictQuery, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts in the order of their sequence, after one of them."""

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

"""The part of the embedded store that keeps limits: what `ReferenceStore` promises, method by method."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind
from turnrule.store import (
    sqlite_entering,
    sqlite_history,
    sqlite_limits,
    sqlite_once,
    sqlite_releases,
    sqlite_settling,
)
from turnrule.store.limit_records import (
    Change,
    FitsTo,
    HeldRevision,
    HistoryRow,
    KeptAnswer,
    LimitQuery,
    LimitRevision,
    OpenDraft,
    Rejection,
    Release,
    Settlement,
    StoreRules,
    Withdrawal,
)
from turnrule.store.reference_port import Idempotency, Once
from turnrule.store.sqlite_connections import Connections


class SqliteReference:
    """Limits in one file; safe for threads."""

    _connections: Connections

    def rules(self) -> StoreRules:
        """The rules that hold in this store."""
        return sqlite_once.rules(self._connections)

    def set_rules(self, rules: StoreRules, *, at: datetime.datetime, by: str) -> None:
        """Set the rules of the store."""
        sqlite_once.set_rules(self._connections, rules, at, by)

    def answered(self, idempotency: Idempotency) -> KeptAnswer | None:
        """The answer that was kept under an idempotency key, if any. Raises `IdempotencyConflictError`."""
        return sqlite_once.answered(self._connections, idempotency)

    def enter(
        self, draft: LimitRevision, *, corrects: int | None = None, once: Once[LimitRevision] | None = None
    ) -> LimitRevision:
        """Keep a draft; its revision is given by the store."""
        return sqlite_entering.enter(self._connections, draft, corrects, once)

    def enter_many(self, drafts: Iterable[tuple[LimitRevision, int | None]], *, at: datetime.datetime, by: str) -> int:
        """Keep many drafts, all of them or none; how many they were."""
        return sqlite_entering.enter_many(self._connections, drafts, at, by)

    def overlapping(
        self, fits: FitsTo, kind: Kind, *, start: datetime.date, end: datetime.date | None, but: str | None = None
    ) -> Sequence[LimitRevision]:
        """Live revisions of other records for some of the same vehicles and days."""
        return sqlite_entering.overlapping(self._connections, fits, kind, start, end, but)

    def similar(self, kind: Kind, *, at_least: int, at_most: int, limit: int) -> Sequence[LimitSet]:
        """Limits of accepted records of a kind whose nominal size lies between two sizes in units of 0.1 nm."""
        return sqlite_limits.similar(self._connections, kind, at_least, at_most, limit)

    def open_draft(self, limits_id: str) -> OpenDraft | None:
        """The draft of a record whose second entry is outstanding, if there is one."""
        return sqlite_settling.open_draft(self._connections, limits_id)

    def drafts(self, *, after: str = "", limit: int = 100) -> Sequence[OpenDraft]:
        """The drafts whose second entry is outstanding, by `limits_id`, rising."""
        return sqlite_settling.drafts(self._connections, after, limit)

    def drafts_of(self, make: str, model: str) -> Sequence[OpenDraft]:
        """The open drafts for a make and model, by `limits_id`."""
        return sqlite_settling.drafts_of(self._connections, make, model)

    def settle(
        self,
        limits_id: str,
        decide: Callable[[OpenDraft], Settlement],
        *,
        once: Once[sqlite_settling.Settled] | None = None,
    ) -> sqlite_settling.Settled:
        """Keep what `decide` makes of the open draft; also the revision that is verified by it, if any."""
        return sqlite_settling.settle(self._connections, limits_id, decide, once)

    def reject(self, limits_id: str, rejection: Rejection, *, once: Once[OpenDraft] | None = None) -> OpenDraft:
        """Give up the open draft of a record. Raises `NotOpenError`."""
        return sqlite_settling.reject(self._connections, limits_id, rejection, once)

    def withdraw(self, withdrawal: Withdrawal, *, once: Once[Withdrawal] | None = None) -> Withdrawal:
        """Withdraw a record up to a revision, at once and for every reader."""
        return sqlite_settling.withdraw(self._connections, withdrawal, once)

    def waiting(self) -> int:
        """How many revisions are verified and in no release yet."""
        return sqlite_releases.waiting(self._connections)

    def publish_verified(
        self,
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        follows: int | None = None,
        once: Once[Release] | None = None,
    ) -> Release:
        """Publish all that is verified as the next release."""
        return sqlite_releases.publish_verified(self._connections, notes, published_at, published_by, follows, once)

    def publish(
        self,
        revisions: Iterable[LimitRevision],
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        withdrawals: Iterable[Withdrawal] = (),
        digest: str | None = None,
    ) -> Release:
        """Bring in revisions that carry both their entries, and publish the next release that holds them."""
        return sqlite_releases.publish(
            self._connections, revisions, withdrawals, published_at, published_by, notes, digest
        )

    def release(self, number: int | None = None) -> Release | None:
        """A release by number, or the newest."""
        return sqlite_releases.release(self._connections, number)

    def releases(self, *, after: int = 0, limit: int = 100) -> Sequence[Release]:
        """Releases in rising order."""
        return sqlite_releases.releases(self._connections, after, limit)

    def limits(self, query: LimitQuery, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """The revisions that govern in a release (the newest when None) on a day, by `limits_id`, rising."""
        return sqlite_limits.limits(self._connections, query, after, limit)

    def held(self, query: LimitQuery, *, limit: int = 100) -> Sequence[HeldRevision]:
        """What `limits` gives, and beside it what was withdrawn since, each with its withdrawal."""
        return sqlite_limits.held(self._connections, query, limit)

    def limit_revision(self, limits_id: str, revision: int | None = None) -> LimitRevision | None:
        """One accepted revision of a record, or the newest published one."""
        return sqlite_limits.limit_revision(self._connections, limits_id, revision)

    def history(self, limits_id: str, *, after: int = 0, limit: int = 100) -> Sequence[HistoryRow]:
        """The revisions of a record after one of them, whatever became of each."""
        return sqlite_history.history(self._connections, limits_id, after, limit)

    def last_withdrawal(self) -> int:
        """The number of the last withdrawal; 0 before the first."""
        return sqlite_limits.last_withdrawal(self._connections)

    def withdrawals(self, *, after: int = 0, up_to: int | None = None, limit: int = 100) -> Sequence[Withdrawal]:
        """Withdrawals in the order of their sequence."""
        return sqlite_limits.withdrawals(self._connections, after, up_to, limit)

    def changes(
        self, since: int, until: int, *, after: tuple[int, str] = (0, ""), limit: int = 100
    ) -> Sequence[Change]:
        """What changed after release `since` up to release `until`, by release and place."""
        return sqlite_history.changes(self._connections, since, until, after, limit)

    def due_for_review(self, on: datetime.date, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """What governs now although its review was due before this day, by `limits_id`."""
        return sqlite_limits.due_for_review(self._connections, on, after, limit)

    def waiting_counts(self, on: datetime.date) -> tuple[int, int, int]:
        """How many applications were not found, how many drafts are open, how many records are due for review."""
        return sqlite_limits.waiting_counts(self._connections, on)

    def makes(self, kind: Kind | None = None) -> Sequence[str]:
        """The distinct makes that were ever verified, as written first."""
        return sqlite_limits.makes(self._connections, kind)

    def models(self, make: str, kind: Kind | None = None) -> Sequence[str]:
        """The distinct models of a make that were ever verified, as written first."""
        return sqlite_limits.models(self._connections, make, kind)

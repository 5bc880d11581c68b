"""What a store does with limits: entering, verifying, releasing, withdrawing, and every question about them."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind
from turnrule.store.errors import StoreError
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

Outcome_contra = TypeVar("Outcome_contra", contravariant=True)


@dataclass(frozen=True, slots=True)
class Idempotency:
    """A caller's idempotency key, within the API key that sent it, and the digest of the body sent with it."""

    key_name: str
    value: str
    body_digest: str


@dataclass(frozen=True, slots=True)
class Once(Generic[Outcome_contra]):
    """Asks that something be done once: its answer is kept in the same transaction, under the idempotency key.

    `answer` makes the answer of the outcome; it must not use the store. Where the key was used before, the writing
    method raises `AnsweredBeforeError`, or `IdempotencyConflictError` where the body was another one.
    """

    idempotency: Idempotency
    answer: Callable[[Outcome_contra], KeptAnswer]


class AnsweredBeforeError(StoreError):
    """The idempotency key has been answered already; nothing was written now."""

    code = "answered_before"

    def __init__(self, kept: KeptAnswer) -> None:
        """`kept` is the answer of the first time."""
        self.kept = kept
        super().__init__("this idempotency key was answered before")


class ReferenceStore(Protocol):
    """A place that keeps limits."""

    def rules(self) -> StoreRules:
        """The rules that hold in this store."""

    def set_rules(self, rules: StoreRules, *, at: datetime.datetime, by: str) -> None:
        """Set the rules of the store.

        Raises `RulesError` where `signed_packs_only` would be lifted, or `one_person_pause` is another than before
        although limits were entered already.
        """

    def answered(self, idempotency: Idempotency) -> KeptAnswer | None:
        """The answer that was kept under an idempotency key, if any. Raises `IdempotencyConflictError`."""

    def enter(
        self, draft: LimitRevision, *, corrects: int | None = None, once: Once[LimitRevision] | None = None
    ) -> LimitRevision:
        """Keep a draft; its revision is given by the store: 1, or for a correction the next one.

        `entered_by` and `entered_at` are the draft's own. Raises `NameTakenError` where a new record's id is in use,
        `DraftOpenError`, `StaleRevisionError` where `corrects` is not the record's newest accepted revision,
        `OverlapError`; what an import under way has brought by then is in the way as well, though nobody sees it.
        """

    def enter_many(self, drafts: Iterable[tuple[LimitRevision, int | None]], *, at: datetime.datetime, by: str) -> int:
        """Keep many drafts, each with the revision that it corrects if any, all of them or none; how many they were.

        Memory does not grow with their number, other writers are not held up, and nobody sees any of them before all
        are there. Raises as `enter` does, and hands on whatever the iterable raises; then none was kept.
        """

    def overlapping(
        self, fits: FitsTo, kind: Kind, *, start: datetime.date, end: datetime.date | None, but: str | None = None
    ) -> Sequence[LimitRevision]:
        """Live revisions of other records (drafts and accepted ones) for some of the same vehicles and days."""

    def similar(self, kind: Kind, *, at_least: int, at_most: int, limit: int) -> Sequence[LimitSet]:
        """Limits of accepted records of a kind whose nominal size lies between two sizes in units of 0.1 nm.

        Each record by its newest accepted revision, unless that is withdrawn; the smallest first.
        """

    def open_draft(self, limits_id: str) -> OpenDraft | None:
        """The draft of a record whose second entry is outstanding, if there is one."""

    def drafts(self, *, after: str = "", limit: int = 100) -> Sequence[OpenDraft]:
        """The drafts whose second entry is outstanding, by `limits_id`, rising."""

    def drafts_of(self, make: str, model: str) -> Sequence[OpenDraft]:
        """The open drafts for a make and model, by `limits_id`."""

    def settle(
        self,
        limits_id: str,
        decide: Callable[[OpenDraft], Settlement],
        *,
        once: Once[tuple[OpenDraft, Settlement, LimitRevision | None]] | None = None,
    ) -> tuple[OpenDraft, Settlement, LimitRevision | None]:
        """Keep what `decide` makes of the open draft; also the revision that is verified by it, if any.

        All in one transaction. Raises `NotOpenError`; `IndependenceError` where the verified revision would have both
        entries from one person (in a store made for one: before the pause is over), or, after two mismatches, the
        second from anyone who made an entry before. `decide` must not use the store; what it raises is handed on.
        """

    def reject(self, limits_id: str, rejection: Rejection, *, once: Once[OpenDraft] | None = None) -> OpenDraft:
        """Give up the open draft of a record. Raises `NotOpenError`."""

    def withdraw(self, withdrawal: Withdrawal, *, once: Once[Withdrawal] | None = None) -> Withdrawal:
        """Withdraw a record up to a revision, at once and for every reader; `sequence` is given by the store.

        Raises `NotOpenError` where that revision was never accepted, or is withdrawn already.
        """

    def waiting(self) -> int:
        """How many revisions are verified and in no release yet."""

    def publish_verified(
        self,
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        follows: int | None = None,
        once: Once[Release] | None = None,
    ) -> Release:
        """Publish all that is verified as the next release.

        Raises `NothingToPublishError`, `ReleaseRaceError` where `follows` is not the newest release (0: none yet).
        """

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
        """Bring in revisions that carry both their entries, and publish the next release that holds them.

        Withdrawals of records that the store holds come in with them. Raises `NameTakenError` where a revision is
        stored already, `StoreError` where the release's digest would not be the one that is expected.
        """

    def release(self, number: int | None = None) -> Release | None:
        """A release by number, or the newest."""

    def releases(self, *, after: int = 0, limit: int = 100) -> Sequence[Release]:
        """Releases in rising order."""

    def limits(self, query: LimitQuery, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """The revisions that govern in a release (the newest when None) on a day, by `limits_id`, rising."""

    def held(self, query: LimitQuery, *, limit: int = 100) -> Sequence[HeldRevision]:
        """What `limits` gives, and beside it what would be there had it not been withdrawn, with its withdrawal.

        Withdrawals count up to `withdrawn`, or all up to now, whichever release is asked for.
        """

    def limit_revision(self, limits_id: str, revision: int | None = None) -> LimitRevision | None:
        """One accepted revision of a record (published or waiting for a release), or the newest published one."""

    def history(self, limits_id: str, *, after: int = 0, limit: int = 100) -> Sequence[HistoryRow]:
        """The revisions of a record after one of them, whatever became of each."""

    def last_withdrawal(self) -> int:
        """The number of the last withdrawal; 0 before the first."""

    def withdrawals(self, *, after: int = 0, up_to: int | None = None, limit: int = 100) -> Sequence[Withdrawal]:
        """Withdrawals in the order of their sequence."""

    def changes(
        self, since: int, until: int, *, after: tuple[int, str] = (0, ""), limit: int = 100
    ) -> Sequence[Change]:
        """What changed after release `since` up to release `until`, by release and place."""

    def due_for_review(self, on: datetime.date, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """What governs now although its review was due before this day, by `limits_id`."""

    def waiting_counts(self, on: datetime.date) -> tuple[int, int, int]:
        """How many applications were not found, how many drafts are open, how many records are due for review."""

    def makes(self, kind: Kind | None = None) -> Sequence[str]:
        """The distinct makes that were ever verified, as written first, by their folded form."""

    def models(self, make: str, kind: Kind | None = None) -> Sequence[str]:
        """The distinct models of a make that were ever verified, as written first, by their folded form."""

"""What a store keeps of limits: entries, their second entries, releases, withdrawals; and how it is asked for them.

A record (`limits_id`) has revisions. Each begins as a draft that one person entered; a second person who enters the
same numbers from the same document verifies it; a release publishes whatever is verified. Nothing is changed or
deleted afterwards: a correction is a new revision, and a withdrawal is a row of its own.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import StrEnum

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind, Unit


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
class Twin:
    """The same values as the document prints them in its other unit, by contract field name."""

    unit: Unit
    printed: dict[str, str]


@dataclass(frozen=True, slots=True)
class AnsweredWarning:
    """A warning at entry that did not hold the entry up, because somebody wrote down why."""

    code: str
    pointer: str
    detail: str
    reason: str


@dataclass(frozen=True, slots=True)
class LimitRevision:
    """One revision of one limits record, never changed once stored.

    `printed` keeps each value as the document prints it, by contract field name, in `printed_unit`; every length is a
    whole number of 0.1 nm. `reason` says why a correction was made. `verified_by` is "" and `verified_at` None while
    the second entry is outstanding; the two people are never the same one, unless the store was made for one person,
    who then made the second entry after a pause.
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
    also: Twin | None = None
    reason: str | None = None
    warnings: tuple[AnsweredWarning, ...] = ()
    entered_at: datetime.datetime | None = None
    verified_at: datetime.datetime | None = None

    @property
    def by_one_person(self) -> bool:
        """True where both entries were made under one key."""
        return self.verified_by != "" and self.verified_by == self.entered_by


class EntryState(StrEnum):
    """How far a revision has come."""

    DRAFT = "draft"
    DISPUTED = "disputed"
    VERIFIED = "verified"
    PUBLISHED = "published"
    REJECTED = "rejected"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A second entry that was not the same as the draft: which fields differed, and the entry itself.

    `entry` is canonical JSON in the contract's names; it is compared with the next one and never shown.
    """

    entered_by: str
    entered_at: datetime.datetime
    fields: tuple[str, ...]
    entry: bytes


@dataclass(frozen=True, slots=True)
class OpenDraft:
    """A draft whose second entry is outstanding, with the second entries that did not match, oldest first."""

    revision: LimitRevision
    mismatches: tuple[Mismatch, ...] = ()

    @property
    def state(self) -> EntryState:
        """A draft is disputed after two mismatches: a third person then settles it."""
        return EntryState.DISPUTED if len(self.mismatches) >= MISMATCHES_TO_DISPUTE else EntryState.DRAFT


MISMATCHES_TO_DISPUTE = 2
"""After so many second entries that differ, only somebody who made none of the entries may settle the draft."""


@dataclass(frozen=True, slots=True)
class Verified:
    """The second entry equals the draft: it is verified."""

    by: str
    at: datetime.datetime


@dataclass(frozen=True, slots=True)
class Differed:
    """The second entry differs from the draft."""

    mismatch: Mismatch


@dataclass(frozen=True, slots=True)
class Overruled:
    """A third person's entry equals an earlier second entry: that one becomes a revision of its own, verified.

    `entered` is that earlier entry as a revision, entered by whoever made it; its number is given by the store, and
    the draft is rejected with `reason`.
    """

    entered: LimitRevision
    by: str
    at: datetime.datetime
    reason: str


Settlement = Verified | Differed | Overruled


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A record that must not be used: all its revisions up to this one no longer govern.

    `sequence` is given by the store, rising; 0 until then.
    """

    limits_id: str
    revision: int
    withdrawn_by: str
    withdrawn_at: datetime.datetime
    reason: str
    sequence: int = 0


@dataclass(frozen=True, slots=True)
class Rejection:
    """A draft that never governed and never will."""

    rejected_by: str
    rejected_at: datetime.datetime
    reason: str


@dataclass(frozen=True, slots=True)
class Release:
    """A numbered, immutable set of verified revisions; `digest` is the SHA-256 of its content.

    `records` counts the records that it holds, each by its newest revision, and not what was new in it;
    `by_one_person` counts those of them whose two entries were made under one key. It holds what was verified up to
    the acceptance numbered `accepted`, less what was withdrawn up to the withdrawal numbered `withdrawn`.
    """

    number: int
    published_at: datetime.datetime
    published_by: str
    notes: str
    digest: str
    records: int
    by_one_person: int = 0
    accepted: int = 0
    withdrawn: int = 0


@dataclass(frozen=True, slots=True)
class LimitQuery:
    """Which limits are looked for; None is any. Makes, models and options match without regard to case and spacing.

    `on` lies within `effective_from` <= `on` < `effective_to`; a `release` that was never published holds nothing.
    `withdrawn` is the number of the last withdrawal that counts; None is the one that counted when the release was
    published or, where no release is named, every one up to now.
    """

    make: str | None = None
    model: str | None = None
    year: int | None = None
    axle: Axle | None = None
    kind: Kind | None = None
    brake_option: str | None = None
    release: int | None = None
    on: datetime.date | None = None
    withdrawn: int | None = None


@dataclass(frozen=True, slots=True)
class HeldRevision:
    """The newest revision of a record that a release counts, and the first withdrawal that it has met, if any."""

    revision: LimitRevision
    withdrawal: Withdrawal | None = None


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One revision of a record with what became of it; `release` is the first that counted it."""

    revision: LimitRevision
    state: EntryState
    release: int | None = None
    mismatches: int = 0
    withdrawal: Withdrawal | None = None
    rejection: Rejection | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One step between two releases: a revision that came (`new`, over `old` if any), or a withdrawal.

    `release` is the release that showed it first; `place` orders the changes of one release.
    """

    release: int
    place: str
    old: LimitRevision | None
    new: LimitRevision | None
    withdrawal: Withdrawal | None = None


@dataclass(frozen=True, slots=True)
class StoreRules:
    """What a store asks of those who enter limits and bring packs in.

    `one_person_pause`: where the store was made for a shop of one person, how long lies between its two entries.
    `trusted_keys`: Ed25519 public keys, each 32 bytes in hexadecimal.
    """

    one_person_pause: datetime.timedelta | None = None
    signed_packs_only: bool = False
    trusted_keys: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """An answer as it was sent to a request with an idempotency key."""

    status: int
    content: bytes
    location: str | None = None

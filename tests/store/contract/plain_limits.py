"""What a store does with limits, in plain lists and dictionaries: what a store is compared with."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from tests.store.contract.plain_questions import fits_query, live_overlap
from turnrule.judging.words import Kind
from turnrule.store.content import content_digest
from turnrule.store.errors import (
    DraftOpenError,
    IndependenceError,
    NameTakenError,
    NothingToPublishError,
    NotOpenError,
    OverlapError,
    ReleaseRaceError,
    RulesError,
    StaleRevisionError,
    StoreError,
)
from turnrule.store.limit_records import (
    Differed,
    FitsTo,
    HeldRevision,
    LimitQuery,
    LimitRevision,
    Mismatch,
    OpenDraft,
    Overruled,
    Rejection,
    Release,
    Settlement,
    StoreRules,
    Verified,
    Withdrawal,
)

Settled = tuple[OpenDraft, Settlement, LimitRevision | None]


def _required(at: datetime.datetime | None) -> datetime.datetime:
    assert at is not None
    return at


@dataclass
class PlainLimits:
    """Everything that a store holds of limits; what is accepted, withdrawn or released stands in its order."""

    in_force: StoreRules = field(default_factory=StoreRules)
    entered: dict[tuple[str, int], LimitRevision] = field(default_factory=dict)
    open: dict[str, int] = field(default_factory=dict)
    differing: dict[tuple[str, int], list[Mismatch]] = field(default_factory=dict)
    rejected: dict[tuple[str, int], Rejection] = field(default_factory=dict)
    accepted: list[LimitRevision] = field(default_factory=list)
    withdrawn: list[Withdrawal] = field(default_factory=list)
    released: list[Release] = field(default_factory=list)

    def set_rules(self, rules: StoreRules) -> None:
        """Set the rules."""
        loosened = self.in_force.signed_packs_only and not rules.signed_packs_only
        if loosened or (self.entered and rules.one_person_pause != self.in_force.one_person_pause):
            raise RulesError
        self.in_force = rules

    def newest(self, limits_id: str) -> int:
        """The newest accepted revision of a record; 0 where there is none."""
        return max((one.revision for one in self.accepted if one.limits_id == limits_id), default=0)

    def last(self, limits_id: str) -> int:
        """The last revision of a record, whatever became of it."""
        return max((number for one, number in self.entered if one == limits_id), default=0)

    def is_withdrawn(self, row: LimitRevision, last: int) -> Withdrawal | None:
        """The first withdrawal of a revision among those up to one of them."""
        for one in self.withdrawn[:last]:
            if one.limits_id == row.limits_id and one.revision >= row.revision:
                return one
        return None

    def live(self) -> Iterator[LimitRevision]:
        """Open drafts, and the newest accepted revision of each record that is not withdrawn."""
        for limits_id, number in self.open.items():
            yield self.entered[limits_id, number]
        for row in self.accepted:
            if row.revision == self.newest(row.limits_id) and not self.is_withdrawn(row, len(self.withdrawn)):
                yield row

    def overlapping(
        self, fits: FitsTo, kind: Kind, *, start: datetime.date, end: datetime.date | None, but: str | None = None
    ) -> Sequence[LimitRevision]:
        """Live revisions for some of the same vehicles."""
        found = [row for row in self.live() if row.limits_id != but and live_overlap(row, fits, kind, start, end)]
        return sorted(found, key=lambda row: row.limits_id)

    def enter(self, draft: LimitRevision, *, corrects: int | None = None) -> LimitRevision:
        """Keep a draft."""
        if corrects is None and self.last(draft.limits_id):
            raise NameTakenError
        if draft.limits_id in self.open:
            raise DraftOpenError
        if corrects is not None and (not corrects or corrects != self.newest(draft.limits_id)):
            raise StaleRevisionError
        self._require_free(draft)
        kept = replace(draft, revision=self.last(draft.limits_id) + 1, verified_by="", verified_at=None)
        self.entered[kept.limits_id, kept.revision] = kept
        self.open[kept.limits_id] = kept.revision
        return kept

    def _require_free(self, row: LimitRevision) -> None:
        at = {"start": row.effective_from, "end": row.effective_to}
        if others := self.overlapping(row.fits, row.limits.kind, **at, but=row.limits_id):  # type: ignore[arg-type]
            raise OverlapError(others[0].limits_id)

    def enter_many(self, drafts: Iterable[tuple[LimitRevision, int | None]]) -> int:
        """Keep many drafts or none."""
        before = (dict(self.entered), dict(self.open))
        try:
            return len([self.enter(draft, corrects=corrects) for draft, corrects in drafts])
        except StoreError:
            self.entered, self.open = before
            raise

    def open_draft(self, limits_id: str) -> OpenDraft | None:
        """The open draft of a record."""
        if limits_id not in self.open:
            return None
        key = (limits_id, self.open[limits_id])
        return OpenDraft(self.entered[key], tuple(self.differing.get(key, ())))

    def drafts(self) -> Sequence[OpenDraft]:
        """All open drafts."""
        found = [self.open_draft(limits_id) for limits_id in sorted(self.open)]
        return [one for one in found if one is not None]

    def settle(self, limits_id: str, decide: Callable[[OpenDraft], Settlement]) -> Settled:
        """Keep what is decided of a draft."""
        draft = self.open_draft(limits_id)
        if draft is None:
            raise NotOpenError
        settlement = decide(draft)
        match settlement:
            case Verified(by, at):
                self._require_person(draft, by, at)
                verified = replace(draft.revision, verified_by=by, verified_at=at)
                del self.open[limits_id]
                self.accepted.append(verified)
                return draft, settlement, verified
            case Differed(mismatch):
                self._require_person(draft, mismatch.entered_by, mismatch.entered_at)
                self.differing.setdefault((limits_id, draft.revision.revision), []).append(mismatch)
                return draft, settlement, None
            case Overruled(entered, by, at, reason):
                return draft, settlement, self._overrule(draft, entered, by, at, reason)

    def _overrule(
        self, draft: OpenDraft, entered: LimitRevision, by: str, at: datetime.datetime, reason: str
    ) -> LimitRevision:
        if by in {draft.revision.entered_by, *(one.entered_by for one in draft.mismatches)}:
            raise IndependenceError
        new = replace(entered, revision=draft.revision.revision + 1, verified_by=by, verified_at=at)
        was = self.open.pop(new.limits_id)
        try:
            self._require_free(new)
        except OverlapError:
            self.open[new.limits_id] = was
            raise
        self.rejected[new.limits_id, was] = Rejection(by, at, reason)
        self.entered[new.limits_id, new.revision] = replace(new, verified_by="", verified_at=None)
        self.accepted.append(new)
        return new

    def _require_person(self, draft: OpenDraft, by: str, at: datetime.datetime) -> None:
        first, pause = draft.revision, self.in_force.one_person_pause
        if by == first.entered_by and (pause is None or at - _required(first.entered_at) < pause):
            raise IndependenceError
        if len(draft.mismatches) >= 2 and by in {first.entered_by, *(one.entered_by for one in draft.mismatches)}:
            raise IndependenceError

    def reject(self, limits_id: str, rejection: Rejection) -> OpenDraft:
        """Give a draft up."""
        draft = self.open_draft(limits_id)
        if draft is None:
            raise NotOpenError
        del self.open[limits_id]
        self.rejected[limits_id, draft.revision.revision] = rejection
        return draft

    def withdraw(self, withdrawal: Withdrawal) -> Withdrawal:
        """Withdraw a record."""
        wanted = (withdrawal.limits_id, withdrawal.revision)
        found = [row for row in self.accepted if (row.limits_id, row.revision) == wanted]
        if not found or self.is_withdrawn(found[0], len(self.withdrawn)):
            raise NotOpenError
        self.withdrawn.append(replace(withdrawal, sequence=len(self.withdrawn) + 1))
        return self.withdrawn[-1]

    def counted(self) -> tuple[int, int]:
        """What the newest release counts."""
        return (self.released[-1].accepted, self.released[-1].withdrawn) if self.released else (0, 0)

    def publish_verified(
        self, *, published_at: datetime.datetime, published_by: str, notes: str, follows: int | None = None
    ) -> Release:
        """Publish what is verified."""
        if follows not in {None, len(self.released)}:
            raise ReleaseRaceError
        if self.counted() == (len(self.accepted), len(self.withdrawn)):
            raise NothingToPublishError
        return self._release(published_at, published_by, notes)

    def publish(
        self,
        revisions: Iterable[LimitRevision],
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        withdrawals: Iterable[Withdrawal] = (),
    ) -> Release:
        """Bring in and publish, or raise and change nothing."""
        before = (dict(self.entered), list(self.accepted), list(self.withdrawn))
        try:
            for row in revisions:
                self._bring_in(row)
            for withdrawal in withdrawals:
                self.withdraw(withdrawal)
        except StoreError:
            self.entered, self.accepted, self.withdrawn = before
            raise
        return self._release(published_at, published_by, notes)

    def _bring_in(self, row: LimitRevision) -> None:
        if (row.limits_id, row.revision) in self.entered:
            raise NameTakenError
        if not row.verified_by or row.revision < self.last(row.limits_id):
            raise StoreError
        first = replace(row, verified_by="", verified_at=None)
        self._require_person(OpenDraft(first), row.verified_by, _required(row.verified_at))
        self.entered[row.limits_id, row.revision] = first
        self.accepted.append(row)

    def _release(self, at: datetime.datetime, by: str, notes: str) -> Release:
        accepted, withdrawn = len(self.accepted), len(self.withdrawn)
        held = self.newest_accepted(accepted, withdrawn)
        lines = "".join(f"{row.limits_id} {content_digest(row).removeprefix('sha256:')}\n" for row in held)
        digest = f"sha256:{hashlib.sha256(lines.encode()).hexdigest()}"
        alone = sum(row.entered_by == row.verified_by for row in held)
        number = len(self.released) + 1
        self.released.append(Release(number, at, by, notes, digest, len(held), alone, accepted, withdrawn))
        return self.released[-1]

    def newest_accepted(self, accepted: int, withdrawn: int) -> list[LimitRevision]:
        """The newest accepted revision of each record, by id, without those withdrawn up to one withdrawal."""
        newest: dict[str, LimitRevision] = {row.limits_id: row for row in self.accepted[:accepted]}
        rows = [newest[limits_id] for limits_id in sorted(newest)]
        return [row for row in rows if not self.is_withdrawn(row, withdrawn)]

    def limits(self, query: LimitQuery, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """What governs."""
        marks = self._marks(query)
        if marks is None:
            return []
        accepted, own = marks
        last = query.withdrawn if query.withdrawn is not None else len(self.withdrawn) if query.release is None else own
        rows = [row for row in self.newest_accepted(accepted, last) if fits_query(row, query)]
        return [row for row in rows if row.limits_id > after][:limit]

    def held(self, query: LimitQuery, *, limit: int = 100) -> Sequence[HeldRevision]:
        """What would govern, with what is in its way."""
        marks = self._marks(query)
        if marks is None:
            return []
        last = len(self.withdrawn) if query.withdrawn is None else query.withdrawn
        rows = [row for row in self.newest_accepted(marks[0], 0) if fits_query(row, query)]
        return [HeldRevision(row, self.is_withdrawn(row, last)) for row in rows][:limit]

    def _marks(self, query: LimitQuery) -> tuple[int, int] | None:
        number = len(self.released) if query.release is None else query.release
        if not 1 <= number <= len(self.released):
            return None
        return self.released[number - 1].accepted, self.released[number - 1].withdrawn

"""How a row of a pack stands to what a store holds of the same record: new, there already, or contradicting it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from turnrule.actions.release_packs.limit_lines import LimitRow
from turnrule.judging.faults import Fault
from turnrule.store.content import content_digest
from turnrule.store.limit_records import EntryState, HistoryRow, Withdrawal
from turnrule.store.port import LimitRevision, Store

_ACCEPTED = frozenset({EntryState.VERIFIED, EntryState.PUBLISHED, EntryState.WITHDRAWN})
_PAGE = 100


@dataclass(frozen=True, slots=True)
class Held:
    """The store holds these limits under this id already; `withdrawn` where they must not be used here."""

    withdrawn: bool


@dataclass(frozen=True, slots=True)
class New:
    """The store holds nothing that this row contradicts, and not these limits either."""


@dataclass(frozen=True, slots=True)
class Contradicts:
    """The store holds something else under this id; why, and what can be done."""

    code: str
    detail: str

    def fault(self, place: str) -> Fault:
        """The same, with the place in the pack."""
        return Fault(place, self.code, self.detail)


Standing = Held | New | Contradicts


def history_of(store: Store, limits_id: str) -> Sequence[HistoryRow]:
    """Everything that the store holds of a record, by revision."""
    rows: list[HistoryRow] = []
    while page := store.history(limits_id, after=rows[-1].revision.revision if rows else 0, limit=_PAGE):
        rows += page
        if len(page) < _PAGE:
            break
    return rows


def standing_of(row: LimitRow, history: Sequence[HistoryRow], withdrawn: int = 0) -> Standing:
    """How a row stands to the history of its record in the store; the pack withdraws it up to revision `withdrawn`."""
    revision = row.revision
    if not history:
        return New()
    accepted = [known for known in history if known.state in _ACCEPTED]
    for known in accepted:
        last = known is accepted[-1]
        if (last or known.revision.revision == revision.revision) and content_digest(known.revision) == row.content:
            # The same limits again under a later number: they come in where the ones that are here are withdrawn.
            gone = known.state is EntryState.WITHDRAWN or known.revision.revision <= withdrawn
            if gone and known.revision.revision < revision.revision:
                continue
            return Held(withdrawn=accepted[-1].state is EntryState.WITHDRAWN)
    return _beside(revision, history[-1])


def _beside(revision: LimitRevision, newest: HistoryRow) -> Standing:
    """How a revision stands to the newest one of a store that does not hold its limits."""
    known, limits_id = newest.revision.revision, revision.limits_id
    if newest.state in {EntryState.DRAFT, EntryState.DISPUTED}:
        detail = f"a draft of {limits_id} waits here for its second entry; have it verified, or withdraw it, first"
        return Contradicts("draft_open", detail)
    if known < revision.revision:
        return New()
    here = "rejected" if newest.state is EntryState.REJECTED else "other limits"
    detail = (
        f"it is revision {revision.revision} of {limits_id}, and revision {known} is {here} here; one of the two is "
        "wrong: compare both with the document, and correct the record here or where the pack was made"
    )
    return Contradicts("pack_contradicts", detail)


def by_one_person(revision: LimitRevision, pause: datetime.timedelta | None) -> Contradicts | None:
    """Why a store with this pause, None where it was made for two people, does not take a row, if it does not."""
    if not revision.by_one_person:
        return None
    who = f"both entries of {revision.limits_id} were made by {revision.entered_by}"
    if pause is None:
        return Contradicts("entered_by_one_person", f"{who}, and this store takes entries of two people only")
    first, second = revision.entered_at, revision.verified_at
    if first is None or second is None or second - first < pause:
        return Contradicts("entered_by_one_person", f"{who} within less than the pause of this store, {pause}")
    return None


def withdrawal_here(withdrawal: Withdrawal, history: Sequence[HistoryRow]) -> int | None:
    """The revision of the store that a withdrawal of the pack withdraws; None where nothing is left to withdraw."""
    for known in reversed(history):
        if known.revision.revision <= withdrawal.revision and known.state in _ACCEPTED:
            return known.revision.revision if known.state is not EntryState.WITHDRAWN else None
    return None

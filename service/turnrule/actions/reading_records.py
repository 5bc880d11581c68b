"""What was recorded, entered and released, as far as a key may see it."""

from __future__ import annotations

import datetime
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from turnrule.actions.desk import Desk
from turnrule.store.limit_records import EntryState, HistoryRow, LimitQuery, LimitRevision, OpenDraft, Release
from turnrule.store.port import AxleRecord, Key, Miss, VerdictQuery, VerdictRecord

OPEN = frozenset({EntryState.DRAFT, EntryState.DISPUTED})
ACCEPTED = frozenset({EntryState.VERIFIED, EntryState.PUBLISHED, EntryState.WITHDRAWN})
_PAGE = 200


def list_verdicts(
    desk: Desk, key: Key, query: VerdictQuery, *, after: int = 0, limit: int = 50
) -> Sequence[VerdictRecord]:
    """Verdicts in the order of recording; a key that is bound to a site sees its own site's only."""
    if key.site is not None:
        if query.site not in {None, key.site}:
            return ()
        query = replace(query, site=key.site)
    return desk.store.verdicts(query, after=after, limit=limit)


def read_verdict(desk: Desk, key: Key, verdict_id: str) -> VerdictRecord | None:
    """One verdict; None where there is none that this key may see."""
    record = desk.store.verdict(verdict_id)
    if record is None or (key.site is not None and record.site != key.site):
        return None
    return record


def list_axles(
    desk: Desk,
    key: Key,
    *,
    site: str | None = None,
    vehicle: str | None = None,
    after: int = 0,
    limit: int = 50,
) -> Sequence[AxleRecord]:
    """Axle verdicts in the order of recording; a key that is bound to a site sees its own site's only."""
    if key.site is not None and site not in {None, key.site}:
        return ()
    return desk.store.axles(site=site if key.site is None else key.site, vehicle=vehicle, after=after, limit=limit)


def read_axle_record(desk: Desk, key: Key, axle_id: str) -> AxleRecord | None:
    """One axle verdict; None where there is none that this key may see."""
    record = desk.store.axle(axle_id)
    if record is None or (key.site is not None and record.site != key.site):
        return None
    return record


@dataclass(frozen=True, slots=True)
class LimitsPage:
    """Limits records that governed in one release on one day, without those withdrawn up to `withdrawn`."""

    release: int | None
    on: datetime.date
    withdrawn: int
    rows: Sequence[LimitRevision]


def find_limits(desk: Desk, query: LimitQuery, *, after: str = "", limit: int = 50) -> LimitsPage | None:
    """Records by what they are for, in the release asked for or the newest, on the day asked for or today.

    A release that is named answers as it did when it was published; where none is, every withdrawal up to now counts.
    None where there is no such release; nothing at all while none was published.
    """
    on = query.on or desk.clock().date()
    release = desk.store.release(query.release)
    if release is None:
        return LimitsPage(None, on, 0, ()) if query.release is None else None
    withdrawn = query.withdrawn
    if withdrawn is None:
        withdrawn = desk.store.last_withdrawal() if query.release is None else release.withdrawn
    fixed = replace(query, release=release.number, on=on, withdrawn=withdrawn)
    return LimitsPage(release.number, on, withdrawn, desk.store.limits(fixed, after=after, limit=limit))


@dataclass(frozen=True, slots=True)
class SeenRevision:
    """One revision of a record with what became of it; the values of one that is not `shown` are hidden.

    What was never accepted is shown to nobody but the key that entered it: the second entry is made blind, and
    figures that were given up are often those of the next draft.
    """

    row: HistoryRow
    shown: bool


def _seen(row: HistoryRow, key: Key) -> SeenRevision:
    return SeenRevision(row, row.state in ACCEPTED or row.revision.entered_by == key.name)


def read_limits_record(desk: Desk, key: Key, limits_id: str, revision: int | None) -> SeenRevision | None:
    """One revision of a record; where none is named the newest published one, else the newest of any state."""
    number = revision
    if number is None and (published := desk.store.limit_revision(limits_id)) is not None:
        number = published.revision
    if number is None:
        newest = deque(_history(desk, limits_id), maxlen=1)
        return _seen(newest[0], key) if newest else None
    rows = desk.store.history(limits_id, after=number - 1, limit=1)
    return _seen(rows[0], key) if rows and rows[0].revision.revision == number else None


def list_revisions(
    desk: Desk, key: Key, limits_id: str, *, after: int = 0, limit: int = 50
) -> Sequence[SeenRevision] | None:
    """The revisions of a record after one of them, whatever became of each; None where there is no such record."""
    rows = desk.store.history(limits_id, after=after, limit=limit)
    if not rows and not desk.store.history(limits_id, limit=1):
        return None
    return [_seen(row, key) for row in rows]


@dataclass(frozen=True, slots=True)
class Course:
    """How far a record has come: its open draft, and its newest accepted revision, each if there is one."""

    known: bool
    open_draft: HistoryRow | None
    accepted: HistoryRow | None


def course_of(desk: Desk, limits_id: str) -> Course:
    """How far a record has come."""
    known, open_draft, accepted = False, None, None
    for row in _history(desk, limits_id):
        known = True
        if row.state in OPEN:
            open_draft = row
        elif row.state in ACCEPTED:
            accepted = row
    return Course(known, open_draft, accepted)


def is_known(desk: Desk, limits_id: str) -> bool:
    """True where a record of this id was ever entered."""
    return bool(desk.store.history(limits_id, limit=1))


def _history(desk: Desk, limits_id: str) -> Iterator[HistoryRow]:
    """The whole history of a record, oldest first."""
    after = 0
    while rows := desk.store.history(limits_id, after=after, limit=_PAGE):
        yield from rows
        after = rows[-1].revision.revision


@dataclass(frozen=True, slots=True)
class CoverageCounts:
    """How much there is to do: applications not found, drafts without their second entry, records due for review."""

    not_found: int
    awaiting_verification: int
    review_due: int


def coverage_counts(desk: Desk, on: datetime.date) -> CoverageCounts:
    """How much there is to do as of this day."""
    return CoverageCounts(*desk.store.waiting_counts(on))


def not_found(desk: Desk, *, after: int = 0, limit: int = 50) -> Sequence[Miss]:
    """What was asked for and not found, most wanted first."""
    return desk.store.misses(after=after, limit=limit)


def awaiting_verification(desk: Desk, *, after: str = "", limit: int = 50) -> Sequence[OpenDraft]:
    """Drafts whose second entry is outstanding, by id."""
    return desk.store.drafts(after=after, limit=limit)


def due_for_review(desk: Desk, on: datetime.date, *, after: str = "", limit: int = 50) -> Sequence[LimitRevision]:
    """What governs although its review was due before this day, by id."""
    return desk.store.due_for_review(on, after=after, limit=limit)


def list_releases(desk: Desk, *, after: int = 0, limit: int = 50) -> Sequence[Release]:
    """Releases in rising order."""
    return desk.store.releases(after=after, limit=limit)


def read_release(desk: Desk, number: int) -> Release | None:
    """One release."""
    return desk.store.release(number)

"""Questions about limits, asked of the plain model row by row."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import TYPE_CHECKING

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind
from turnrule.store.folding import fold
from turnrule.store.limit_records import Change, EntryState, FitsTo, HistoryRow, LimitQuery, LimitRevision

if TYPE_CHECKING:
    from tests.store.contract.plain_limits import PlainLimits


def same(text: str | None, asked: str | None) -> bool:
    """True where nothing is asked, or the same but for case and spacing."""
    return asked is None or (text is not None and fold(text) == fold(asked))


def fits_query(row: LimitRevision, query: LimitQuery) -> bool:
    """True where a revision is what a query asks for, whatever the release."""
    fits = row.fits
    return (
        same(fits.make, query.make)
        and same(fits.model, query.model)
        and query.axle in {None, fits.axle}
        and query.kind in {None, row.limits.kind}
        and same(fits.brake_option, query.brake_option)
        and (query.year is None or fits.year_from <= query.year <= (fits.year_to or 9999))
        and (query.on is None or row.effective_from <= query.on < (row.effective_to or datetime.date.max))
    )


def live_overlap(row: LimitRevision, fits: FitsTo, kind: Kind, start: datetime.date, end: datetime.date | None) -> bool:
    """True where a revision is for some of the same vehicles on some of the same days."""
    mine = row.fits
    return (
        (fold(mine.make), fold(mine.model), mine.axle) == (fold(fits.make), fold(fits.model), fits.axle)
        and fold(mine.brake_option or "") == fold(fits.brake_option or "")
        and row.limits.kind is kind
        and mine.year_from <= (fits.year_to or 9999)
        and fits.year_from <= (mine.year_to or 9999)
        and row.effective_from < (end or datetime.date.max)
        and start < (row.effective_to or datetime.date.max)
    )


def history(model: PlainLimits, limits_id: str) -> Sequence[HistoryRow]:
    """What became of each revision of a record."""
    numbers = sorted(number for one, number in model.entered if one == limits_id)
    return [_history_row(model, limits_id, number) for number in numbers]


def _history_row(model: PlainLimits, limits_id: str, number: int) -> HistoryRow:
    key = (limits_id, number)
    mismatches = len(model.differing.get(key, ()))
    for place, row in enumerate(model.accepted, start=1):
        if (row.limits_id, row.revision) == key:
            release = next((one.number for one in model.released if one.accepted >= place), None)
            withdrawal = model.is_withdrawn(row, len(model.withdrawn))
            state = EntryState.VERIFIED if release is None else EntryState.PUBLISHED
            if withdrawal is not None:
                state = EntryState.WITHDRAWN
            return HistoryRow(row, state, release, mismatches, withdrawal)
    rejection = model.rejected.get(key)
    state = EntryState.DISPUTED if mismatches >= 2 else EntryState.DRAFT
    if rejection is not None:
        state = EntryState.REJECTED
    return HistoryRow(model.entered[key], state, None, mismatches, None, rejection)


def changes(model: PlainLimits, since: int, until: int) -> Sequence[Change]:
    """Every step between two releases: what came, then what was withdrawn, release by release."""
    found = []
    for release in model.released[max(since, 0) : max(until, 0)]:
        before = model.released[release.number - 2] if release.number > 1 else None
        low, gone = (before.accepted, before.withdrawn) if before is not None else (0, 0)
        for place, new in enumerate(model.accepted[low : release.accepted], start=low + 1):
            older = [row for row in model.accepted if row.limits_id == new.limits_id and row.revision < new.revision]
            old = max(older, key=lambda row: row.revision, default=None)
            found.append(Change(release.number, f"a{place:012d}", old, new))
        for withdrawal in model.withdrawn[gone : release.withdrawn]:
            (old,) = [
                row
                for row in model.accepted
                if (row.limits_id, row.revision) == (withdrawal.limits_id, withdrawal.revision)
            ]
            found.append(Change(release.number, f"w{withdrawal.sequence:012d}", old, None, withdrawal))
    return found


def due_for_review(model: PlainLimits, on: datetime.date) -> Sequence[LimitRevision]:
    """What governs now although its review was due before a day."""
    return [row for row in model.limits(LimitQuery()) if row.review_due is not None and row.review_due < on]


def similar(model: PlainLimits, kind: Kind, at_least: int, at_most: int) -> Sequence[LimitSet]:
    """Limits of live accepted records of a size, the smallest first."""
    rows = [row for row in model.live() if row.limits.kind is kind and row.limits.nominal is not None]
    rows = [row for row in rows if model.open.get(row.limits_id) != row.revision]
    sized = [(row.limits.nominal or 0, row.limits_id, row.limits) for row in rows]
    return [limits for size, _, limits in sorted(sized, key=lambda one: one[:2]) if at_least <= size * 10**7 <= at_most]


def makes(model: PlainLimits, kind: Kind | None) -> Sequence[str]:
    """Makes of accepted records as written first, by key."""
    first: dict[str, str] = {}
    for row in model.accepted:
        first.setdefault(fold(row.fits.make), row.fits.make)
    wanted = {fold(row.fits.make) for row in model.accepted if kind in {None, row.limits.kind}}
    return [first[key] for key in sorted(wanted)]


def models(model: PlainLimits, make: str, kind: Kind | None) -> Sequence[str]:
    """Models of a make as written first, by key."""
    rows = [row for row in model.accepted if fold(row.fits.make) == fold(make)]
    first: dict[str, str] = {}
    for row in rows:
        first.setdefault(fold(row.fits.model), row.fits.model)
    wanted = {fold(row.fits.model) for row in rows if kind in {None, row.limits.kind}}
    return [first[key] for key in sorted(wanted)]

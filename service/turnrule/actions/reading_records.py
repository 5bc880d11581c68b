"""What was recorded and released, as far as a key may see it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from turnrule.actions.desk import Desk
from turnrule.store.port import Key, LimitQuery, LimitRevision, Miss, Release, VerdictQuery, VerdictRecord


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


@dataclass(frozen=True, slots=True)
class LimitsPage:
    """Limits records that governed in one release on one day."""

    release: int | None
    on: datetime.date
    rows: Sequence[LimitRevision]


def find_limits(desk: Desk, query: LimitQuery, *, after: str = "", limit: int = 50) -> LimitsPage | None:
    """Records by what they are for, in the release asked for or the newest, on the day asked for or today.

    None where there is no such release; nothing at all while none was published.
    """
    on = query.on or desk.clock().date()
    release = desk.store.release(query.release)
    if release is None:
        return LimitsPage(None, on, ()) if query.release is None else None
    fixed = replace(query, release=release.number, on=on)
    return LimitsPage(release.number, on, desk.store.limits(fixed, after=after, limit=limit))


def read_limits_record(desk: Desk, limits_id: str, revision: int | None) -> LimitRevision | None:
    """One revision of a record, or its newest."""
    return desk.store.limit_revision(limits_id, revision)


def coverage(desk: Desk, *, after: int = 0, limit: int = 50) -> Sequence[Miss]:
    """What was asked for and not found, most wanted first."""
    return desk.store.misses(after=after, limit=limit)


def list_releases(desk: Desk, *, after: int = 0, limit: int = 50) -> Sequence[Release]:
    """Releases in rising order."""
    return desk.store.releases(after=after, limit=limit)


def read_release(desk: Desk, number: int) -> Release | None:
    """One release."""
    return desk.store.release(number)

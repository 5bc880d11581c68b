"""What became of each revision, and what changed between two releases, in the embedded store."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from turnrule.store.limit_records import (
    MISMATCHES_TO_DISPUTE,
    Change,
    EntryState,
    HistoryRow,
    LimitRevision,
    Rejection,
    Withdrawal,
)
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_held import BOTH, SELECT
from turnrule.store.sqlite_limit_tables import (
    ACCEPTANCES,
    LIMIT_REVISIONS,
    REJECTIONS,
    WITHDRAWALS,
    rejection_of,
    revision_of,
    withdrawal_of,
)
from turnrule.store.sqlite_limits import marks, opened_pair
from turnrule.store.sqlite_rows import one

_HISTORY = LIMIT_REVISIONS.select(
    "WHERE limits_id = ? AND revision > ?"
    " AND ifnull((SELECT finished FROM imports WHERE id = limit_revisions.import_id), 1) = 1"
    " ORDER BY revision LIMIT ?"
)
_ACCEPTANCE = ACCEPTANCES.select("WHERE limits_id = ? AND revision = ?")
_REJECTION = REJECTIONS.select("WHERE limits_id = ? AND revision = ?")
_WITHDRAWAL = WITHDRAWALS.select("WHERE limits_id = ? AND revision >= ? ORDER BY sequence LIMIT 1")
_MISMATCHED = "SELECT count(*) FROM mismatches WHERE limits_id = ? AND revision = ?"
_FIRST_RELEASE = "SELECT min(number) FROM releases WHERE accepted >= ?"
_ACCEPTED = (
    f"{SELECT} ON {BOTH} WHERE acceptances.sequence > ? AND acceptances.sequence <= ?"
    " ORDER BY acceptances.sequence LIMIT ?"
).replace("FROM limit_revisions CROSS JOIN acceptances", "FROM acceptances CROSS JOIN limit_revisions")
_BEFORE = (
    f"{SELECT} ON {BOTH} WHERE limit_revisions.limits_id = ? AND limit_revisions.revision < ?"
    " ORDER BY limit_revisions.revision DESC LIMIT 1"
)
_WITHDRAWN = WITHDRAWALS.select("WHERE sequence > ? AND sequence <= ? ORDER BY sequence LIMIT ?")
_REVISION = f"{SELECT} ON {BOTH} WHERE limit_revisions.limits_id = ? AND limit_revisions.revision = ?"


def history(connections: Connections, limits_id: str, after: int, limit: int) -> Sequence[HistoryRow]:
    """The revisions of a record after one of them, whatever became of each."""
    with connections.reading() as conn:
        rows = conn.execute(_HISTORY, (limits_id, after, max(limit, 0))).fetchall()
        return [_history_row(conn, LIMIT_REVISIONS.opened(row)) for row in rows]


def _history_row(conn: sqlite3.Connection, row: Sequence[Any]) -> HistoryRow:
    key = (row[0], row[1])
    acceptance = one(conn.execute(_ACCEPTANCE, key), ACCEPTANCES)
    rejection = one(conn.execute(_REJECTION, key), REJECTIONS)
    withdrawal = None if acceptance is None else one(conn.execute(_WITHDRAWAL, key), WITHDRAWALS)
    release = None if acceptance is None else conn.execute(_FIRST_RELEASE, (acceptance[0],)).fetchone()[0]
    (mismatches,) = conn.execute(_MISMATCHED, key).fetchone()
    rejected = None if rejection is None else rejection_of(rejection)
    withdrawn = None if withdrawal is None else withdrawal_of(withdrawal)
    state = _state(acceptance is not None, release, mismatches, rejected, withdrawn)
    return HistoryRow(revision_of(row, acceptance), state, release, mismatches, withdrawn, rejected)


def _state(
    accepted: bool,  # noqa: FBT001  # one of five things that settle it
    release: int | None,
    mismatches: int,
    rejected: Rejection | None,
    withdrawn: Withdrawal | None,
) -> EntryState:
    if rejected is not None:
        return EntryState.REJECTED
    if accepted:
        if withdrawn is not None:
            return EntryState.WITHDRAWN
        return EntryState.VERIFIED if release is None else EntryState.PUBLISHED
    return EntryState.DISPUTED if mismatches >= MISMATCHES_TO_DISPUTE else EntryState.DRAFT


def changes(connections: Connections, since: int, until: int, after: tuple[int, str], limit: int) -> Sequence[Change]:
    """What changed after one release up to another, by release and place."""
    with connections.reading() as conn:
        return list(islice(_changes(conn, since, until, after, limit), max(limit, 0)))


def _changes(conn: sqlite3.Connection, since: int, until: int, after: tuple[int, str], limit: int) -> Iterator[Change]:
    for number in range(max(since + 1, after[0], 1), until + 1):
        low, high = marks(conn, number - 1) or (0, 0), marks(conn, number)
        if high is None:
            return
        place = after[1] if number == after[0] else ""
        yield from _accepted(conn, number, max(low[0], _number(place, "a", low[0], high[0])), high[0], limit)
        yield from _withdrawn(conn, number, max(low[1], _number(place, "w", low[1], low[1])), high[1], limit)


def _number(place: str, letter: str, start: int, passed: int) -> int:
    """The sequence that a place stands for; `passed` where it is of the other letter and comes after."""
    if not place:
        return start
    return int(place[1:]) if place[0] == letter else passed


def _accepted(conn: sqlite3.Connection, release: int, low: int, high: int, limit: int) -> Iterator[Change]:
    for row in conn.execute(_ACCEPTED, (low, high, limit)).fetchall():
        new = opened_pair(row)
        before = conn.execute(_BEFORE, (new.limits_id, new.revision)).fetchone()
        sequence = row[len(LIMIT_REVISIONS.columns) + 1]
        yield Change(release, f"a{sequence:012d}", None if before is None else opened_pair(before), new)


def _withdrawn(conn: sqlite3.Connection, release: int, low: int, high: int, limit: int) -> Iterator[Change]:
    for row in conn.execute(_WITHDRAWN, (low, high, limit)).fetchall():
        withdrawal = withdrawal_of(WITHDRAWALS.opened(row))
        yield Change(release, f"w{withdrawal.sequence:012d}", _one(conn, withdrawal), None, withdrawal)


def _one(conn: sqlite3.Connection, withdrawal: Withdrawal) -> LimitRevision | None:
    row = conn.execute(_REVISION, (withdrawal.limits_id, withdrawal.revision)).fetchone()
    return None if row is None else opened_pair(row)

"""Second entries in the embedded store: open drafts, and what a second entry makes of one."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from turnrule.store.errors import IndependenceError, NotOpenError, OverlapError
from turnrule.store.folding import fold
from turnrule.store.limit_records import (
    Differed,
    LimitRevision,
    OpenDraft,
    Overruled,
    Rejection,
    Settlement,
    Verified,
    Withdrawal,
)
from turnrule.store.reference_port import Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_entering import add_revision, other_record
from turnrule.store.sqlite_limit_tables import (
    ACCEPTANCES,
    LIMIT_REVISIONS,
    MISMATCHES,
    REJECTIONS,
    VEHICLE,
    WITHDRAWALS,
    mismatch_of,
    mismatch_values,
    rejection_values,
    revision_of,
    vehicle_values,
    withdrawal_values,
)
from turnrule.store.sqlite_once import keep_answer, require_new, rules_in
from turnrule.store.sqlite_rows import Value, moment_text

Settled = tuple[OpenDraft, Settlement, LimitRevision | None]

_VISIBLE = """
JOIN open_drafts ON open_drafts.limits_id = limit_revisions.limits_id
  AND open_drafts.revision = limit_revisions.revision
WHERE ifnull((SELECT finished FROM imports WHERE id = open_drafts.import_id), 1) = 1"""
_DRAFT = LIMIT_REVISIONS.select(f"{_VISIBLE} AND limit_revisions.limits_id = ?")
_DRAFTS = LIMIT_REVISIONS.select().replace(
    " FROM limit_revisions",
    " FROM open_drafts CROSS JOIN limit_revisions ON open_drafts.limits_id = limit_revisions.limits_id"
    " AND open_drafts.revision = limit_revisions.revision"
    " WHERE ifnull((SELECT finished FROM imports WHERE id = open_drafts.import_id), 1) = 1"
    " AND open_drafts.limits_id > ? ORDER BY open_drafts.limits_id LIMIT ?",
)
_DRAFTS_OF = LIMIT_REVISIONS.select(f"{_VISIBLE} AND make_key = ? AND model_key = ? ORDER BY limit_revisions.limits_id")
_MISMATCHES = MISMATCHES.select("WHERE limits_id = ? AND revision = ? ORDER BY attempt")
_NEXT = "SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = ?"


def open_draft(connections: Connections, limits_id: str) -> OpenDraft | None:
    """The draft of a record whose second entry is outstanding."""
    with connections.reading() as conn:
        return _draft(conn, limits_id)


def _draft(conn: sqlite3.Connection, limits_id: str) -> OpenDraft | None:
    row = conn.execute(_DRAFT, (limits_id,)).fetchone()
    return None if row is None else _with_mismatches(conn, row)


def _with_mismatches(conn: sqlite3.Connection, row: Sequence[Any]) -> OpenDraft:
    revision = revision_of(LIMIT_REVISIONS.opened(row))
    found = conn.execute(_MISMATCHES, (revision.limits_id, revision.revision)).fetchall()
    return OpenDraft(revision, tuple(mismatch_of(MISMATCHES.opened(one)) for one in found))


def drafts(connections: Connections, after: str, limit: int) -> Sequence[OpenDraft]:
    """The drafts whose second entry is outstanding, by id."""
    with connections.reading() as conn:
        rows = conn.execute(_DRAFTS, (after, max(limit, 0))).fetchall()
        return [_with_mismatches(conn, row) for row in rows]


def drafts_of(connections: Connections, make: str, model: str) -> Sequence[OpenDraft]:
    """The open drafts for a make and model, by id."""
    with connections.reading() as conn:
        rows = conn.execute(_DRAFTS_OF, (fold(make), fold(model))).fetchall()
        return [_with_mismatches(conn, row) for row in rows]


def settle(
    connections: Connections, limits_id: str, decide: Callable[[OpenDraft], Settlement], once: Once[Settled] | None
) -> Settled:
    """Keep what is decided of the open draft."""
    with connections.writing() as conn:
        require_new(conn, once)
        draft = _require_draft(conn, limits_id)
        settlement = decide(draft)
        settled = (draft, settlement, _apply(conn, draft, settlement))
        keep_answer(conn, once, settled)
    return settled


def _require_draft(conn: sqlite3.Connection, limits_id: str) -> OpenDraft:
    draft = _draft(conn, limits_id)
    if draft is None:
        raise NotOpenError(f"no draft of {limits_id} waits for a second entry")
    return draft


def _apply(conn: sqlite3.Connection, draft: OpenDraft, settlement: Settlement) -> LimitRevision | None:
    revision = draft.revision
    match settlement:
        case Differed(mismatch):
            attempt = len(draft.mismatches) + 1
            values = mismatch_values(revision.limits_id, revision.revision, attempt, mismatch)
            conn.execute(MISMATCHES.insert, MISMATCHES.sealed(values))
            return None
        case Verified(by, at):
            verified = replace(revision, verified_by=by, verified_at=at)
            _close(conn, revision)
            accept(conn, verified)
            return verified
        case Overruled(entered, by, at, reason):
            _require_third(draft, by)
            _reject(conn, revision, Rejection(by, at, reason))
            new = replace(entered, revision=revision.revision + 1, verified_by=by, verified_at=at)
            other = other_record(conn, new)
            if other is not None:
                raise OverlapError(other)
            add_revision(conn, new)
            _close(conn, new)
            accept(conn, new)
            return new


def _require_third(draft: OpenDraft, by: str) -> None:
    """The new revision has no mismatches of its own that a trigger could count, so it is seen to here."""
    if by in {draft.revision.entered_by, *(one.entered_by for one in draft.mismatches)}:
        raise IndependenceError("after two mismatches somebody settles it who made none of the entries")


def _close(conn: sqlite3.Connection, revision: LimitRevision) -> None:
    conn.execute("DELETE FROM open_drafts WHERE limits_id = ?", (revision.limits_id,))


def accept(conn: sqlite3.Connection, verified: LimitRevision) -> int:
    """Store that a revision is verified, under the next number."""
    pause = rules_in(conn).one_person_pause if verified.by_one_person else None
    seconds = None if pause is None else int(pause.total_seconds())
    (sequence,) = conn.execute(_NEXT, ("acceptances",)).fetchone()
    conn.execute(ACCEPTANCES.insert, ACCEPTANCES.sealed(_acceptance(sequence, verified, seconds)))
    conn.execute(VEHICLE, vehicle_values(verified.fits, verified.limits.kind))
    return int(sequence)


def _acceptance(sequence: int, verified: LimitRevision, pause: int | None) -> Sequence[Value]:
    if verified.entered_at is None or verified.verified_at is None:
        raise IndependenceError(f"{verified.limits_id}: both entries of a record have their time")
    return (
        *(sequence, verified.limits_id, verified.revision, verified.entered_by, moment_text(verified.entered_at)),
        *(verified.verified_by, moment_text(verified.verified_at), pause),
    )


def reject(connections: Connections, limits_id: str, rejection: Rejection, once: Once[OpenDraft] | None) -> OpenDraft:
    """Give up the open draft of a record."""
    with connections.writing() as conn:
        require_new(conn, once)
        draft = _require_draft(conn, limits_id)
        _reject(conn, draft.revision, rejection)
        keep_answer(conn, once, draft)
    return draft


def _reject(conn: sqlite3.Connection, revision: LimitRevision, rejection: Rejection) -> None:
    _close(conn, revision)
    values = rejection_values(revision.limits_id, revision.revision, rejection)
    conn.execute(REJECTIONS.insert, REJECTIONS.sealed(values))


def withdraw(connections: Connections, withdrawal: Withdrawal, once: Once[Withdrawal] | None) -> Withdrawal:
    """Withdraw a record up to a revision."""
    with connections.writing() as conn:
        require_new(conn, once)
        kept = add_withdrawal(conn, withdrawal)
        keep_answer(conn, once, kept)
    return kept


def add_withdrawal(conn: sqlite3.Connection, withdrawal: Withdrawal) -> Withdrawal:
    """Store a withdrawal within the caller's transaction, under the next number."""
    key = (withdrawal.limits_id, withdrawal.revision)
    if conn.execute("SELECT 1 FROM acceptances WHERE limits_id = ? AND revision = ?", key).fetchone() is None:
        raise NotOpenError(f"revision {withdrawal.revision} of {withdrawal.limits_id} was never verified")
    if conn.execute("SELECT 1 FROM withdrawals WHERE limits_id = ? AND revision >= ?", key).fetchone() is not None:
        raise NotOpenError(f"revision {withdrawal.revision} of {withdrawal.limits_id} is withdrawn already")
    (sequence,) = conn.execute(_NEXT, ("withdrawals",)).fetchone()
    conn.execute(WITHDRAWALS.insert, WITHDRAWALS.sealed(withdrawal_values(sequence, withdrawal)))
    return replace(withdrawal, sequence=sequence)

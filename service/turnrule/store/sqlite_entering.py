"""Drafts in the embedded store: entering one, entering many, and what other live records are for the same vehicles."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import islice
from typing import Any

from turnrule.judging.words import Kind
from turnrule.store import sqlite_imports
from turnrule.store.errors import DraftOpenError, NameTakenError, OverlapError, StaleRevisionError
from turnrule.store.folding import fold
from turnrule.store.limit_records import FitsTo, LimitRevision
from turnrule.store.reference_port import Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_limit_tables import ACCEPTANCES, LIMIT_REVISIONS, revision_of, revision_values
from turnrule.store.sqlite_once import keep_answer, require_new
from turnrule.store.sqlite_rows import Value, day_text, one

_INSERT = LIMIT_REVISIONS.insert
_OPEN = "INSERT INTO open_drafts (limits_id, revision, import_id) VALUES (?, ?, ?)"
_STANDING = """
SELECT ifnull(max(revision), 0),
  (SELECT ifnull(max(revision), 0) FROM acceptances WHERE limits_id = ?1),
  EXISTS (SELECT 1 FROM open_drafts WHERE limits_id = ?1)
FROM limit_revisions WHERE limits_id = ?1"""

# A revision is live while it is an open draft, or the newest accepted one of a record that was not withdrawn since.
_LIVE = """
(EXISTS (SELECT 1 FROM open_drafts AS open WHERE open.limits_id = limit_revisions.limits_id
   AND open.revision = limit_revisions.revision)
 OR EXISTS (SELECT 1 FROM acceptances AS accepted WHERE accepted.limits_id = limit_revisions.limits_id
   AND accepted.revision = limit_revisions.revision)
  AND NOT EXISTS (SELECT 1 FROM acceptances AS newer WHERE newer.limits_id = limit_revisions.limits_id
   AND newer.revision > limit_revisions.revision)
  AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.limits_id = limit_revisions.limits_id
   AND withdrawals.revision >= limit_revisions.revision))"""
_OVERLAPPING = f"""
 FROM limit_revisions WHERE make_key = ? AND model_key = ? AND axle = ? AND kind = ? AND option_key = ?
 AND limit_revisions.limits_id <> ? AND year_from <= ? AND ifnull(year_to, 9999) >= ?
 AND effective_from < ? AND ifnull(effective_to, '9999-99-99') > ? AND {_LIVE}"""  # fixed text
_OTHER = f"SELECT limits_id {_OVERLAPPING} LIMIT 1"  # fixed text
_IN_SIGHT = "ifnull((SELECT finished FROM imports WHERE id = limit_revisions.import_id), 1) = 1"
_OTHERS = LIMIT_REVISIONS.select().replace(
    " FROM limit_revisions", f"{_OVERLAPPING} AND {_IN_SIGHT} ORDER BY limits_id LIMIT 100"
)
_ACCEPTANCE = ACCEPTANCES.select("WHERE limits_id = ? AND revision = ?")


def enter(
    connections: Connections, draft: LimitRevision, corrects: int | None, once: Once[LimitRevision] | None
) -> LimitRevision:
    """Keep a draft, as the next revision of its record."""
    sqlite_imports.clear_abandoned(connections)
    with connections.writing() as conn:
        require_new(conn, once)
        entered = add_draft(conn, draft, corrects)
        keep_answer(conn, once, entered)
    return entered


def add_draft(
    conn: sqlite3.Connection, draft: LimitRevision, corrects: int | None, import_id: int | None = None
) -> LimitRevision:
    """Store a draft within the caller's transaction."""
    last, accepted, is_open = conn.execute(_STANDING, (draft.limits_id,)).fetchone()
    if corrects is None and last:
        raise NameTakenError(f"there is a limits record {draft.limits_id} already")
    if is_open:
        raise DraftOpenError(f"a draft of {draft.limits_id} waits for its second entry")
    if corrects is not None and (corrects != accepted or not accepted):
        newest = f"its newest verified revision is {accepted}" if accepted else "no revision of it is verified"
        raise StaleRevisionError(f"revision {corrects} of {draft.limits_id} cannot be corrected: {newest}")
    other = other_record(conn, draft)
    if other is not None:
        raise OverlapError(other)
    return add_revision(conn, replace(draft, revision=last + 1, verified_by="", verified_at=None), import_id)


def add_revision(conn: sqlite3.Connection, draft: LimitRevision, import_id: int | None = None) -> LimitRevision:
    """Store a revision, and that it waits for its second entry."""
    conn.execute(_INSERT, LIMIT_REVISIONS.sealed(revision_values(draft, import_id)))
    conn.execute(_OPEN, (draft.limits_id, draft.revision, import_id))
    return draft


def other_record(conn: sqlite3.Connection, draft: LimitRevision) -> str | None:
    """The id of another live record for some of the same vehicles and days, if there is one."""
    at = (draft.effective_from, draft.effective_to)
    found = conn.execute(_OTHER, _overlap(draft.fits, draft.limits.kind, *at, draft.limits_id)).fetchone()
    return None if found is None else str(found[0])


def _overlap(
    fits: FitsTo, kind: Kind, start: datetime.date, end: datetime.date | None, but: str | None
) -> Sequence[Value]:
    option = "" if fits.brake_option is None else fold(fits.brake_option)
    return (
        *(fold(fits.make), fold(fits.model), str(fits.axle), str(kind), option, but or ""),
        *(9999 if fits.year_to is None else fits.year_to, fits.year_from),
        *(day_text(end) or "9999-99-99", day_text(start)),
    )


def overlapping(
    connections: Connections, fits: FitsTo, kind: Kind, start: datetime.date, end: datetime.date | None, but: str | None
) -> Sequence[LimitRevision]:
    """Live revisions of other records for some of the same vehicles and days."""
    with connections.reading() as conn:
        rows = conn.execute(_OTHERS, _overlap(fits, kind, start, end, but)).fetchall()
        return [_live(conn, LIMIT_REVISIONS.opened(row)) for row in rows]


def _live(conn: sqlite3.Connection, row: Sequence[Any]) -> LimitRevision:
    return revision_of(row, one(conn.execute(_ACCEPTANCE, (row[0], row[1])), ACCEPTANCES))


def enter_many(
    connections: Connections, drafts: Iterable[tuple[LimitRevision, int | None]], at: datetime.datetime, by: str
) -> int:
    """Keep many drafts, chunk by chunk, each out of sight until the last one is there."""
    sqlite_imports.clear_abandoned(connections)
    number = sqlite_imports.begin(connections, at, by)
    try:
        count = _stage(connections, drafts, number)
        with connections.writing() as conn:
            sqlite_imports.moved(conn, number, finished=True)
    except BaseException:
        sqlite_imports.clear(connections, number)
        raise
    return count


def _stage(connections: Connections, drafts: Iterable[tuple[LimitRevision, int | None]], number: int) -> int:
    count = 0
    coming = iter(drafts)
    turns = sqlite_imports.Turns(connections)
    # What the iterable does, it does before the lock is taken: nobody waits for a slow file.
    while chunk := list(islice(coming, sqlite_imports.CHUNK)):
        with turns.writing() as conn:
            sqlite_imports.moved(conn, number)
            for draft, corrects in chunk:
                add_draft(conn, draft, corrects, number)
        count += len(chunk)
    return count

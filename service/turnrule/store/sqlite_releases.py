"""Releases in the embedded store: publishing what is verified, bringing verified revisions in, and the digest."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace

from turnrule.store.errors import NothingToPublishError, ReleaseRaceError, StoreError
from turnrule.store.limit_records import LimitRevision, Release, Withdrawal
from turnrule.store.reference_port import Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_held import Content, content
from turnrule.store.sqlite_limit_tables import LIMIT_REVISIONS, RELEASES, release_of, release_values, revision_values
from turnrule.store.sqlite_once import keep_answer, require_new
from turnrule.store.sqlite_rows import one
from turnrule.store.sqlite_settling import accept, add_withdrawal

_INSERT_RELEASE, _INSERT_REVISION = RELEASES.insert, LIMIT_REVISIONS.insert
_RELEASE = RELEASES.select("WHERE number = ?")
_NEWEST = RELEASES.select("ORDER BY number DESC LIMIT 1")
_RELEASES = RELEASES.select("WHERE number > ? ORDER BY number LIMIT ?")
_LAST_NUMBERS = (
    "SELECT (SELECT ifnull(max(sequence), 0) FROM acceptances), (SELECT ifnull(max(sequence), 0) FROM withdrawals)"
)
_TRIES = 100


def newest(conn: sqlite3.Connection) -> Release | None:
    """The newest release, as a transaction sees it."""
    row = one(conn.execute(_NEWEST), RELEASES)
    return None if row is None else release_of(row)


def publish_verified(
    connections: Connections,
    notes: str,
    published_at: datetime.datetime,
    published_by: str,
    follows: int | None,
    once: Once[Release] | None,
) -> Release:
    """Publish all that is verified.

    What the release holds is added up before the lock is taken, so that nobody waits for it, and is added up again
    where another release came first. What is verified meanwhile goes into the next release.
    """
    for _ in range(_TRIES):
        with connections.reading() as conn:
            require_new(conn, once)
            before = newest(conn)
            _require_next(before, follows)
            accepted, withdrawn = conn.execute(_LAST_NUMBERS).fetchone()
            if (accepted, withdrawn) == ((before.accepted, before.withdrawn) if before is not None else (0, 0)):
                raise NothingToPublishError("nothing was verified or withdrawn since the newest release")
            found = content(conn, accepted, withdrawn)
        with connections.writing() as conn:
            require_new(conn, once)
            now = newest(conn)
            _require_next(now, follows)
            if now == before:
                release = _add(conn, before, found, published_at, published_by, notes)
                keep_answer(conn, once, release)
                return release
    raise ReleaseRaceError("other releases came first, again and again; try again")


def _require_next(before: Release | None, follows: int | None) -> None:
    number = before.number if before is not None else 0
    if follows is not None and follows != number:
        raise ReleaseRaceError(f"the newest release is {number}, and not {follows}")


def _add(
    conn: sqlite3.Connection,
    before: Release | None,
    found: Content,
    at: datetime.datetime,
    by: str,
    notes: str,
) -> Release:
    release = Release(
        number=before.number + 1 if before is not None else 1,
        published_at=at,
        published_by=by,
        notes=notes,
        digest=found.digest,
        records=found.records,
        by_one_person=found.by_one_person,
        accepted=found.accepted,
        withdrawn=found.withdrawn,
    )
    conn.execute(_INSERT_RELEASE, RELEASES.sealed(release_values(release)))
    return release


def publish(  # noqa: PLR0917  # a release has this many parts
    connections: Connections,
    revisions: Iterable[LimitRevision],
    withdrawals: Iterable[Withdrawal],
    published_at: datetime.datetime,
    published_by: str,
    notes: str,
    digest: str | None,
) -> Release:
    """Bring in revisions that carry both entries, in rising order for each record, and the release that holds them.

    All in one transaction: other writers wait for as long as it takes.
    """
    with connections.writing() as conn:
        for revision in revisions:
            if not revision.verified_by:
                raise StoreError(f"revision {revision.revision} of {revision.limits_id} was never verified")
            whole = replace(
                revision,
                entered_at=revision.entered_at or published_at,
                verified_at=revision.verified_at or published_at,
            )
            conn.execute(_INSERT_REVISION, LIMIT_REVISIONS.sealed(revision_values(whole)))
            accept(conn, whole)
        for withdrawal in withdrawals:
            add_withdrawal(conn, withdrawal)
        found = content(conn, *conn.execute(_LAST_NUMBERS).fetchone())
        if digest is not None and digest != found.digest:
            raise StoreError(f"the release would have the digest {found.digest}, and {digest} is expected")
        return _add(conn, newest(conn), found, published_at, published_by, notes)


def release(connections: Connections, number: int | None) -> Release | None:
    """A release by number, or the newest."""
    with connections.reading() as conn:
        return release_in(conn, number)


def release_in(conn: sqlite3.Connection, number: int | None) -> Release | None:
    """A release by number, or the newest, as a transaction sees it."""
    if number is None:
        return newest(conn)
    row = one(conn.execute(_RELEASE, (number,)), RELEASES)
    return None if row is None else release_of(row)


def releases(connections: Connections, after: int, limit: int) -> Sequence[Release]:
    """Releases in rising order."""
    with connections.reading() as conn:
        rows = conn.execute(_RELEASES, (after, max(limit, 0))).fetchall()
        return [release_of(RELEASES.opened(row)) for row in rows]


def waiting(connections: Connections) -> int:
    """How many revisions are verified and in no release yet."""
    with connections.reading() as conn:
        before = newest(conn)
        count = "SELECT count(*) FROM acceptances WHERE sequence > ?"
        (found,) = conn.execute(count, (0 if before is None else before.accepted,)).fetchone()
        return int(found)

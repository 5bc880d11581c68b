"""Releases and limits in the embedded store: publishing, and which revisions govern."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterable, Sequence

from turnrule.judging.words import Kind
from turnrule.store.folding import fold
from turnrule.store.port import LimitQuery, LimitRevision, Release
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_rows import Value, one
from turnrule.store.sqlite_tables import (
    LIMIT_REVISIONS,
    RELEASES,
    limit_of,
    limit_values,
    release_of,
    release_values,
)

_INSERT_RELEASE, _INSERT_LIMITS = RELEASES.insert, LIMIT_REVISIONS.insert
_SELECT = LIMIT_REVISIONS.select()
_RELEASE = RELEASES.select("WHERE number = ?")
_NEWEST_RELEASE = RELEASES.select("ORDER BY number DESC LIMIT 1")
_RELEASES = RELEASES.select("WHERE number > ? ORDER BY number LIMIT ?")
_REVISION = LIMIT_REVISIONS.select("WHERE limits_id = ? AND revision = ?")
_NEWEST_REVISION = LIMIT_REVISIONS.select("WHERE limits_id = ? ORDER BY revision DESC LIMIT 1")

# Numbers of revisions rise from release to release (a trigger sees to it), so that the newest one published up to a
# release is the one that no other of these goes past.
_NO_NEWER = (
    "NOT EXISTS (SELECT 1 FROM limit_revisions AS newer WHERE newer.limits_id = limit_revisions.limits_id"
    " AND newer.revision > limit_revisions.revision{up_to})"
)
_HELD_NOW = _NO_NEWER.format(up_to="")
_WAS_PUBLISHED = "EXISTS (SELECT 1 FROM releases WHERE number = ?)"
_NO_NEWER_THEN = _NO_NEWER.format(up_to=" AND newer.release <= ?")
_HELD_THEN = f"limit_revisions.release <= ? AND {_WAS_PUBLISHED} AND {_NO_NEWER_THEN}"
_APPLICATIONS = (
    "SELECT make, model, min(limits_id) FROM limit_revisions"  # noqa: S608  # fixed text, no value in it
    f" WHERE {_HELD_NOW} AND (?1 IS NULL OR kind = ?1) GROUP BY make_key, model_key ORDER BY make_key, model_key"
)


def publish(
    connections: Connections,
    revisions: Iterable[LimitRevision],
    *,
    published_at: datetime.datetime,
    published_by: str,
    notes: str,
    digest: str,
) -> Release:
    """Store the revisions and the release that holds them. Raises `NameTakenError` where one is stored already."""
    # All of it before the lock is taken: what cannot be kept is refused here. In the order of their numbers, so that
    # whoever publishes two revisions of one record need not sort them.
    ordered = sorted(revisions, key=lambda revision: (revision.limits_id, revision.revision))
    values = [limit_values(revision) for revision in ordered]
    with connections.writing() as conn:
        (number,) = conn.execute("SELECT ifnull(max(number), 0) + 1 FROM releases").fetchone()
        conn.executemany(_INSERT_LIMITS, (LIMIT_REVISIONS.sealed((number, *row)) for row in values))
        (records,) = conn.execute("SELECT count(DISTINCT limits_id) FROM limit_revisions").fetchone()
        release = Release(number, published_at, published_by, notes, digest, records)
        conn.execute(_INSERT_RELEASE, RELEASES.sealed(release_values(release)))
    return release


def release(connections: Connections, number: int | None) -> Release | None:
    """A release by number, or the newest."""
    with connections.reading() as conn:
        cursor = conn.execute(_NEWEST_RELEASE) if number is None else conn.execute(_RELEASE, (number,))
        row = one(cursor, RELEASES)
    return None if row is None else release_of(row)


def releases(connections: Connections, after: int, limit: int) -> Sequence[Release]:
    """Releases in rising order."""
    with connections.reading() as conn:
        rows = conn.execute(_RELEASES, (after, max(limit, 0))).fetchall()
        return [release_of(RELEASES.opened(row)) for row in rows]


def limit_revision(connections: Connections, limits_id: str, revision: int | None) -> LimitRevision | None:
    """One revision of a record, or its newest."""
    with connections.reading() as conn:
        row = one(_one_revision(conn, limits_id, revision), LIMIT_REVISIONS)
    return None if row is None else limit_of(row)


def _one_revision(conn: sqlite3.Connection, limits_id: str, revision: int | None) -> sqlite3.Cursor:
    if revision is None:
        return conn.execute(_NEWEST_REVISION, (limits_id,))
    return conn.execute(_REVISION, (limits_id, revision))


def limits(connections: Connections, query: LimitQuery, after: str, limit: int) -> Sequence[LimitRevision]:
    """The revisions that governed in a release on a day, by `limits_id`, rising."""
    held, values = _held(query)
    wheres, wanted = _wanted(query)
    where = " AND ".join((*wheres, "limit_revisions.limits_id > ?", held))
    sql = f"{_SELECT} WHERE {where} ORDER BY limit_revisions.limits_id LIMIT ?"
    with connections.reading() as conn:
        rows = conn.execute(sql, (*wanted, after, *values, max(limit, 0))).fetchall()
        return [limit_of(LIMIT_REVISIONS.opened(row)) for row in rows]


def _held(query: LimitQuery) -> tuple[str, Sequence[Value]]:
    """What is held by the release that was asked for; nothing by one that was never published."""
    if query.release is None:
        return _HELD_NOW, ()
    return _HELD_THEN, (query.release,) * 3


def _wanted(query: LimitQuery) -> tuple[Sequence[str], Sequence[Value]]:
    """What the query asks of a revision, in SQL of a few fixed forms and its values."""
    wheres: list[str] = []
    values: list[Value] = []
    for condition, value in (
        ("make_key = ?", None if query.make is None else fold(query.make)),
        ("model_key = ?", None if query.model is None else fold(query.model)),
        ("axle = ?", query.axle),
        ("kind = ?", query.kind),
        ("brake_option = ?", query.brake_option),
        ("year_from <= ?", query.year),
        ("ifnull(year_to, 9999) >= ?", query.year),
        ("effective_from <= ?", None if query.on is None else query.on.isoformat()),
        ("ifnull(effective_to, '9999-99-99') > ?", None if query.on is None else query.on.isoformat()),
    ):
        if value is not None:
            wheres.append(condition)
            values.append(value)
    return wheres, values


def applications(connections: Connections, kind: Kind | None) -> Sequence[tuple[str, str]]:
    """The distinct makes and models of the newest release, each as the record with the lowest id writes it."""
    with connections.reading() as conn:
        return [(make, model) for make, model, _ in conn.execute(_APPLICATIONS, (kind,))]

"""What happened in the embedded store, in the order of commit: triggers write it down, here it is read."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from turnrule.store.port import Event, EventKind
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_limit_tables import RELEASES, WITHDRAWALS, release_of, withdrawal_of
from turnrule.store.sqlite_rows import SealError, Table, one
from turnrule.store.sqlite_tables import (
    AXLE_VERDICTS,
    LATHES,
    POLICIES,
    SITES,
    VERDICTS,
    axle_of,
    lathe_of,
    policy_of,
    site_of,
    verdict_of,
)
from turnrule.store.sqlite_triggers_fleet import HAPPENS

_EVENTS = "SELECT sequence, kind, number, name FROM events WHERE sequence > ? ORDER BY sequence LIMIT ?"


def events(connections: Connections, after: int, limit: int) -> Sequence[Event]:
    """What happened after one of the events. Raises `SealError` where what an event points at is damaged."""
    with connections.reading() as conn:
        rows = conn.execute(_EVENTS, (after, max(limit, 0))).fetchall()
        return [_event(conn, *row) for row in rows]


def _event(conn: sqlite3.Connection, sequence: int, kind: str, number: int, name: str) -> Event:
    table, where, read = _READ[EventKind(kind)]
    row = one(conn.execute(table.select(where), (number, name) if "?2" in where else (number,)), table)
    if row is None:
        raise SealError(f"event {sequence} points at a {kind.replace('_', ' ')} that is not there: {number} {name}")
    return read(sequence, row)


def _verdict(sequence: int, row: Sequence[Any]) -> Event:
    found = verdict_of(row)
    return Event(
        *(sequence, EventKind.VERDICT, found.id, found.judged_at, found.key_name),
        site=found.site,
        ruling=found.ruling,
        digest=found.digest,
    )


def _axle(sequence: int, row: Sequence[Any]) -> Event:
    found = axle_of(row)
    return Event(
        *(sequence, EventKind.AXLE_VERDICT, found.id, found.judged_at, found.key_name),
        site=found.site,
        ruling=found.ruling,
        digest=found.digest,
    )


def _release(sequence: int, row: Sequence[Any]) -> Event:
    found = release_of(row)
    about = (sequence, EventKind.RELEASE, str(found.number), found.published_at, found.published_by)
    return Event(*about, digest=found.digest)


def _withdrawal(sequence: int, row: Sequence[Any]) -> Event:
    found = withdrawal_of(row)
    about = (sequence, EventKind.WITHDRAWAL, found.limits_id, found.withdrawn_at, found.withdrawn_by)
    return Event(*about, revision=found.revision)


def _policy(sequence: int, row: Sequence[Any]) -> Event:
    found = policy_of(row)
    return Event(sequence, EventKind.POLICY, found.name, found.written_at, found.written_by, found.revision)


def _lathe(sequence: int, row: Sequence[Any]) -> Event:
    found = lathe_of(row)
    return Event(sequence, EventKind.LATHE, found.name, found.written_at, found.written_by, found.revision)


def _site(sequence: int, row: Sequence[Any]) -> Event:
    found = site_of(row)
    return Event(
        sequence, EventKind.SITE, found.site, found.written_at, found.written_by, found.revision, site=found.site
    )


_NAMED = "WHERE revision = ?1 AND {} = ?2"
_READ: dict[EventKind, tuple[Table, str, Callable[[int, Sequence[Any]], Event]]] = {
    EventKind.VERDICT: (VERDICTS, "WHERE sequence = ?1", _verdict),
    EventKind.AXLE_VERDICT: (AXLE_VERDICTS, "WHERE sequence = ?1", _axle),
    EventKind.RELEASE: (RELEASES, "WHERE number = ?1", _release),
    EventKind.WITHDRAWAL: (WITHDRAWALS, "WHERE sequence = ?1", _withdrawal),
    EventKind.POLICY: (POLICIES, _NAMED.format("name"), _policy),
    EventKind.LATHE: (LATHES, _NAMED.format("name"), _lathe),
    EventKind.SITE: (SITES, _NAMED.format("site"), _site),
}


def event_faults(conn: sqlite3.Connection) -> Iterator[str]:
    """Rows that no event tells of, and events that tell of nothing."""
    for table, (kind, number, name) in HAPPENS.items():
        named = f"told.{name}" if name else "''"
        same = f"events.kind = '{kind}' AND events.number = told.{number} AND events.name = {named}"
        for row in conn.execute(
            f"SELECT told.rowid FROM {table} AS told WHERE NOT EXISTS (SELECT 1 FROM events WHERE {same})"  # noqa: S608  # names of ours
        ):
            yield f"no event tells of row {row[0]} of {table}"
        for (sequence,) in conn.execute(
            f"SELECT sequence FROM events WHERE kind = '{kind}'"  # noqa: S608  # names of ours
            f" AND NOT EXISTS (SELECT 1 FROM {table} AS told WHERE {same}) ORDER BY sequence"
        ):
            yield f"event {sequence} tells of a {kind.replace('_', ' ')} that is not there"

"""Verdicts in the embedded store, each kept together with the idempotency key that it answered."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace

from turnrule.store.folding import fold
from turnrule.store.port import Idempotency, IdempotencyConflictError, Kept, VerdictQuery, VerdictRecord
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_limits import marks
from turnrule.store.sqlite_rows import Value, moment_text, one
from turnrule.store.sqlite_tables import IDEMPOTENCY_KEYS, VERDICTS, verdict_of, verdict_values

_INSERT_VERDICT, _INSERT_KEY = VERDICTS.insert, IDEMPOTENCY_KEYS.insert
# The number is taken from AUTOINCREMENT's own count, so that the seal can cover it and none is ever given twice.
_NEXT = "SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'verdicts'"
_KEY = IDEMPOTENCY_KEYS.select("WHERE key_name = ? AND value = ?")
_SELECT = VERDICTS.select()
_BY_SEQUENCE = VERDICTS.select("WHERE sequence = ?")
_BY_ID = VERDICTS.select("WHERE id = ?")

_TOUCHED = VERDICTS.select("""
WHERE verdicts.sequence > :after AND ifnull(verdicts.release, 0) < :until AND EXISTS (
  SELECT 1 FROM limit_revisions AS held WHERE held.make_key = verdicts.make_key AND held.model_key = verdicts.model_key
  AND (EXISTS (SELECT 1 FROM acceptances WHERE acceptances.limits_id = held.limits_id
      AND acceptances.sequence > :a0 AND acceptances.sequence <= :a1)
    OR EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.limits_id = held.limits_id
      AND withdrawals.sequence > :w0 AND withdrawals.sequence <= :w1)))
ORDER BY verdicts.sequence LIMIT :limit""")


def record_verdict(connections: Connections, record: VerdictRecord, idempotency: Idempotency | None) -> VerdictRecord:
    """Keep a verdict, or answer with the one that the idempotency key led to before."""
    values = verdict_values(record)  # before the lock is taken: what cannot be kept is refused here
    with connections.writing() as conn:
        return _kept(conn, record, values, idempotency)


def record_verdicts(
    connections: Connections, records: Iterable[tuple[VerdictRecord, Idempotency | None]], *, together: bool
) -> Sequence[Kept | IdempotencyConflictError]:
    """Keep several verdicts in one transaction, in their order."""
    kept: list[Kept | IdempotencyConflictError] = []
    with connections.writing() as conn:
        for record, idempotency in records:
            try:
                found = _kept(conn, record, verdict_values(record), idempotency)
                kept.append(Kept(found.id, found.sequence))
            except IdempotencyConflictError as error:
                if together:
                    raise
                kept.append(error)
    return kept


def _kept(
    conn: sqlite3.Connection, record: VerdictRecord, values: Sequence[Value], idempotency: Idempotency | None
) -> VerdictRecord:
    """The record as stored now, or before under the same idempotency key."""
    if idempotency is not None:
        found = _first(conn, idempotency)
        if found is not None:
            return found
    sequence = insert(conn, values)
    if idempotency is not None:
        row = (idempotency.key_name, idempotency.value, idempotency.body_digest, sequence)
        conn.execute(_INSERT_KEY, IDEMPOTENCY_KEYS.sealed(row))
    return replace(record, sequence=sequence)


def insert(conn: sqlite3.Connection, values: Sequence[Value]) -> int:
    """Store a verdict's values in a writing transaction under the next number, which is returned."""
    (sequence,) = conn.execute(_NEXT).fetchone()
    conn.execute(_INSERT_VERDICT, VERDICTS.sealed((sequence, *values)))
    return int(sequence)


def idempotent(connections: Connections, idempotency: Idempotency) -> VerdictRecord | None:
    """The record that this idempotency key led to, if any."""
    with connections.reading() as conn:
        return _first(conn, idempotency)


def _first(conn: sqlite3.Connection, idempotency: Idempotency) -> VerdictRecord | None:
    row = one(conn.execute(_KEY, (idempotency.key_name, idempotency.value)), IDEMPOTENCY_KEYS)
    if row is None:
        return None
    _, _, body_digest, sequence = row
    if body_digest != idempotency.body_digest:
        raise IdempotencyConflictError(f"the idempotency key {idempotency.value!r} was used before with another body")
    found = one(conn.execute(_BY_SEQUENCE, (sequence,)), VERDICTS)
    return None if found is None else verdict_of(found)


def verdict(connections: Connections, id_: str) -> VerdictRecord | None:
    """One verdict."""
    with connections.reading() as conn:
        row = one(conn.execute(_BY_ID, (id_,)), VERDICTS)
    return None if row is None else verdict_of(row)


def verdicts(connections: Connections, query: VerdictQuery, after: int, limit: int) -> Sequence[VerdictRecord]:
    """Verdicts in the order of their sequence, after one of them."""
    wheres, values = _wanted(query, after)
    sql = f"{_SELECT} WHERE {' AND '.join(wheres)} ORDER BY sequence LIMIT ?"
    with connections.reading() as conn:
        rows = conn.execute(sql, (*values, max(limit, 0))).fetchall()
        return [verdict_of(VERDICTS.opened(row)) for row in rows]


def newest_verdicts(
    connections: Connections, query: VerdictQuery, before: int | None, limit: int
) -> Sequence[VerdictRecord]:
    """Verdicts from the newest to the oldest, before one of them or from the last."""
    wheres, values = _wanted(query if before is None else replace(query, since=None), 0)
    if before is not None:
        wheres, values = [*wheres, "sequence < ?"], [*values, before]
    if before is not None and query.since is not None:  # its first verdict was sought for the first page already
        wheres, values = [*wheres, "+judged_at >= ?"], [*values, moment_text(query.since)]
    sql = f"{_SELECT} WHERE {' AND '.join(wheres)} ORDER BY sequence DESC LIMIT ?"
    with connections.reading() as conn:
        rows = conn.execute(sql, (*values, max(limit, 0))).fetchall()
        return [verdict_of(VERDICTS.opened(row)) for row in rows]


def count_verdicts(connections: Connections, query: VerdictQuery) -> int:
    """How many verdicts a query finds."""
    wheres, values = _wanted(query, 0)
    with connections.reading() as conn:
        (found,) = conn.execute(f"SELECT count(*) FROM verdicts WHERE {' AND '.join(wheres)}", values).fetchone()  # noqa: S608  # a few fixed forms
        return int(found)


def touched_verdicts(
    connections: Connections, since: int, until: int, after: int, limit: int
) -> Sequence[VerdictRecord]:
    """Verdicts about a make and model of which a record changed between two releases."""
    with connections.reading() as conn:
        low, high = marks(conn, since) or (0, 0), marks(conn, until)
        if high is None:
            return []
        values = {"after": after, "until": until, "limit": max(limit, 0)}
        bounds = {"a0": low[0], "a1": high[0], "w0": low[1], "w1": high[1]}
        return [verdict_of(VERDICTS.opened(row)) for row in conn.execute(_TOUCHED, values | bounds).fetchall()]


def _wanted(query: VerdictQuery, after: int) -> tuple[Sequence[str], Sequence[Value]]:
    """What the query asks of a verdict, in SQL of a few fixed forms and its values."""
    wheres: list[str] = ["sequence > ?"]
    values: list[Value] = [after]
    since = None if query.since is None else moment_text(query.since)
    # A plus sign keeps the moments' index out of the plan: rows are wanted by sequence, and sorting every match for
    # each page would cost more than passing over the rest. That index only finds the first page's beginning.
    if since is not None and after <= 0:
        wheres.append("sequence >= (SELECT min(+sequence) FROM verdicts WHERE judged_at >= ?)")
        values.append(since)
    for condition, value in (
        ("site = ?", query.site),
        ("ruling = ?", query.ruling),
        ("kind = ?", query.kind),
        ("make_key = ?", None if query.make is None else fold(query.make)),
        ("model_key = ?", None if query.model is None else fold(query.model)),
        ("vehicle = ?", query.vehicle),
        ("reference = ?", query.reference),
        ("limits_id = ?", query.limits_id),
        ("limits_revision = ?", query.limits_revision),
        ("axle = ?", query.axle),
        ("side = ?", query.side),
        ("axle_id = ?", query.axle_id),
        ("+judged_at >= ?", since),
        ("+judged_at < ?", None if query.until is None else moment_text(query.until)),
    ):
        if value is not None:
            wheres.append(condition)
            values.append(value)
    return wheres, values

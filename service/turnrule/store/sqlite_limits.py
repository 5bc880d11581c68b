"""Questions about limits in the embedded store: what governs, in which release, on which day."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterator, Sequence
from typing import Any

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Kind
from turnrule.store.folding import fold
from turnrule.store.limit_records import HeldRevision, LimitQuery, LimitRevision, Withdrawal
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_held import BOTH, HELD, NEWEST_ACCEPTED, NOT_WITHDRAWN, SELECT
from turnrule.store.sqlite_limit_tables import (
    ACCEPTANCES,
    LIMIT_REVISIONS,
    REVISION_WIDTH,
    WITHDRAWALS,
    limits_of,
    revision_of,
    withdrawal_of,
)
from turnrule.store.sqlite_rows import Value, one

_ONE = f"{SELECT} ON {BOTH} WHERE limit_revisions.limits_id = ?"
_REVISION = f"{_ONE} AND limit_revisions.revision = ?"
_PUBLISHED = (
    f"{_ONE} AND acceptances.sequence <= (SELECT ifnull(max(accepted), 0) FROM releases)"  # noqa: S608  # fixed text
    " ORDER BY limit_revisions.revision DESC LIMIT 1"
)
_WITHDRAWAL = WITHDRAWALS.select("WHERE limits_id = ? AND revision >= ? AND sequence <= ? ORDER BY sequence LIMIT 1")
_WITHDRAWALS = WITHDRAWALS.select("WHERE sequence > ? AND sequence <= ? ORDER BY sequence LIMIT ?")
_MARKS = "SELECT accepted, withdrawn FROM releases WHERE number = ?"
_NEWEST_MARKS = "SELECT accepted, withdrawn FROM releases ORDER BY number DESC LIMIT 1"
_LAST_WITHDRAWAL = "SELECT ifnull(max(sequence), 0) FROM withdrawals"
_FIGURES = ", ".join(f"limit_revisions.{column}" for column in LIMIT_REVISIONS.columns[11:22])
_SIMILAR = (
    f"SELECT {_FIGURES} FROM limit_revisions CROSS JOIN acceptances ON {BOTH}"  # noqa: S608  # names of ours
    " WHERE kind = ? AND nominal_tenth_nm > 0 AND nominal_tenth_nm BETWEEN ? AND ?"
    " AND NOT EXISTS (SELECT 1 FROM acceptances AS newer WHERE newer.limits_id = limit_revisions.limits_id"
    " AND newer.revision > limit_revisions.revision)"
    " AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.limits_id = limit_revisions.limits_id"
    " AND withdrawals.revision >= limit_revisions.revision)"
    " ORDER BY nominal_tenth_nm LIMIT ?"
)


def opened_pair(row: Sequence[Any]) -> LimitRevision:
    """A row of a revision and its acceptance as the verified revision that it is."""
    entered = LIMIT_REVISIONS.opened(row[:REVISION_WIDTH])
    return revision_of(entered, ACCEPTANCES.opened(row[REVISION_WIDTH:]))


def marks(conn: sqlite3.Connection, release: int | None) -> tuple[int, int] | None:
    """The last acceptance and withdrawal that a release counts; None where it was never published."""
    cursor = conn.execute(_NEWEST_MARKS) if release is None else conn.execute(_MARKS, (release,))
    found: tuple[int, int] | None = cursor.fetchone()
    return found


def last_withdrawal_in(conn: sqlite3.Connection) -> int:
    """The number of the last withdrawal, as a transaction sees it."""
    return int(conn.execute(_LAST_WITHDRAWAL).fetchone()[0])


def limit_revision(connections: Connections, limits_id: str, revision: int | None) -> LimitRevision | None:
    """One accepted revision of a record, or the newest that was published."""
    with connections.reading() as conn:
        if revision is None:
            row = conn.execute(_PUBLISHED, (limits_id,)).fetchone()
        else:
            row = conn.execute(_REVISION, (limits_id, revision)).fetchone()
        return None if row is None else opened_pair(row)


def limits(connections: Connections, query: LimitQuery, after: str, limit: int) -> Sequence[LimitRevision]:
    """The revisions that govern in a release on a day, by `limits_id`, rising."""
    with connections.reading() as conn:
        last = query.withdrawn
        if last is None and query.release is None:
            last = last_withdrawal_in(conn)
        return [opened_pair(row) for row in _found(conn, query, f" AND {NOT_WITHDRAWN}", after, limit, last)]


def held(connections: Connections, query: LimitQuery, limit: int) -> Sequence[HeldRevision]:
    """The newest revisions that a release holds, each with the withdrawal that it has met by now."""
    with connections.reading() as conn:
        last = last_withdrawal_in(conn) if query.withdrawn is None else query.withdrawn
        rows = [opened_pair(row) for row in _found(conn, query, "", "", limit, last)]
        return [HeldRevision(row, _withdrawal(conn, row, last)) for row in rows]


def _withdrawal(conn: sqlite3.Connection, row: LimitRevision, last: int) -> Withdrawal | None:
    found = one(conn.execute(_WITHDRAWAL, (row.limits_id, row.revision, last)), WITHDRAWALS)
    return None if found is None else withdrawal_of(found)


def _found(
    conn: sqlite3.Connection, query: LimitQuery, also: str, after: str, limit: int, last: int | None
) -> Iterator[Sequence[Any]]:
    """The rows that a query finds; `last` is the last withdrawal that counts, None the release's own."""
    counted = marks(conn, query.release)
    if counted is None:
        return iter(())
    accepted, withdrawn = counted
    wheres, values = _wanted(query)
    where = " AND ".join((*wheres, "limit_revisions.limits_id > :after", f"{NEWEST_ACCEPTED}{also}"))
    sql = f"{SELECT} ON {BOTH} WHERE {where} ORDER BY limit_revisions.limits_id LIMIT :limit"
    known = {"accepted": accepted, "withdrawn": withdrawn if last is None else last}
    rows: list[Sequence[Any]] = conn.execute(
        sql, {**values, **known, "after": after, "limit": max(limit, 0)}
    ).fetchall()
    return iter(rows)


def _wanted(query: LimitQuery) -> tuple[Sequence[str], dict[str, Value]]:
    """What the query asks of a revision, in SQL of a few fixed forms and its values."""
    on = None if query.on is None else query.on.isoformat()
    asked: tuple[tuple[str, str, Value], ...] = (
        ("make_key = :make", "make", None if query.make is None else fold(query.make)),
        ("model_key = :model", "model", None if query.model is None else fold(query.model)),
        ("axle = :axle", "axle", query.axle),
        ("kind = :kind", "kind", query.kind),
        ("option_key = :option", "option", None if query.brake_option is None else fold(query.brake_option)),
        ("year_from <= :year AND ifnull(year_to, 9999) >= :year", "year", query.year),
        ("effective_from <= :on AND ifnull(effective_to, '9999-99-99') > :on", "on", on),
    )
    given = [one for one in asked if one[2] is not None]
    return [condition for condition, _, _ in given], {name: value for _, name, value in given}


def similar(connections: Connections, kind: Kind, at_least: int, at_most: int, limit: int) -> Sequence[LimitSet]:
    """Limits of accepted records of a kind whose nominal size lies between two."""
    with connections.reading() as conn:
        rows = conn.execute(_SIMILAR, (str(kind), at_least, at_most, max(limit, 0))).fetchall()
        return [limits_of(row) for row in rows]


def last_withdrawal(connections: Connections) -> int:
    """The number of the last withdrawal; 0 before the first."""
    with connections.reading() as conn:
        return last_withdrawal_in(conn)


def withdrawals(connections: Connections, after: int, up_to: int | None, limit: int) -> Sequence[Withdrawal]:
    """Withdrawals in the order of their sequence."""
    with connections.reading() as conn:
        last = last_withdrawal_in(conn) if up_to is None else up_to
        rows = conn.execute(_WITHDRAWALS, (after, last, max(limit, 0))).fetchall()
        return [withdrawal_of(WITHDRAWALS.opened(row)) for row in rows]


def due_for_review(connections: Connections, on: datetime.date, after: str, limit: int) -> Sequence[LimitRevision]:
    """What governs now although its review was due before a day."""
    with connections.reading() as conn:
        counted = marks(conn, None)
        if counted is None:
            return []
        sql = (
            f"{SELECT} {HELD} AND review_due < :on AND limit_revisions.limits_id > :after"
            " ORDER BY limit_revisions.limits_id LIMIT :limit"
        )
        values = {"accepted": counted[0], "withdrawn": last_withdrawal_in(conn), "on": on.isoformat(), "after": after}
        return [opened_pair(row) for row in conn.execute(sql, {**values, "limit": max(limit, 0)}).fetchall()]


def waiting_counts(connections: Connections, on: datetime.date) -> tuple[int, int, int]:
    """How many applications were not found, how many drafts are open, how many records are due for review."""
    with connections.reading() as conn:
        (missed,) = conn.execute("SELECT count(*) FROM misses").fetchone()
        (waiting,) = conn.execute(
            "SELECT count(*) FROM open_drafts"
            " WHERE ifnull((SELECT finished FROM imports WHERE id = open_drafts.import_id), 1) = 1"
        ).fetchone()
        counted = marks(conn, None)
        if counted is None:
            return missed, waiting, 0
        sql = f"SELECT count(*) FROM limit_revisions CROSS JOIN acceptances {HELD} AND review_due < :on"  # noqa: S608  # fixed text
        values = {"accepted": counted[0], "withdrawn": last_withdrawal_in(conn), "on": on.isoformat()}
        (due,) = conn.execute(sql, values).fetchone()
        return missed, waiting, due


def makes(connections: Connections, kind: Kind | None) -> Sequence[str]:
    """The distinct makes of accepted records, as written first."""
    sql = "SELECT make FROM vehicles WHERE ?1 IS NULL OR kind = ?1 GROUP BY make_key ORDER BY make_key"
    with connections.reading() as conn:
        return [make for (make,) in conn.execute(sql, (kind,))]


def models(connections: Connections, make: str, kind: Kind | None) -> Sequence[str]:
    """The distinct models of a make, as written first."""
    sql = (
        "SELECT model FROM vehicles WHERE make_key = ?2 AND (?1 IS NULL OR kind = ?1)"
        " GROUP BY model_key ORDER BY model_key"
    )
    with connections.reading() as conn:
        return [model for (model,) in conn.execute(sql, (kind, fold(make)))]

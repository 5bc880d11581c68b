"""Axle verdicts in the embedded store, each kept together with the verdicts on its sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from turnrule.store.port import AxleRecord, VerdictRecord
from turnrule.store.reference_port import Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_once import keep_answer, require_new
from turnrule.store.sqlite_rows import Value, one
from turnrule.store.sqlite_tables import AXLE_VERDICTS, axle_of, axle_values, verdict_values
from turnrule.store.sqlite_verdicts import insert

_INSERT = AXLE_VERDICTS.insert
_NEXT = "SELECT ifnull(max(sequence), 0) + 1 FROM axle_verdicts"
_BY_ID = AXLE_VERDICTS.select("WHERE id = ?")
_SELECT = AXLE_VERDICTS.select()


def record_axle(
    connections: Connections, axle: AxleRecord, sides: Sequence[VerdictRecord], once: Once[AxleRecord] | None
) -> AxleRecord:
    """Keep the verdict on an axle and those on its sides, in one transaction."""
    values = axle_values(axle)  # before the lock is taken: what cannot be kept is refused here
    rows = [verdict_values(replace(side, axle_id=axle.id)) for side in sides]
    with connections.writing() as conn:
        require_new(conn, once)
        for row in rows:
            insert(conn, row)
        (sequence,) = conn.execute(_NEXT).fetchone()
        conn.execute(_INSERT, AXLE_VERDICTS.sealed((sequence, *values)))
        kept = replace(axle, sequence=sequence)
        keep_answer(conn, once, kept)
    return kept


def axle(connections: Connections, id_: str) -> AxleRecord | None:
    """One axle verdict."""
    with connections.reading() as conn:
        row = one(conn.execute(_BY_ID, (id_,)), AXLE_VERDICTS)
    return None if row is None else axle_of(row)


def axles(
    connections: Connections, site: str | None, vehicle: str | None, after: int, limit: int
) -> Sequence[AxleRecord]:
    """Axle verdicts in the order of their sequence, after one of them."""
    wheres, values = ["sequence > ?"], [after]
    asked: list[Value] = []
    for condition, value in (("site = ?", site), ("vehicle = ?", vehicle)):
        if value is not None:
            wheres.append(condition)
            asked.append(value)
    sql = f"{_SELECT} WHERE {' AND '.join(wheres)} ORDER BY sequence LIMIT ?"
    with connections.reading() as conn:
        rows = conn.execute(sql, (*values, *asked, max(limit, 0))).fetchall()
        return [axle_of(AXLE_VERDICTS.opened(row)) for row in rows]

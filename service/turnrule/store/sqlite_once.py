"""Answers that are kept under an idempotency key, in the transaction that did what they tell; and the store's rules."""

from __future__ import annotations

import datetime
import sqlite3
from typing import TypeVar

from turnrule.store.errors import IdempotencyConflictError
from turnrule.store.limit_records import KeptAnswer, StoreRules
from turnrule.store.reference_port import AnsweredBeforeError, Idempotency, Once
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_limit_tables import KEPT_ANSWERS, STORE_RULES, kept_values, rules_of, rules_values
from turnrule.store.sqlite_rows import one

Outcome = TypeVar("Outcome")

_KEPT = KEPT_ANSWERS.select("WHERE key_name = ? AND value = ?")
_INSERT_KEPT, _INSERT_RULES = KEPT_ANSWERS.insert, STORE_RULES.insert
_RULES = STORE_RULES.select("ORDER BY revision DESC LIMIT 1")


def answered(connections: Connections, idempotency: Idempotency) -> KeptAnswer | None:
    """The answer that was kept under an idempotency key, if any."""
    with connections.reading() as conn:
        return _found(conn, idempotency)


def _found(conn: sqlite3.Connection, idempotency: Idempotency) -> KeptAnswer | None:
    row = one(conn.execute(_KEPT, (idempotency.key_name, idempotency.value)), KEPT_ANSWERS)
    if row is None:
        return None
    _, _, body_digest, status, content, location = row
    if body_digest != idempotency.body_digest:
        raise IdempotencyConflictError(f"the idempotency key {idempotency.value!r} was used before with another body")
    return KeptAnswer(status, content, location)


def require_new(conn: sqlite3.Connection, once: Once[Outcome] | None) -> None:
    """Raise where this was asked for before; the first thing of a writing transaction."""
    if once is not None and (kept := _found(conn, once.idempotency)) is not None:
        raise AnsweredBeforeError(kept)


def keep_answer(conn: sqlite3.Connection, once: Once[Outcome] | None, outcome: Outcome) -> None:
    """Keep the answer to what was done; the last thing of a writing transaction."""
    if once is not None:
        values = kept_values(once.idempotency, once.answer(outcome))
        conn.execute(_INSERT_KEPT, KEPT_ANSWERS.sealed(values))


def rules(connections: Connections) -> StoreRules:
    """The rules that hold in this store."""
    with connections.reading() as conn:
        return rules_in(conn)


def rules_in(conn: sqlite3.Connection) -> StoreRules:
    """The rules, as a transaction sees them."""
    row = one(conn.execute(_RULES), STORE_RULES)
    return StoreRules() if row is None else rules_of(row)


def set_rules(connections: Connections, wanted: StoreRules, at: datetime.datetime, by: str) -> None:
    """Set the rules; triggers see to it that they only tighten."""
    with connections.writing() as conn:
        (last,) = conn.execute("SELECT ifnull(max(revision), 0) FROM store_rules").fetchone()
        conn.execute(_INSERT_RULES, STORE_RULES.sealed(rules_values(last + 1, wanted, at, by)))

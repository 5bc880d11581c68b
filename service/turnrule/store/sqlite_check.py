"""Everything that can be wrong with an embedded store, found by reading all of it once, in one state of it."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path

from sqlite_utils import Database

from turnrule.store.sqlite_check_limits import limit_faults
from turnrule.store.sqlite_events import event_faults
from turnrule.store.sqlite_faults import store_error
from turnrule.store.sqlite_migrations import NAMES, expected_schema, is_foreign, pending, schema_of, version
from turnrule.store.sqlite_rows import SealError
from turnrule.store.sqlite_tables import SEALED

_STRAY_SIDES = """
SELECT verdicts.sequence, axle_id FROM verdicts JOIN axle_verdicts ON axle_verdicts.id = axle_id
WHERE verdicts.id IS NOT left_id AND verdicts.id IS NOT right_id ORDER BY verdicts.sequence"""
_WANTED = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def faults(db: Database, path: Path) -> Iterator[str]:
    """Every fault as a sentence; what cannot be read ends the search with a sentence that says so."""
    db.conn.execute("BEGIN")
    try:
        yield from _pages(db)
        waiting = pending(db)
        if is_foreign(db):
            yield f"{path} belongs to another program"
        elif waiting:
            yield f"{len(waiting)} migrations have not run ({', '.join(waiting)}): run `turnrule store migrate`"
        elif version(db) != len(NAMES):
            yield f"the store has version {version(db)} and this program knows {len(NAMES)}: install the newer program"
        else:
            yield from _settings(db)
            yield from _schema(db)
            yield from _content(db)
    except (sqlite3.Error, UnicodeError) as error:
        yield f"the search ended early: {store_error(error, path)}"


def _pages(db: Database) -> Iterator[str]:
    for (found,) in db.execute("PRAGMA integrity_check(100)"):
        if found != "ok":
            yield f"SQLite's integrity check says: {found}"


def _settings(db: Database) -> Iterator[str]:
    for pragma, wanted in _WANTED.items():
        (found,) = db.execute(f"PRAGMA {pragma}").fetchone()
        if found != wanted:
            yield f"{pragma} is {found} and must be {wanted}"


def _schema(db: Database) -> Iterator[str]:
    found, expected = schema_of(db), expected_schema()
    for kind, name in sorted(expected.keys() | found.keys(), key=str):
        if (kind, name) not in found:
            yield f"the {kind} {name} is missing"
        elif (kind, name) not in expected:
            yield f"the {kind} {name} does not belong to the store"
        elif found[kind, name] != expected[kind, name]:
            yield f"the {kind} {name} is not as the migrations made it"
    for name, strict in db.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'"):
        if not strict and not name.startswith("sqlite_"):
            yield f"the table {name} is not STRICT"


def _content(db: Database) -> Iterator[str]:
    for table, row, parent, _ in db.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of {table} refers to a row of {parent} that is not there"
    for table in SEALED:
        for row in db.conn.execute(table.select()):
            try:
                table.opened(row)
            except SealError as error:
                yield str(error)
    yield from limit_faults(db.conn)
    yield from _sequence(db)
    yield from _digests(db)
    yield from _sides(db)
    yield from event_faults(db.conn)


def _sequence(db: Database) -> Iterator[str]:
    """Gaps in the numbers of the verdicts: a write that is undone gives its number back, so there is never one."""
    last = 0
    for (sequence,) in db.conn.execute("SELECT sequence FROM verdicts ORDER BY sequence"):
        if sequence != last + 1:
            yield _gap(last + 1, sequence - 1)
        last = sequence
    (given,) = db.conn.execute(
        "SELECT CAST(ifnull(max(seq), 0) AS INTEGER) FROM sqlite_sequence WHERE name = 'verdicts'"
    ).fetchone()
    if given > last:
        yield _gap(last + 1, given)
    elif given < last:
        yield f"the numbering of verdicts stands at {given}, and there is a verdict {last}"


def _gap(first: int, last: int) -> str:
    which = f"verdict {first} is" if first == last else f"verdicts {first} to {last} are"
    return f"{which} missing: the store leaves no number out by itself, so what stood there was lost or removed"


def _digests(db: Database) -> Iterator[str]:
    for what, table in (("verdict", "verdicts"), ("axle verdict", "axle_verdicts")):
        rows = db.conn.execute(f"SELECT sequence, digest, answer FROM {table} ORDER BY sequence")  # noqa: S608  # names of ours
        for sequence, digest, answer in rows:
            found = _member(answer)
            if found != digest:
                yield f"{what} {sequence} is recorded with the digest {digest}, and its answer says {found}"


def _sides(db: Database) -> Iterator[str]:
    """Sides that name an axle which does not name them; the other way round is what foreign keys and triggers see."""
    for sequence, axle in db.conn.execute(_STRAY_SIDES):
        yield f"verdict {sequence} names the axle verdict {axle}, which does not name it"


def _member(answer: object) -> object:
    if not isinstance(answer, bytes):
        return "nothing that can be read"
    try:
        document = json.loads(answer)
    except (ValueError, RecursionError):
        return "nothing that can be read"
    return document.get("digest", "none") if isinstance(document, dict) else "none"


def check(db: Database, path: Path) -> Sequence[str]:
    """Every fault found. Raises `StoreError` only where nothing can be read at all."""
    try:
        return list(faults(db, path))
    finally:
        if db.conn.in_transaction:
            db.conn.execute("ROLLBACK")

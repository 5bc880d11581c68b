"""Stores filled for measurements: the fleet's limits released, its parts judged, some of its limits corrected."""

from __future__ import annotations

import contextlib
import datetime
import itertools
import sqlite3
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from random import Random

from tests.bench import fleet
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.actions.numbers import write_exact
from turnrule.actions.requests import Corrects
from turnrule.api.impact import read_stored
from turnrule.api.limits_schemas import read_limits
from turnrule.pack import load_pack
from turnrule.store.limit_records import LimitRevision, Release
from turnrule.store.port import Key, VerdictQuery
from turnrule.store.sqlite import SqliteStore, open_sqlite
from turnrule.store.sqlite_tables import VERDICTS, verdict_values

DAY = datetime.datetime(2026, 6, 1, 8, 0, tzinfo=datetime.UTC)
COUNTER = Key("bench-counter", "", frozenset({"verdicts"}), None, DAY)
_SIZES = {
    True: ("minimum_machining_thickness", "discard_thickness"),
    False: ("maximum_machining_diameter", "discard_diameter"),
}


def new_desk(database: Path) -> Desk:
    """A desk over a store at this path, which is made where there is none."""
    store = open_sqlite(database)
    store.migrate()
    return Desk(store, load_pack(), utc_now, new_id)


def revision_of(number: int, *, stricter: Decimal | None = None) -> LimitRevision:
    """A record as it was first entered or, `stricter` by so many mm, as it was corrected; with both its entries."""
    body, rotor = fleet.limits_body(number), fleet.figures(number).rotor
    limits_id = fleet.limits_id(number)
    if stricter is None:
        entry = read_limits(body)
    else:
        by = stricter if rotor else -stricter
        entry = read_limits(body | {name: body[name] + by for name in _SIZES[rotor]})
        entry = replace(entry, corrects=Corrects(limits_id, 1), reason="The document's next edition has other sizes.")
    draft = entry.as_revision(limits_id, entered_by="bench-entry", entered_at=DAY)
    return replace(draft, verified_by="bench-check", verified_at=DAY)


def publish(desk: Desk, revisions: Iterable[LimitRevision]) -> Release:
    """Bring revisions in as the next release."""
    return desk.store.publish(revisions, published_at=DAY, published_by="bench-release", notes="Measured.")


def judge_fleet(desk: Desk, verdicts: int, *, records: int, distinct: int = 4000, seed: int = 1) -> None:
    """Record verdicts on parts of the fleet.

    `distinct` of them are judged. The rest say the same of other parts and are stored in one transaction, row by row
    as the store itself writes them: to judge and commit each would take most of the time of a measurement that is
    about neither.
    """
    chance = Random(seed)
    for _ in range(min(verdicts, distinct)):
        body = write_exact(fleet.request_body(chance.randrange(records), chance))
        judge_part(desk, read_stored(body), Sent(COUNTER, body))
    if verdicts > distinct:
        record_more(desk, verdicts - distinct)


def record_more(desk: Desk, count: int) -> None:
    """Store so many verdicts like those that are stored, each under an id and a number of its own."""
    store = desk.store
    if not isinstance(store, SqliteStore):
        raise TypeError(store)
    judged = store.verdicts(VerdictQuery(), limit=store.count_verdicts(VerdictQuery()))
    sequences = range(judged[-1].sequence + 1, judged[-1].sequence + 1 + count)
    with contextlib.closing(sqlite3.connect(store.path, isolation_level=None)) as conn:
        conn.execute("BEGIN IMMEDIATE")
        for sequence, record in zip(sequences, itertools.cycle(judged), strict=False):
            name = desk.make_id(record.judged_at)
            copy = replace(record, id=name, answer=record.answer.replace(record.id.encode(), name.encode(), 1))
            conn.execute(VERDICTS.insert, VERDICTS.sealed((sequence, *verdict_values(copy))))
        conn.execute("COMMIT")

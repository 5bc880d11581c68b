"""Every question is answered by an index: what it costs does not grow with all that the store holds."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Callable
from dataclasses import fields

import pytest

from tests.store.entries import draft, model
from tests.store.samples import NOON
from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store import sqlite_verdicts
from turnrule.store.limit_records import LimitQuery
from turnrule.store.port import Idempotency, VerdictQuery
from turnrule.store.sqlite import SqliteStore

TODAY = datetime.date(2026, 3, 2)
ONE = LimitQuery("Corvane", "Ostrel", 2022, Axle.FRONT, Kind.ROTOR, "B16", None, TODAY)
BY_ID, BY_VEHICLE = "sqlite_autoindex_limit_revisions_1", "limit_revisions_by_application"

ASKED: dict[str, tuple[Callable[[SqliteStore], object], str]] = {
    "limits of one vehicle": (lambda store: store.limits(ONE), f"{BY_VEHICLE} (make_key=? AND model_key=?"),
    "limits of an old release": (
        lambda store: store.limits(LimitQuery("Corvane", "Ostrel", release=1)),
        f"{BY_VEHICLE} (make_key=? AND model_key=?",
    ),
    "a page of all limits": (lambda store: store.limits(LimitQuery(), after="L1"), f"{BY_ID} (limits_id>?)"),
    "held": (lambda store: store.held(ONE), f"{BY_VEHICLE} (make_key=? AND model_key=?"),
    "one revision": (lambda store: store.limit_revision("L1", 1), f"{BY_ID} (limits_id=? AND revision=?)"),
    "the newest revision": (lambda store: store.limit_revision("L1"), f"{BY_ID} (limits_id=?)"),
    "overlapping": (
        lambda store: store.overlapping(model(3), Kind.ROTOR, start=TODAY, end=None),
        f"{BY_VEHICLE} (make_key=? AND model_key=?)",
    ),
    "similar": (
        lambda store: store.similar(Kind.ROTOR, at_least=1, at_most=10**9, limit=9),
        "limit_revisions_by_size (kind=? AND nominal_tenth_nm>? AND nominal_tenth_nm<?)",
    ),
    "an open draft": (lambda store: store.open_draft("L3"), "open_drafts USING PRIMARY KEY (limits_id=?)"),
    "a page of drafts": (lambda store: store.drafts(after="L3"), "open_drafts USING PRIMARY KEY (limits_id>?)"),
    "drafts of one vehicle": (
        lambda store: store.drafts_of("Corvane", "Ostrel 3"),
        f"{BY_VEHICLE} (make_key=? AND model_key=?)",
    ),
    "history": (lambda store: store.history("L1"), f"{BY_ID} (limits_id=? AND revision>?)"),
    "changes": (lambda store: store.changes(0, 2), "acceptances USING INTEGER PRIMARY KEY (rowid>? AND rowid<?)"),
    "withdrawals": (lambda store: store.withdrawals(), "withdrawals USING INTEGER PRIMARY KEY (rowid>?"),
    "waiting": (lambda store: store.waiting(), "acceptances USING INTEGER PRIMARY KEY (rowid>?)"),
    "models": (lambda store: store.models("Corvane"), "vehicles USING PRIMARY KEY (make_key=?)"),
    "an answer": (
        lambda store: store.answered(Idempotency("counter", "withdrawn", "body")),
        "sqlite_autoindex_kept_answers_1 (key_name=? AND value=?)",
    ),
    "touched verdicts": (
        lambda store: store.touched_verdicts(0, 2, after=3),
        "verdicts USING INTEGER PRIMARY KEY (rowid>?)",
    ),
    "entering": (lambda store: store.enter(draft("L9", fits=model(9))), f"{BY_VEHICLE} (make_key=? AND model_key=?)"),
}
GROWS = ("limit_revisions", "acceptances", "withdrawals", "mismatches", "rejections", "open_drafts", "verdicts")
"""Tables that hold a row for each thing that was ever done; what is small may be read through."""


def _plans(store: SqliteStore, ask: Callable[[SqliteStore], object]) -> list[str]:
    """The plan of every statement of a call, one line a step."""
    said: list[str] = []
    with store._connections.reading() as conn:  # noqa: SLF001  # plans are no part of the port
        conn.set_trace_callback(said.append)
    ask(store)
    with store._connections.reading() as other:  # noqa: SLF001
        assert other is conn
        conn.set_trace_callback(None)
        asked = [statement for statement in said if statement.lstrip().startswith("SELECT")]
        return [step for statement in asked for step in _steps(conn, statement)]


def _steps(conn: sqlite3.Connection, statement: str) -> list[str]:
    return [row[3] for row in conn.execute(f"EXPLAIN QUERY PLAN {statement}")]


@pytest.mark.parametrize(("ask", "index"), ASKED.values(), ids=ASKED.keys())
def test_limits_are_found_by_an_index(filled: SqliteStore, ask: Callable[[SqliteStore], object], index: str) -> None:
    steps = _plans(filled, ask)
    assert any(index in step for step in steps), steps
    assert not any(step.startswith(f"SCAN {table}") for step in steps for table in GROWS), steps
    # The withdrawals of one revision are sorted: hardly ever more than one.
    sorted_ = [place for place, step in enumerate(steps) if "TEMP B-TREE" in step]
    assert all("withdrawals_by_record (limits_id=? AND revision>?)" in steps[place - 1] for place in sorted_), steps


SOUGHT: dict[str, tuple[object, str]] = {
    "site": ("north depot", "verdicts_by_site"),
    "ruling": (Ruling.REPLACE, "verdicts_by_ruling"),
    "kind": (Kind.DRUM, "verdicts_by_kind"),
    "make": ("Corvane", "verdicts_by_make"),
    "model": ("Ostrel", "verdicts_by_model"),
    "vehicle": ("unit 1", "verdicts_by_vehicle"),
    "reference": ("job 7", "verdicts_by_reference"),
    "limits_id": ("L1", "verdicts_by_limits"),
    "limits_revision": (1, ""),
    "axle": (Axle.FRONT, ""),
    "side": ("left", ""),
    "axle_id": ("a1", "verdicts_by_axle_verdict"),
    "since": (NOON, "verdicts_by_moment"),
    "until": (NOON, ""),
}


def test_every_field_of_a_query_is_planned_here() -> None:
    assert {field.name for field in fields(VerdictQuery)} == SOUGHT.keys()


def _plan(store: SqliteStore, query: VerdictQuery, after: int) -> str:
    wheres, values = sqlite_verdicts._wanted(query, after)  # noqa: SLF001  # plans are no part of the port
    sql = f"EXPLAIN QUERY PLAN SELECT * FROM verdicts WHERE {' AND '.join(wheres)} ORDER BY sequence"  # noqa: S608
    with store._connections.reading() as conn:  # noqa: SLF001
        return " | ".join(row[3] for row in conn.execute(sql, values))


@pytest.mark.parametrize("name", SOUGHT)
@pytest.mark.parametrize("after", [0, 5])
def test_a_page_of_verdicts_is_found_by_an_index_and_never_sorted(filled: SqliteStore, name: str, after: int) -> None:
    value, index = SOUGHT[name]
    plan = _plan(filled, VerdictQuery(**{name: value}), after)  # type: ignore[arg-type]  # a field by name
    assert "SCAN" not in plan
    assert "TEMP B-TREE" not in plan
    if name == "limits_revision":  # asked for together with its record only
        plan = _plan(filled, VerdictQuery(limits_id="L1", limits_revision=1), after)
        index = "verdicts_by_limits (limits_id=?"
    if name in {"axle", "side"}:  # every second verdict or so: a walk in order is what is cheapest
        assert "USING INTEGER PRIMARY KEY (rowid>?)" in plan
    elif name not in {"since", "until"}:
        assert f"USING INDEX {index}" in plan
    elif name == "since" and after == 0:
        assert f"USING COVERING INDEX {index}" in plan


@pytest.mark.parametrize("after", [0, 5])
def test_verdicts_between_two_moments_are_not_sorted_either(filled: SqliteStore, after: int) -> None:
    assert "TEMP B-TREE" not in _plan(filled, VerdictQuery(since=NOON, until=NOON), after)

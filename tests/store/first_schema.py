"""A store as the first migration alone left it, filled by hand with rows that carry their seals."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from tests.store.raw import Row, insert, raw
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_migrations import run_next
from turnrule.store.sqlite_rows import Table, columns

FIRST = "m0001_first_schema"
TABLES = {
    table.name: table
    for table in (
        Table("releases", columns("number published_at published_by notes digest records")),
        Table(
            "limit_revisions",
            columns(
                """
                release limits_id revision make make_key model model_key year_from year_to axle brake_option kind
                nominal_tenth_nm machining_tenth_nm discard_tenth_nm lateral_runout_tenth_nm
                thickness_variation_tenth_nm out_of_round_tenth_nm taper_tenth_nm permission construction
                expansion_per_k printed_unit printed document publisher section edition issued effective_from
                effective_to review_due entered_by verified_by note
                """
            ),
        ),
        Table("policies", columns("name revision document written_at written_by")),
        Table("api_keys", columns("name digest scopes site created_at revoked_at")),
        Table(
            "verdicts",
            columns(
                """
                sequence id judged_at key_name site ruling kind make make_key model model_key year axle side vehicle
                odometer_km reference release policy_name policy_revision limits_id limits_revision engine digest
                request answer
                """
            ),
        ),
        Table("idempotency_keys", columns("key_name value body_digest sequence")),
        Table("misses", columns("make make_key model model_key year axle kind brake_option count first_at last_at")),
    )
}
"""The tables of the first schema, column by column, as they were sealed then."""

DAYS = ("2026-01-05T08:00:00.000000Z", "2026-02-05T08:00:00.000000Z", "2026-03-02T08:00:00.000001Z")
ROTOR: Row = {
    "make": "Corvane",
    "make_key": "corvane",
    "model": "Ostrel",
    "model_key": "ostrel",
    "year_from": 2021,
    "year_to": 2024,
    "axle": "front",
    "brake_option": "B16",
    "kind": "rotor",
    "nominal_tenth_nm": 260_000_000,
    "machining_tenth_nm": 246_000_000,
    "discard_tenth_nm": 240_000_000,
    "lateral_runout_tenth_nm": 500_000,
    "thickness_variation_tenth_nm": 130_000,
    "out_of_round_tenth_nm": None,
    "taper_tenth_nm": 1,
    "permission": "permitted",
    "construction": "vented",
    "expansion_per_k": "0.0000105",
    "printed_unit": "mm",
    "printed": '{"discard_thickness":"24.00","nominal_thickness":"26.0"}',
    "document": "Ostrel workshop manual",
    "publisher": "Corvane",
    "section": "6.2, table 3",
    "edition": "2023-04",
    "issued": "2023-04-01",
    "effective_from": "2021-01-01",
    "effective_to": None,
    "review_due": None,
    "entered_by": "first reader",
    "verified_by": "second reader",
    "note": None,
}
BARE_DRUM: Row = ROTOR | {
    "make": "TARN",
    "make_key": "tarn",
    "model": "Pell  GT",
    "model_key": "pell gt",
    "axle": "rear",
    "year_to": None,
    "brake_option": None,
    "kind": "drum",
    "construction": None,
    "expansion_per_k": None,
    **dict.fromkeys(("nominal_tenth_nm", "machining_tenth_nm", "discard_tenth_nm", "taper_tenth_nm")),
    **dict.fromkeys(("lateral_runout_tenth_nm", "thickness_variation_tenth_nm")),
    "out_of_round_tenth_nm": 1_270_000,
    "permission": "not_stated",
    "printed_unit": "in",
    "printed": "{}",
    "issued": None,
    "effective_to": "2030-01-01",
    "review_due": "2028-01-01",
    "note": "a note, \u00b5m",
}
VERDICT: Row = {
    "judged_at": "2026-02-10T09:00:00.000000Z",
    "key_name": "counter",
    "site": "north depot",
    "ruling": "machine",
    "kind": "rotor",
    "make": "Corvane",
    "make_key": "corvane",
    "model": "Ostrel",
    "model_key": "ostrel",
    "year": 2022,
    "axle": "front",
    "side": "left",
    "vehicle": "unit 114",
    "odometer_km": "61200.5",
    "reference": "job 7",
    "release": 1,
    "policy_name": "default",
    "policy_revision": 1,
    "limits_id": "L1",
    "limits_revision": 1,
    "engine": "1",
    "digest": "sha256:v",
    "request": b'{"unit":"mm"}',
    "answer": b'{"digest":"sha256:v"}',
}


def _release(number: int, records: int) -> Row:
    return {
        "number": number,
        "published_at": DAYS[number - 1],
        "published_by": "publisher",
        "notes": f"release {number}",
        "digest": "sha256:0f",
        "records": records,
    }


ROWS: tuple[tuple[str, Row], ...] = (
    ("limit_revisions", ROTOR | {"release": 1, "limits_id": "L1", "revision": 1}),
    ("limit_revisions", BARE_DRUM | {"release": 1, "limits_id": "L2", "revision": 4}),
    ("releases", _release(1, 2)),
    ("limit_revisions", ROTOR | {"release": 2, "limits_id": "L3", "revision": 1, "brake_option": " b 16"}),
    ("limit_revisions", ROTOR | {"release": 2, "limits_id": "L1", "revision": 2, "discard_tenth_nm": 240_500_000}),
    ("limit_revisions", ROTOR | {"release": 2, "limits_id": "L1", "revision": 5, "discard_tenth_nm": 241_000_000}),
    ("releases", _release(2, 3)),
    ("releases", _release(3, 3)),
    ("policies", {"name": "careful", "revision": 1, "document": b"{}", "written_at": DAYS[0], "written_by": "office"}),
    (
        "api_keys",
        {"name": "counter", "digest": "d", "scopes": "[]", "site": None, "created_at": DAYS[0], "revoked_at": None},
    ),
    ("verdicts", VERDICT | {"sequence": 1, "id": "v1"}),
    ("verdicts", VERDICT | {"sequence": 2, "id": "v2", "release": 3, "limits_revision": 5}),
    (
        "verdicts",
        VERDICT
        | {"sequence": 3, "id": "v3"}
        | dict.fromkeys(("site", "make", "make_key", "model", "model_key", "year", "axle", "side", "vehicle"))
        | dict.fromkeys(("odometer_km", "reference", "release", "limits_id", "limits_revision")),
    ),
    ("idempotency_keys", {"key_name": "counter", "value": "k", "body_digest": "body", "sequence": 2}),
    (
        "misses",
        {
            "make": "Tarn",
            "make_key": "tarn",
            "model": "Pell",
            "model_key": "pell",
            "year": 2020,
            "axle": "front",
            "kind": "rotor",
            "brake_option": None,
            "count": 3,
            "first_at": DAYS[0],
            "last_at": DAYS[1],
        },
    ),
)
"""What the store holds, in the order in which it came."""


def sealed(table: str, row: Row) -> Row:
    """A row with its seal."""
    shape = TABLES[table]
    return dict(zip((*shape.columns, "seal"), shape.sealed([row[name] for name in shape.columns]), strict=True))


def make_first_schema(path: Path) -> None:
    """The schema of the first migration, made by that migration, and nothing in it."""
    connections = Connections(path, read_only=False, wait=1.0)
    with connections.transaction(create=True) as db:
        assert run_next(db) == FIRST
    connections.close()


def fill_first_schema(path: Path) -> None:
    """A store of the first schema with releases, verdicts, keys, a policy and a miss; its own triggers allow it."""
    make_first_schema(path)
    with raw(path) as conn:
        conn.execute("BEGIN")
        for table, row in ROWS:
            insert(conn, table, sealed(table, row))
        conn.execute("COMMIT")


def content_of(path: Path) -> list[str]:
    """Everything that a file holds, schema and rows, as SQL."""
    with raw(path) as conn:
        return [*conn.iterdump(), *map(str, _header(conn))]


def _header(conn: sqlite3.Connection) -> list[int]:
    return [conn.execute(f"PRAGMA {name}").fetchone()[0] for name in ("user_version", "application_id")]

"""What the tables themselves refuse, column by column, whichever program writes to them."""

from __future__ import annotations

import sqlite3
from typing import Any

import pytest

from tests.store.raw import BOOKS, good_row, insert, rows_of, stored, tables
from turnrule.judging.words import Axle, Construction, Kind, Machining, Ruling, Side, Unit

SEALED = ("api_keys", "idempotency_keys", "limit_revisions", "misses", "policies", "releases", "verdicts")

MAY_BE_NULL = {
    "api_keys": {"site", "revoked_at"},
    "limit_revisions": {
        *("year_to", "brake_option", "construction", "expansion_per_k", "issued", "effective_to", "review_due", "note"),
        *("nominal_tenth_nm", "machining_tenth_nm", "discard_tenth_nm", "lateral_runout_tenth_nm"),
        *("thickness_variation_tenth_nm", "out_of_round_tenth_nm", "taper_tenth_nm"),
    },
    "verdicts": {
        *("site", "make", "make_key", "model", "model_key", "year", "axle", "side", "vehicle", "odometer_km"),
        *("reference", "release", "limits_id", "limits_revision"),
    },
    "misses": {"brake_option"},
}
"""What a document, a vehicle or a request may leave open; everything else is always there."""

NUMBERED_BY_SQLITE = {("pulse", "one"), (BOOKS, "id")}
"""Keys for which SQLite itself puts a number where NULL is given."""

_SIZES = ("nominal_tenth_nm", "machining_tenth_nm", "discard_tenth_nm")
_FORMS = ("lateral_runout_tenth_nm", "thickness_variation_tenth_nm", "out_of_round_tenth_nm", "taper_tenth_nm")
_NO_WORD = ["", "Rotor", "front ", "other"]
_NO_MOMENT = [
    "",
    "now",
    "2026-03-02",
    "2026-03-02T12:00:00Z",
    "2026-02-30T12:00:00.000000Z",
    "2026-03-02T12:00:00.00000aZ",
]
_NO_DAY = ["", "now", "2026-3-2", "2026-02-30", "2026-03-02T00:00:00", "20260302", "12:00"]
_NO_NUMBER = ["", "-1", "1e3", "1.2.3", ".5", "NaN", "1 000", "\u0661"]
_NO_JSON = ["", "{", "NULL", "x"]

REFUSED: dict[str, dict[str, list[Any]]] = {
    "releases": {
        "number": [0, -1, 1, 4],
        "published_at": _NO_MOMENT,
        "published_by": [""],
        "digest": [""],
        "records": [-1, 1, 3],
        "notes": [],
    },
    "limit_revisions": {
        "limits_id": [""],
        "revision": [0, -1],
        "release": [1, 2, 4],
        **{name: [""] for name in ("make", "make_key", "model", "model_key", "brake_option")},
        **{name: [""] for name in ("document", "publisher", "section", "edition")},
        "entered_by": ["", "second reader"],
        "verified_by": ["", "first reader"],
        "year_from": [0, 10000, 2025],
        "year_to": [0, 10000, 2020],
        "axle": _NO_WORD,
        "kind": _NO_WORD,
        "permission": _NO_WORD,
        "construction": _NO_WORD,
        "printed_unit": _NO_WORD,
        **{name: [0, -1] for name in _SIZES},
        **{name: [-1] for name in _FORMS},
        "expansion_per_k": _NO_NUMBER,
        "printed": [*_NO_JSON, "[]", "1"],
        "issued": _NO_DAY,
        "effective_from": [*_NO_DAY, "2030-01-01"],
        "effective_to": [*_NO_DAY, "2021-01-01"],
        "review_due": _NO_DAY,
        "note": [],
    },
    "policies": {
        "name": [""],
        "revision": [0, 1],
        "document": [b"", b"{"],
        "written_at": _NO_MOMENT,
        "written_by": [""],
    },
    "api_keys": {
        "name": ["", "counter"],
        "digest": ["", "digest of counter"],
        "scopes": [*_NO_JSON, "{}", '"x"'],
        "site": [""],
        "created_at": _NO_MOMENT,
        "revoked_at": _NO_MOMENT,
    },
    "verdicts": {
        "sequence": [0, -2, 1, 13, 15],
        "id": ["", "v1"],
        "judged_at": _NO_MOMENT,
        **{name: [""] for name in ("key_name", "site", "make", "make_key", "model", "model_key")},
        **{name: [""] for name in ("vehicle", "reference", "policy_name", "engine", "digest")},
        "ruling": _NO_WORD,
        "kind": _NO_WORD,
        "axle": _NO_WORD,
        "side": [*_NO_WORD, "front"],
        "year": [0, 10000],
        "odometer_km": _NO_NUMBER,
        "release": [0, 3],
        "policy_revision": [-1],
        "limits_id": ["L9", None],
        "limits_revision": [3, None],
        "request": [b""],
        "answer": [b""],
    },
    "idempotency_keys": {"key_name": [""], "value": [""], "body_digest": [""], "sequence": [0, 99]},
    "misses": {
        **{name: [""] for name in ("make", "make_key", "model", "model_key", "brake_option")},
        "year": [0, 10000],
        "axle": _NO_WORD,
        "kind": _NO_WORD,
        "count": [0],
        "first_at": [*_NO_MOMENT, "2026-03-02T12:00:01.000000Z"],
        "last_at": [*_NO_MOMENT, "2026-03-02T12:00:00.000000Z"],
    },
    "pulse": {"one": [0, 2], "beats": [-1]},
    BOOKS: {"id": [], "migration_set": [], "name": [], "applied_at": []},
}
"""Values of the right type that no row may have, by table and column; a seal is tried for every table below."""


def _every_column() -> list[tuple[str, str]]:
    return [(table, column) for table, columns in REFUSED.items() for column in columns] + [
        (table, "seal") for table in SEALED
    ]


def _every_refusal() -> list[tuple[str, str, Any]]:
    listed = [
        (table, column, value) for table, columns in REFUSED.items() for column in columns for value in columns[column]
    ]
    seals = [(table, "seal", value) for table in SEALED for value in (b"", b"\x00" * 15, b"\x00" * 17)]
    return listed + seals


def test_every_table_and_column_is_tried_here(conn: sqlite3.Connection) -> None:
    found = {
        (table, column) for table in tables(conn) for _, column, *_ in conn.execute(f'PRAGMA table_xinfo("{table}")')
    }
    assert found == set(_every_column())


def test_every_table_is_strict(conn: sqlite3.Connection) -> None:
    strict = dict(conn.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'"))
    assert {table: strict[table] for table in tables(conn)} == dict.fromkeys(tables(conn), 1)


@pytest.mark.parametrize("table", REFUSED)
def test_a_table_takes_the_row_that_the_other_tests_spoil(conn: sqlite3.Connection, table: str) -> None:
    row = good_row(conn, table)
    assert {column for column, value in row.items() if value is None} <= {
        *MAY_BE_NULL.get(table, ()),
    }
    stored(conn, table, row)
    assert row in rows_of(conn, table)


@pytest.mark.parametrize(("table", "column"), _every_column())
def test_a_column_takes_null_only_where_something_may_be_left_open(
    conn: sqlite3.Connection, table: str, column: str
) -> None:
    row = good_row(conn, table) | {column: None}
    if (table, column) in NUMBERED_BY_SQLITE:
        stored(conn, table, row)
        assert None not in {row[column] for row in rows_of(conn, table)}
        return
    if column in MAY_BE_NULL.get(table, ()):
        for name in ("make", "model"):  # a written form and its key are there together or not at all
            if column in {name, f"{name}_key"}:
                row |= {name: None, f"{name}_key": None}
        if column in {"limits_id", "limits_revision"}:
            row |= {"limits_id": None, "limits_revision": None}
        stored(conn, table, row)
        return
    with pytest.raises(sqlite3.IntegrityError, match=r"NOT NULL|numbered one after another|says how many"):
        stored(conn, table, row)


@pytest.mark.parametrize(("table", "column"), _every_column())
def test_a_column_takes_no_value_of_another_type(conn: sqlite3.Connection, table: str, column: str) -> None:
    declared = {name: kind for _, name, kind, *_ in conn.execute(f'PRAGMA table_xinfo("{table}")')}
    wrong: dict[str, list[object]] = {"INTEGER": ["abc", 1.5, b"1"], "TEXT": [b"abc"], "BLOB": ["abc", 1, 1.5]}
    row = good_row(conn, table)
    for value in wrong[declared[column]]:
        with pytest.raises(sqlite3.IntegrityError):
            stored(conn, table, row | {column: value})
    assert row not in rows_of(conn, table)


@pytest.mark.parametrize(("table", "column", "value"), _every_refusal())
def test_a_column_takes_no_value_that_means_nothing(
    conn: sqlite3.Connection, table: str, column: str, value: object
) -> None:
    row = good_row(conn, table) | {column: value}
    before = rows_of(conn, table)
    with pytest.raises((sqlite3.IntegrityError, sqlite3.OperationalError), match=r"^(?!.*syntax error)"):
        stored(conn, table, row)
    if conn.in_transaction:
        conn.execute("ROLLBACK")
    assert rows_of(conn, table) == before


@pytest.mark.parametrize("kind", ["rotor", "drum", "parking_drum"])
@pytest.mark.parametrize(("nominal", "machining", "discard"), [(3, 1, 2), (2, 3, 1), (1, 3, 2), (1, 2, 3), (3, 2, 1)])
def test_limits_stand_in_the_order_in_which_a_part_wears(
    conn: sqlite3.Connection, kind: str, nominal: int, machining: int, discard: int
) -> None:
    sizes = {"nominal_tenth_nm": nominal, "machining_tenth_nm": machining, "discard_tenth_nm": discard}
    row = good_row(conn, "limit_revisions") | dict.fromkeys(_FORMS) | {"kind": kind} | sizes
    wears_down = [nominal, machining, discard] if kind == "rotor" else [discard, machining, nominal]
    if wears_down == sorted(wears_down, reverse=True):
        stored(conn, "limit_revisions", row)
        return
    with pytest.raises(sqlite3.IntegrityError, match="limits_in_order"):
        stored(conn, "limit_revisions", row)


@pytest.mark.parametrize(
    ("kind", "column"),
    [("rotor", "out_of_round_tenth_nm"), ("drum", "lateral_runout_tenth_nm"), ("drum", "thickness_variation_tenth_nm")],
)
def test_a_limit_belongs_to_its_kind_of_part(conn: sqlite3.Connection, kind: str, column: str) -> None:
    row = good_row(conn, "limit_revisions") | dict.fromkeys((*_FORMS, *_SIZES)) | {"kind": kind, column: 5}
    with pytest.raises(sqlite3.IntegrityError, match="limits_of_this_kind"):
        stored(conn, "limit_revisions", row)


@pytest.mark.parametrize("column", ["make", "make_key", "model", "model_key"])
def test_a_verdict_has_a_written_form_and_its_key_together(conn: sqlite3.Connection, column: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="_with_key"):
        stored(conn, "verdicts", good_row(conn, "verdicts") | {column: None})


def test_one_application_is_missed_in_one_row(conn: sqlite3.Connection) -> None:
    for row in rows_of(conn, "misses"):
        with pytest.raises(sqlite3.IntegrityError, match="misses_once"):
            stored(conn, "misses", row | {"count": 9})


@pytest.mark.parametrize(
    ("table", "column", "words"),
    [
        ("limit_revisions", "axle", Axle),
        ("limit_revisions", "kind", Kind),
        ("limit_revisions", "permission", Machining),
        ("limit_revisions", "construction", Construction),
        ("limit_revisions", "printed_unit", Unit),
        ("verdicts", "axle", Axle),
        ("verdicts", "kind", Kind),
        ("verdicts", "ruling", Ruling),
        ("verdicts", "side", Side),
        ("misses", "axle", Axle),
        ("misses", "kind", Kind),
    ],
)
def test_a_column_takes_every_word_of_its_vocabulary(
    conn: sqlite3.Connection, table: str, column: str, words: type[Kind]
) -> None:
    row = good_row(conn, table)
    if table == "limit_revisions":
        row |= dict.fromkeys((*_FORMS, *_SIZES))
    for word in words:
        conn.execute("SAVEPOINT word")
        insert(conn, table, row | {column: word.value})
        conn.execute("ROLLBACK TO word")
        conn.execute("RELEASE word")

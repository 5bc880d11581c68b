"""What the tables themselves refuse, column by column, whichever program writes to them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.store.conftest import fill
from tests.store.raw import Row, copy_of, insert, raw, rows_of, tables
from turnrule.judging.words import Axle, Construction, Kind, Machining, Ruling, Side, Unit
from turnrule.store.sqlite import open_sqlite

BOOKS = "_sqlite_migrations"
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


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a store with one of everything."""
    path = tmp_path_factory.mktemp("columns") / "store.sqlite"
    store = open_sqlite(path)
    store.migrate()
    fill(store)
    store.close()
    return path


@pytest.fixture
def conn(sample: Path) -> Iterator[sqlite3.Connection]:
    """A copy of it, to be written to."""
    with copy_of(sample) as copy:
        yield copy


NEXT: dict[str, Row] = {
    "releases": {"number": 3, "records": 2},
    "limit_revisions": {"limits_id": "L2", "revision": 2, "release": 3},
    "policies": {"revision": 3},
    "api_keys": {"name": "new", "digest": "new"},
    "verdicts": {"sequence": 14, "id": "new"},
    "idempotency_keys": {"value": "new"},
    "misses": {"model_key": "new"},
    "pulse": {"one": 1},
    BOOKS: {"id": 7, "name": "another"},
}
"""What makes a row of the sample the next one of its table."""


def good_row(conn: sqlite3.Connection, table: str) -> Row:
    """A row that the table takes, as full as any that is there."""
    rows = rows_of(conn, table)
    fullest = max(rows, key=lambda row: sum(value is not None for value in row.values()))
    if table == "pulse":
        conn.execute("DELETE FROM pulse")
    return fullest | NEXT[table]


def stored(conn: sqlite3.Connection, table: str, row: Row) -> None:
    """Store a row as a whole transaction; a revision takes the release with it that it belongs to."""
    conn.execute("BEGIN IMMEDIATE")
    try:
        insert(conn, table, row)
        if table == "limit_revisions":
            insert(conn, "releases", good_row(conn, "releases"))
        conn.execute("COMMIT")
    except sqlite3.IntegrityError:
        conn.execute("ROLLBACK")
        raise


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


KEPT = {
    "releases": ("never changed", "never deleted"),
    "limit_revisions": ("never changed", "never deleted"),
    "policies": ("never changed", "never deleted"),
    "verdicts": ("never changed", "never deleted"),
    "idempotency_keys": ("never changed", None),
    "api_keys": ("revoked once", "never deleted"),
}


@pytest.mark.parametrize(
    ("table", "column"), [(table, column) for table, column in _every_column() if table in KEPT and column != "seal"]
)
def test_nothing_that_is_kept_can_be_changed_not_even_to_itself(
    conn: sqlite3.Connection, table: str, column: str
) -> None:
    before = rows_of(conn, table)
    with pytest.raises(sqlite3.IntegrityError, match=KEPT[table][0]):
        conn.execute(f'UPDATE "{table}" SET "{column}" = "{column}"')  # noqa: S608  # names of ours
    for value in (None, 1, "x", b"x", "2026-03-03T00:00:00.000000Z"):
        with pytest.raises(sqlite3.IntegrityError):
            conn.execute(f'UPDATE "{table}" SET "{column}" = ?', (value,))  # noqa: S608  # names of ours
    assert rows_of(conn, table) == before


@pytest.mark.parametrize(("table", "message"), [(table, deleted) for table, (_, deleted) in KEPT.items() if deleted])
def test_nothing_that_is_kept_can_be_deleted(conn: sqlite3.Connection, table: str, message: str) -> None:
    conn.execute("PRAGMA foreign_keys = OFF")
    before = rows_of(conn, table)
    with pytest.raises(sqlite3.IntegrityError, match=message):
        conn.execute(f'DELETE FROM "{table}"')  # noqa: S608  # names of ours
    assert rows_of(conn, table) == before


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE"])
def test_nothing_that_is_kept_can_be_replaced_by_an_insert(
    conn: sqlite3.Connection, table: str, recursive: str, verb: str
) -> None:
    conn.execute(f"PRAGMA recursive_triggers = {recursive}")
    before = rows_of(conn, table)
    for row in before:
        with pytest.raises(sqlite3.IntegrityError):
            insert(conn, table, row, verb=verb)
    assert rows_of(conn, table) == before


def test_a_key_can_be_revoked_and_nothing_else(conn: sqlite3.Connection) -> None:
    at = "2026-03-03T00:00:00.000000Z"
    conn.execute("UPDATE api_keys SET revoked_at = ?, seal = zeroblob(16) WHERE name = 'counter'", (at,))
    for change in ("revoked_at = NULL", "revoked_at = '2026-03-04T00:00:00.000000Z'"):
        with pytest.raises(sqlite3.IntegrityError, match="revoked once"):
            conn.execute(f"UPDATE api_keys SET {change} WHERE name = 'counter'")  # noqa: S608  # names of ours
    (found,) = conn.execute("SELECT revoked_at FROM api_keys WHERE name = 'counter'").fetchone()
    assert found == at


@pytest.mark.parametrize("release", [1, 2])
def test_a_published_release_takes_no_more_revisions(conn: sqlite3.Connection, release: int) -> None:
    row = good_row(conn, "limit_revisions") | {"release": release}
    with pytest.raises(sqlite3.IntegrityError, match="takes no more revisions"):
        insert(conn, "limit_revisions", row)


def test_a_revision_without_its_release_is_not_committed(conn: sqlite3.Connection) -> None:
    conn.execute("BEGIN")
    insert(conn, "limit_revisions", good_row(conn, "limit_revisions"))
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        conn.execute("COMMIT")


def test_the_sample_was_written_by_the_store_itself(sample: Path) -> None:
    with raw(sample) as conn:
        assert all(rows_of(conn, table) for table in tables(conn))
    store = open_sqlite(sample)
    assert store.check() == []
    store.close()

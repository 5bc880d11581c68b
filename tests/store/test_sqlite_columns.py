"""What the tables themselves refuse, column by column, whichever program writes to them."""

from __future__ import annotations

import sqlite3
from typing import Any

import pytest

from tests.store.column_values import ALONGSIDE, FORMS, MAY_BE_NULL, NUMBERED_BY_SQLITE, REFUSED, SEALED, SIZES
from tests.store.raw import good_row, insert, rows_of, stored, tables
from turnrule.judging.words import Axle, Construction, Kind, Machining, Ruling, Side, Unit

_WHY_NOT_NULL = (
    r"NOT NULL|numbered|names who entered|counts what is there|settled before the first limits|names the axle"
)
"""A trigger may be asked before the column is; whether a shop is of one person is no longer open in the sample."""


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
        stored(conn, table, row | ALONGSIDE.get((table, column), {}))
        return
    with pytest.raises(sqlite3.IntegrityError, match=_WHY_NOT_NULL):
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
    row = good_row(conn, "limit_revisions") | dict.fromkeys(FORMS) | {"kind": kind} | sizes
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
    row = good_row(conn, "limit_revisions") | dict.fromkeys((*FORMS, *SIZES)) | {"kind": kind, column: 5}
    with pytest.raises(sqlite3.IntegrityError, match="limits_of_this_kind"):
        stored(conn, "limit_revisions", row)


@pytest.mark.parametrize("column", ["make", "make_key", "model", "model_key"])
def test_a_verdict_has_a_written_form_and_its_key_together(conn: sqlite3.Connection, column: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="_with_key"):
        stored(conn, "verdicts", good_row(conn, "verdicts") | {column: None})


@pytest.mark.parametrize("column", ["lathe_name", "lathe_revision"])
def test_a_verdict_names_a_lathe_with_its_revision(conn: sqlite3.Connection, column: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="lathe_with_revision"):
        stored(conn, "verdicts", good_row(conn, "verdicts") | {column: None})


def test_an_axle_has_a_side(conn: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="a_side_at_least"):
        stored(conn, "axle_verdicts", good_row(conn, "axle_verdicts") | {"left_id": None, "right_id": None})


def test_a_verdict_that_names_an_axle_is_stored_with_it_or_not_at_all(conn: sqlite3.Connection) -> None:
    before = rows_of(conn, "verdicts")
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        stored(conn, "verdicts", good_row(conn, "verdicts") | {"axle_id": "never stored"})
    assert rows_of(conn, "verdicts") == before


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
        ("vehicles", "kind", Kind),
    ],
)
def test_a_column_takes_every_word_of_its_vocabulary(
    conn: sqlite3.Connection, table: str, column: str, words: type[Kind]
) -> None:
    row = good_row(conn, table)
    if table == "limit_revisions":
        row |= dict.fromkeys((*FORMS, *SIZES))
    for word in words:
        conn.execute("SAVEPOINT word")
        insert(conn, table, row | {column: word.value})
        conn.execute("ROLLBACK TO word")
        conn.execute("RELEASE word")

"""The file itself keeps the two entries of a record apart, whichever program writes to it."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.entries import differ, draft
from tests.store.raw import Row, insert, raw
from tests.store.samples import ENTERED, NOON, SECOND
from turnrule.store.limit_records import StoreRules
from turnrule.store.sqlite import open_sqlite
from turnrule.store.sqlite_rows import moment_text

PAUSE = datetime.timedelta(hours=3)
SEAL = bytes(16)


def _store(path: Path, pause: datetime.timedelta | None) -> None:
    """A store with the open draft L1 of the first reader."""
    store = open_sqlite(path)
    store.migrate()
    if pause is not None:
        store.set_rules(StoreRules(pause), at=NOON, by="office")
    store.enter(draft("L1"))
    store.close()


@pytest.fixture
def two(path: Path) -> Iterator[sqlite3.Connection]:
    """The file of a store for two people."""
    _store(path, None)
    with raw(path) as conn:
        yield conn


@pytest.fixture
def alone(path: Path) -> Iterator[sqlite3.Connection]:
    """The file of a store for a shop of one person."""
    _store(path, PAUSE)
    with raw(path) as conn:
        yield conn


def _acceptance(by: str, *, after: datetime.timedelta = PAUSE, **changes: object) -> Row:
    at = moment_text(ENTERED + after)
    row = {"sequence": 1, "limits_id": "L1", "revision": 1, "entered_by": "first reader", "verified_by": by}
    return {**row, "entered_at": moment_text(ENTERED), "verified_at": at, "pause_s": None, "seal": SEAL, **changes}


def _mismatch(by: str, attempt: int = 1, *, after: datetime.timedelta = PAUSE) -> Row:
    row = {
        "limits_id": "L1",
        "revision": 1,
        "attempt": attempt,
        "entered_by": by,
        "fields": '["/unit"]',
        "entry": b"{}",
    }
    return {**row, "entered_at": moment_text(ENTERED + after), "seal": SEAL}


SECONDS = int(PAUSE.total_seconds())


@pytest.mark.parametrize("pause", [None, 0, SECONDS])
def test_one_person_never_makes_both_entries_in_a_store_for_two(two: sqlite3.Connection, pause: int | None) -> None:
    for after in (PAUSE, 100 * PAUSE):
        with pytest.raises(sqlite3.IntegrityError, match="independence: "):
            insert(two, "acceptances", _acceptance("first reader", after=after, pause_s=pause))
    insert(two, "acceptances", _acceptance("second reader"))


def test_the_tables_constraint_stands_behind_the_trigger(two: sqlite3.Connection) -> None:
    two.execute("DROP TRIGGER acceptances_one_person")
    with pytest.raises(sqlite3.IntegrityError, match="two_people"):
        insert(two, "acceptances", _acceptance("first reader"))


def test_an_acceptance_names_no_other_first_reader_than_the_revision_does(two: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="names who entered the revision"):
        insert(two, "acceptances", _acceptance("first reader", entered_by="somebody else"))


def test_an_acceptance_names_no_earlier_moment_than_the_revision_does(alone: sqlite3.Connection) -> None:
    early = {"entered_at": moment_text(ENTERED - PAUSE), "pause_s": SECONDS}
    with pytest.raises(sqlite3.IntegrityError, match="names who entered the revision"):
        insert(alone, "acceptances", _acceptance("first reader", after=0 * SECOND, **early))


@pytest.mark.parametrize("pause", [None, 0, SECONDS - 1, SECONDS + 1])
def test_one_person_waits_for_the_pause_of_the_store_and_no_other(alone: sqlite3.Connection, pause: int | None) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="independence: "):
        insert(alone, "acceptances", _acceptance("first reader", after=100 * PAUSE, pause_s=pause))


def test_one_person_makes_the_second_entry_when_the_pause_is_over_and_not_before(alone: sqlite3.Connection) -> None:
    for after in (-PAUSE, 0 * SECOND, PAUSE - SECOND):
        with pytest.raises(sqlite3.IntegrityError, match="independence: "):
            insert(alone, "acceptances", _acceptance("first reader", after=after, pause_s=SECONDS))
    insert(alone, "acceptances", _acceptance("first reader", pause_s=SECONDS))


def test_two_people_wait_for_nothing_in_a_store_for_one(alone: sqlite3.Connection) -> None:
    insert(alone, "acceptances", _acceptance("second reader", after=0 * SECOND))


def test_a_second_entry_that_differs_is_another_persons_as_well(two: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="independence: "):
        insert(two, "mismatches", _mismatch("first reader"))
    insert(two, "mismatches", _mismatch("second reader"))
    insert(two, "mismatches", _mismatch("second reader", 2))


def test_a_second_entry_that_differs_waits_for_the_pause_as_well(alone: sqlite3.Connection) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="independence: "):
        insert(alone, "mismatches", _mismatch("first reader", after=PAUSE - SECOND))
    insert(alone, "mismatches", _mismatch("first reader"))


@pytest.mark.parametrize("by", ["first reader", "second reader", "third reader"])
def test_after_two_mismatches_none_of_those_three_settles_it(path: Path, by: str) -> None:
    _store(path, PAUSE)
    store = open_sqlite(path)
    for other in ("second reader", "third reader"):
        differ(store, "L1", by=other)
    store.close()
    with raw(path) as conn:
        with pytest.raises(sqlite3.IntegrityError, match="independence: after two mismatches"):
            insert(conn, "acceptances", _acceptance(by, after=100 * PAUSE, pause_s=SECONDS))
        with pytest.raises(sqlite3.IntegrityError, match="independence: after two mismatches"):
            insert(conn, "mismatches", _mismatch(by, 3, after=100 * PAUSE))
        insert(conn, "mismatches", _mismatch("fourth reader", 3))
        with pytest.raises(sqlite3.IntegrityError, match="independence: after two mismatches"):
            insert(conn, "acceptances", _acceptance("fourth reader", pause_s=SECONDS))
        insert(conn, "acceptances", _acceptance("fifth reader"))


def _rules(revision: int, *, pause: int | None = None, signed: int = 0) -> Row:
    row = {"revision": revision, "set_at": moment_text(NOON), "set_by": "office", "trusted_keys": "[]", "seal": SEAL}
    return {**row, "one_person_pause_s": pause, "signed_packs_only": signed}


def test_a_store_for_two_never_becomes_one_for_one_person_once_limits_were_entered(two: sqlite3.Connection) -> None:
    for pause in (0, SECONDS):
        with pytest.raises(sqlite3.IntegrityError, match="rules: "):
            insert(two, "store_rules", _rules(1, pause=pause))
    insert(two, "store_rules", _rules(1, signed=1))


@pytest.mark.parametrize("pause", [None, 0, SECONDS - 1])
def test_the_pause_of_a_store_stays_as_it_is_once_limits_were_entered(
    alone: sqlite3.Connection, pause: int | None
) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="rules: "):
        insert(alone, "store_rules", _rules(2, pause=pause))
    insert(alone, "store_rules", _rules(2, pause=SECONDS))


def test_a_store_that_takes_signed_packs_only_goes_on_doing_so(two: sqlite3.Connection) -> None:
    insert(two, "store_rules", _rules(1, signed=1))
    with pytest.raises(sqlite3.IntegrityError, match="rules: "):
        insert(two, "store_rules", _rules(2, signed=0))
    insert(two, "store_rules", _rules(2, signed=1))

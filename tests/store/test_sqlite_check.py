"""The check finds each thing that can be wrong with a store, and names it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.store.breaking import without_triggers
from tests.store.raw import raw
from tests.store.samples import axle, verdict
from turnrule.store.port import StoreUnavailableError
from turnrule.store.sqlite import SqliteStore, open_sqlite


def test_a_sound_store_has_no_faults(filled: SqliteStore) -> None:
    assert filled.check() == []


BROKEN = {
    "DELETE FROM verdicts WHERE sequence = 5": "verdict 5 is missing",
    "DELETE FROM verdicts WHERE sequence BETWEEN 3 AND 6": "verdicts 3 to 6 are missing",
    "DELETE FROM verdicts WHERE sequence > 11": "verdicts 12 to 13 are missing",
    "DELETE FROM verdicts": "verdicts 1 to 13 are missing",
    "UPDATE sqlite_sequence SET seq = 4 WHERE name = 'verdicts'": "stands at 4, and there is a verdict 13",
    "DELETE FROM releases WHERE number = 1": "release 1 is missing: the next one is 2",
    "DELETE FROM limit_revisions WHERE limits_id = 'L2'": "release 1 says that it holds 2 records, and 1 are there",
    "DELETE FROM limit_revisions WHERE limits_id = 'L1' AND revision = 1": "refers to a row of limit_revisions",
    "UPDATE releases SET records = 9": "a row of releases is not as it was written",
}


@pytest.mark.parametrize(("statement", "fault"), BROKEN.items())
def test_what_is_missing_or_does_not_add_up_is_named(filled: SqliteStore, statement: str, fault: str) -> None:
    without_triggers(filled.path, statement)
    assert any(fault in found for found in filled.check()), filled.check()


SCHEMA = {
    "DROP TRIGGER verdicts_no_delete": "the trigger verdicts_no_delete is missing",
    "DROP INDEX verdicts_by_site": "the index verdicts_by_site is missing",
    "DROP TABLE pulse": "the table pulse is missing",
    "CREATE TABLE extra (x INTEGER) STRICT": "the table extra does not belong to the store",
    "CREATE TABLE loose (x)": "the table loose is not STRICT",
    "CREATE TRIGGER extra AFTER INSERT ON pulse BEGIN SELECT 1; END": "the trigger extra does not belong to the store",
}


@pytest.mark.parametrize(("statement", "fault"), SCHEMA.items())
def test_a_schema_that_is_not_the_migrations_is_named(filled: SqliteStore, statement: str, fault: str) -> None:
    with raw(filled.path) as conn:
        conn.execute(statement)
    assert fault in filled.check()


def test_a_trigger_of_the_same_name_that_does_nothing_is_named(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("DROP TRIGGER verdicts_no_delete")
        conn.execute("CREATE TRIGGER verdicts_no_delete BEFORE DELETE ON verdicts BEGIN SELECT 1; END")
    assert filled.check() == ["the trigger verdicts_no_delete is not as the migrations made it"]


def test_a_name_in_the_schema_that_is_no_text_is_named(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("PRAGMA writable_schema = ON")
        conn.execute("UPDATE sqlite_schema SET name = CAST(name AS BLOB) WHERE name = 'verdicts_no_delete'")
    filled.close()
    assert any("verdicts_no_delete" in fault or "damaged" in fault for fault in _faults(filled.path))


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (b'{"digest": "sha256:other"}', "sha256:other"),
        (b'{"no": "digest"}', "none"),
        (b"[]", "none"),
        (b"{", "nothing that can be read"),
        (b"\xff", "nothing that can be read"),
        (b"[" * 100_000, "nothing that can be read"),
    ],
)
def test_a_verdict_whose_answer_has_another_digest_is_named(filled: SqliteStore, answer: bytes, said: str) -> None:
    filled.record_verdict(verdict("odd", answer=answer))
    assert filled.check() == [f"verdict 14 is recorded with the digest sha256:odd, and its answer says {said}"]


def test_an_axle_verdict_whose_answer_has_another_digest_is_named(filled: SqliteStore) -> None:
    sides = [verdict("l1"), verdict("r1", side="right")]
    filled.record_axle(axle("odd", answer=b'{"digest": "sha256:other"}'), sides)
    said = "axle verdict 2 is recorded with the digest sha256:odd, and its answer says sha256:other"
    assert filled.check() == [said]


def test_a_side_of_an_axle_that_does_not_name_it_is_named(filled: SqliteStore) -> None:
    filled.record_axle(axle("a2", "l1", None), [verdict("l1"), verdict("stray", side="right")])
    assert filled.check() == ["verdict 15 names the axle verdict a2, which does not name it"]


def test_what_no_event_tells_of_and_an_event_of_nothing_are_named(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        (sequence,) = conn.execute("SELECT sequence FROM events WHERE kind = 'verdict' AND number = 3").fetchone()
        conn.execute("DROP TRIGGER events_no_update")
        conn.execute("UPDATE events SET number = 300 WHERE sequence = ?", (sequence,))
    found = filled.check()
    assert "no event tells of row 3 of verdicts" in found
    assert f"event {sequence} tells of a verdict that is not there" in found
    with pytest.raises(StoreUnavailableError, match="points at a verdict that is not there"):
        filled.events()


def test_an_undone_write_gives_its_number_back(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("CREATE TRIGGER broken AFTER INSERT ON verdicts BEGIN SELECT RAISE(ABORT, 'broken'); END")
        with pytest.raises(Exception, match="broken"):
            filled.record_verdict(verdict("new"))
        conn.execute("DROP TRIGGER broken")
    assert filled.record_verdict(verdict("new")).sequence == 14
    assert filled.check() == []


def test_pages_that_sqlite_itself_finds_damaged_are_named(filled: SqliteStore) -> None:
    filled.close()
    content = bytearray(filled.path.read_bytes())
    with raw(filled.path) as conn:
        (page,) = conn.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'verdicts_by_vehicle'").fetchone()
    start = (page - 1) * 4096
    content[start : start + 4096] = bytes(4096)
    filled.path.write_bytes(content)
    store = open_sqlite(filled.path)
    assert store.check() != []
    store.close()


def test_a_file_that_is_cut_off_is_named(filled: SqliteStore) -> None:
    filled.close()
    content = filled.path.read_bytes()
    filled.path.write_bytes(content[: len(content) // 2])
    assert any("damaged" in fault or "integrity" in fault for fault in _faults(filled.path))


def _faults(path: Path) -> list[str]:
    """What opening or checking a file says of it."""
    try:
        store = open_sqlite(path)
    except StoreUnavailableError as error:
        return [str(error)]
    found = list(store.check())
    store.close()
    return found


def test_a_check_reads_one_state_while_others_write(filled: SqliteStore) -> None:
    other = open_sqlite(filled.path)
    for number in range(5):
        other.record_verdict(verdict(f"other {number}"))
        assert filled.check() == []
    other.close()

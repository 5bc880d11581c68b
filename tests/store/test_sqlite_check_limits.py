"""The check finds each thing that can be wrong with the limits of a store, and names it."""

from __future__ import annotations

import pytest

from tests.store.breaking import without_triggers
from tests.store.entries import accepted, draft, model, release
from tests.store.samples import publish, revision
from turnrule.store.sqlite import SqliteStore
from turnrule.store.sqlite_limit_tables import ACCEPTANCES, LIMIT_REVISIONS, RELEASES

SEALED = {table.name: table for table in (RELEASES, LIMIT_REVISIONS, ACCEPTANCES)}

BROKEN = {
    "DELETE FROM releases WHERE number = 1": "release 1 is missing: the next one is 2",
    "DELETE FROM acceptances WHERE sequence = 2": "release 1 says that it holds 2 records, and 1 are there",
    "DELETE FROM acceptances WHERE sequence = 3": "release 2 has the digest ",
    "DELETE FROM acceptances WHERE sequence = 4": "an acceptance is missing",
    "DELETE FROM acceptances WHERE sequence = 5": "an acceptance is missing",
    "DELETE FROM withdrawals": "a withdrawal is missing",
    "DELETE FROM open_drafts WHERE limits_id = 'L3'": "revision 1 of L3 is neither verified nor rejected nor waiting",
    "DELETE FROM acceptances WHERE limits_id = 'L6'": "revision 1 of L6 is neither verified nor rejected nor waiting",
    "DELETE FROM rejections": "revision 1 of L5 is neither verified nor rejected nor waiting",
    "INSERT INTO open_drafts VALUES ('L6', 1, NULL)": "revision 1 of L6 waits for a second entry although it cannot",
    "INSERT INTO open_drafts VALUES ('L5', 1, NULL)": "revision 1 of L5 waits for a second entry although it cannot",
    "INSERT INTO open_drafts VALUES ('L9', 1, NULL)": "revision 1 of L9 waits for a second entry although it cannot",
    "UPDATE open_drafts SET revision = 2 WHERE limits_id = 'L4'": "revision 2 of L4 waits for a second entry",
    "UPDATE open_drafts SET import_id = NULL WHERE limits_id = 'L4'": "revision 1 of L4 waits with another import",
    "UPDATE vehicles SET make = 'Corvana'": "Corvana Ostrel is listed among the vehicles, and no record is for it",
    "UPDATE vehicles SET model = 'Ostrep'": "Corvane Ostrep is listed among the vehicles, and no record is for it",
    "UPDATE vehicles SET kind = 'parking_drum' WHERE kind = 'drum'": "Corvane Ostrel is listed among the vehicles",
    "DELETE FROM vehicles WHERE model_key = 'ostrel 6'": "Corvane Ostrel 6 is missing among the vehicles",
    "UPDATE imports SET finished = 0": "a row of imports is not as it was written",
    "UPDATE rejections SET reason = 'another'": "a row of rejections is not as it was written",
    "UPDATE mismatches SET entered_by = 'another'": "a row of mismatches is not as it was written",
    "UPDATE store_rules SET one_person_pause_s = 0": "a row of store_rules is not as it was written",
    "UPDATE kept_answers SET status = 200": "a row of kept_answers is not as it was written",
}


@pytest.mark.parametrize(("statement", "fault"), BROKEN.items())
def test_what_is_missing_or_contradicts_itself_is_named(filled: SqliteStore, statement: str, fault: str) -> None:
    without_triggers(filled.path, statement)
    assert any(fault in found for found in filled.check()), filled.check()


FORGED: list[tuple[str, str, str, object, str]] = [
    ("releases", "number = 1", "records", 3, "release 1 says that it holds 3 records, and 2 are there"),
    ("releases", "number = 2", "digest", "sha256:0f", "release 2 has the digest sha256:0f, and its content has "),
    ("releases", "number = 1", "by_one_person", 1, "release 1 counts 1 records entered by one person, and 0 are there"),
    ("releases", "number = 1", "accepted", 1, "release 1 says that it holds 2 records, and 1 are there"),
    ("limit_revisions", "limits_id = 'L2'", "taper_tenth_nm", 1, "revision 1 of L2 is not what its digest says"),
    ("limit_revisions", "limits_id = 'L4'", "year_to", 2030, "revision 1 of L4 is not what its digest says"),
    ("limit_revisions", "limits_id = 'L2'", "digest", "sha256:0f", "revision 1 of L2 is not what its digest says"),
    (
        "limit_revisions",
        "limits_id = 'L6'",
        "entered_by",
        "another",
        "the acceptance of revision 1 of L6 names another",
    ),
    ("acceptances", "sequence = 1", "entered_by", "another", "the acceptance of revision 1 of L1 names another"),
    (
        *("acceptances", "sequence = 1", "entered_at", "2026-01-01T12:00:00.000000Z"),
        "the acceptance of revision 1 of L1 names another",
    ),
]


@pytest.mark.parametrize(("table", "which", "column", "value", "fault"), FORGED)
def test_a_row_that_was_changed_and_sealed_anew_is_named(
    filled: SqliteStore, table: str, which: str, column: str, value: object, fault: str
) -> None:
    """Its seal fits, as that of a row fits that a faulty program wrote; its meaning does not."""
    without_triggers(filled.path, (SEALED[table], which, column, value))
    found = list(filled.check())
    assert not any("not as it was written" in one for one in found)
    assert any(fault in one for one in found), found


def test_a_long_history_of_a_store_is_sound(filled: SqliteStore) -> None:
    release(filled, notes="third")
    accepted(filled, draft("L4a", fits=model(8)))
    publish(filled, revision("L8"), notes="fourth")
    assert filled.check() == []

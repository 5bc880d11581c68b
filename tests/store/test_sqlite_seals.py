"""A row that was changed behind the store's back is never handed out, and the check names it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import pytest

from tests.store.entries import draft, model
from tests.store.raw import raw, rows_of
from tests.store.samples import key
from turnrule.store.port import Idempotency, LimitQuery, StoreUnavailableError, VerdictQuery
from turnrule.store.sqlite import SqliteStore
from turnrule.store.sqlite_rows import SEAL_BYTES
from turnrule.store.sqlite_tables import SEALED

ALL = VerdictQuery()
Read = Callable[[], object]


@pytest.mark.parametrize("change", [1, -1])
def test_a_limit_that_was_changed_behind_the_stores_back_is_never_handed_out(filled: SqliteStore, change: int) -> None:
    with raw(filled.path) as conn:
        conn.execute("DROP TRIGGER limit_revisions_no_update")
        conn.execute("UPDATE limit_revisions SET taper_tenth_nm = taper_tenth_nm + ? WHERE limits_id = 'L2'", (change,))
    with pytest.raises(StoreUnavailableError, match="not as it was written"):
        filled.limits(LimitQuery())
    with pytest.raises(StoreUnavailableError, match="not as it was written"):
        filled.limit_revision("L2")
    assert filled.limit_revision("L1") is not None
    assert any("not as it was written" in fault for fault in filled.check())


CHANGES = {
    "a verdict's answer": "UPDATE verdicts SET answer = CAST(replace(answer, '1', '2') AS BLOB) WHERE sequence = 2",
    "a verdict's place": "UPDATE verdicts SET sequence = 20 WHERE sequence = 13",
    "a release's notes": "UPDATE releases SET notes = 'other' WHERE number = 1",
    "a policy": "UPDATE policies SET document = CAST('{}' AS BLOB)",
    "a lathe": "UPDATE lathes SET document = CAST('{}' AS BLOB) WHERE revision = 2",
    "a site": "UPDATE sites SET policy = 'lax' WHERE revision = 2",
    "an axle verdict": "UPDATE axle_verdicts SET ruling = 'serviceable'",
    "a verdict's lathe": "UPDATE verdicts SET lathe_revision = 2 WHERE lathe_revision = 1",
    "a key's scopes": "UPDATE api_keys SET scopes = '[\"admin\"]' WHERE name = 'counter'",
    "a miss": "UPDATE misses SET count = 90",
    "a draft": "UPDATE limit_revisions SET year_to = 2031 WHERE limits_id = 'L3'",
    "an acceptance": "UPDATE acceptances SET verified_by = 'nobody' WHERE sequence = 3",
    "a second entry that differs": "UPDATE mismatches SET fields = '[1]'",
    "a rejection": "UPDATE rejections SET reason = 'another'",
    "a withdrawal": "UPDATE withdrawals SET revision = 2",
    "the rules": "UPDATE store_rules SET signed_packs_only = 0",
    "a kept answer": "UPDATE kept_answers SET status = 409",
    "an idempotency key": "UPDATE idempotency_keys SET sequence = 3 WHERE value = 'k1'",
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_every_sealed_row_shows_that_it_was_changed(filled: SqliteStore, change: str) -> None:
    with raw(filled.path) as conn:
        for (name,) in conn.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            conn.execute(f"DROP TRIGGER {name}")
        conn.execute("PRAGMA foreign_keys = OFF")
        assert conn.execute(change).rowcount > 0
    assert any("not as it was written" in fault for fault in filled.check())
    reads: dict[str, Read] = {
        "verdicts": partial(filled.verdicts, ALL),
        "releases": filled.releases,
        "policies": filled.policies,
        "lathes": filled.lathes,
        "sites": filled.sites,
        "axle_verdicts": filled.axles,
        "api_keys": filled.keys,
        "misses": filled.misses,
        "limit_revisions": filled.drafts,
        "acceptances": partial(filled.limits, LimitQuery()),
        "mismatches": partial(filled.open_draft, "L3"),
        "rejections": partial(filled.history, "L5"),
        "withdrawals": filled.withdrawals,
        "store_rules": filled.rules,
        "kept_answers": partial(filled.answered, Idempotency("counter", "withdrawn", "body")),
        "idempotency_keys": partial(filled.idempotent, Idempotency("counter", "k1", "body 1")),
    }
    (table,) = [name for name in reads if f"UPDATE {name} " in change]
    with pytest.raises(StoreUnavailableError, match="not as it was written"):
        reads[table]()


def test_drafts_whose_import_was_damaged_are_never_cleared_away(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("DROP TRIGGER imports_no_reopening")
        conn.execute("UPDATE imports SET finished = 0, touched = 0")
    with pytest.raises(StoreUnavailableError, match="not as it was written"):
        filled.enter(draft("L9", fits=model(9)))
    with raw(filled.path) as conn:
        assert [row["limits_id"] for row in rows_of(conn, "open_drafts")] == ["L3", "L4"]
    assert any("a row of imports is not as it was written" in fault for fault in filled.check())


def test_a_seal_covers_every_other_column_and_every_row_has_its_own(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        for table in SEALED:
            rows = rows_of(conn, table.name)
            seals = {row["seal"] for row in rows}
            assert len(seals) == len(rows)
            assert {len(seal) for seal in seals} == {SEAL_BYTES}


def test_a_key_whose_secret_was_changed_behind_the_stores_back_opens_nothing(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        conn.execute("DROP TRIGGER api_keys_only_revoked")
        conn.execute("UPDATE api_keys SET digest = 'digest of a thief' WHERE name = 'counter'")
        conn.execute("UPDATE api_keys SET revoked_at = NULL WHERE name = 'office'")
    for name in ("a thief", "office"):
        with pytest.raises(StoreUnavailableError, match="not as it was written"):
            filled.key_by_digest(f"digest of {name}")
    with pytest.raises(StoreUnavailableError):
        filled.keys()
    filled.add_key(key("new"))
    assert filled.key_by_digest("digest of new") == key("new")

"""A damaged file is reported by opening it, by its check or by the call that meets it, and never answers wrongly."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from tests.store.conftest import fill
from tests.store.raw import raw, rows_of
from tests.store.samples import key, verdict
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    StoreError,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)
from turnrule.store.sqlite import SqliteStore, open_sqlite
from turnrule.store.sqlite_rows import SEAL_BYTES

FLIPS = 300
ALL = VerdictQuery()


Read = Callable[[], object]


def _reads(store: SqliteStore) -> dict[str, Read]:
    """Every way to read what `fill` wrote."""
    reads: dict[str, Read] = {
        "releases": store.releases,
        "limits": partial(store.limits, LimitQuery()),
        "limits of one": partial(store.limits, LimitQuery(make="Corvane", model="Ostrel", release=1)),
        "applications": store.applications,
        "policies": store.policies,
        "policy": partial(store.policy, "careful", 1),
        "keys": store.keys,
        "misses": store.misses,
        "verdicts": partial(store.verdicts, ALL),
        "verdicts of one": partial(store.verdicts, VerdictQuery(vehicle="unit 3", make="corvane")),
    }
    for number in (1, 2):
        reads[f"release {number}"] = partial(store.release, number)
        reads[f"revision {number}"] = partial(store.limit_revision, "L1", number)
    for name in ("counter", "office"):
        reads[f"key {name}"] = partial(store.key_by_digest, f"digest of {name}")
    for number in range(12):
        idempotency = Idempotency("counter", f"k{number}", f"body {number}")
        reads[f"verdict {number}"] = partial(store.verdict, f"v{number}")
        reads[f"answered {number}"] = partial(store.idempotent, idempotency)
    return reads


def _answer(read: Read) -> object:
    """What is handed out; None where the store says that it is damaged and what to do."""
    try:
        return read()
    except StoreUnavailableError as error:
        return None if "restore the last sound backup" in str(error) else error


@dataclass(frozen=True)
class Closed:
    """The bytes of a closed store, and what it answers to every read."""

    content: bytes
    answers: dict[str, object]


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Closed:
    """A closed store."""
    path = tmp_path_factory.mktemp("damage") / "store.sqlite"
    store = open_sqlite(path)
    store.migrate()
    fill(store)
    answers = {name: read() for name, read in _reads(store).items()}
    store.close()
    assert not path.with_name("store.sqlite-wal").exists()
    return Closed(path.read_bytes(), answers)


@dataclass
class Found:
    """What became of one damaged copy."""

    reported: bool
    wrong: list[str]


def _examined(path: Path, closed: Closed) -> Found:
    """Open, check and read a damaged copy."""
    try:
        store = open_sqlite(path)
    except StoreError:
        return Found(reported=True, wrong=[])
    try:
        try:
            reported = bool(store.check())
        except StoreError:
            reported = True
        wrong = []
        for name, read in _reads(store).items():
            try:
                if read() != closed.answers[name]:
                    wrong.append(name)
            except StoreError:
                reported = True
        return Found(reported, wrong)
    finally:
        store.close()


def _flips(content: bytes, seed: int, count: int) -> Iterator[tuple[int, int]]:
    """Places and bits: anywhere in the file, and as often near something that was written."""
    chance = random.Random(seed)
    written = [place for place, byte in enumerate(content) if byte]
    for number in range(count):
        place = chance.choice(written) if number % 2 else chance.randrange(len(content))
        yield place, 1 << chance.randrange(8)


def test_no_flipped_bit_of_a_closed_store_is_read_as_another_record(closed: Closed, tmp_path: Path) -> None:
    path = tmp_path / "store.sqlite"
    reported = 0
    for place, bit in _flips(closed.content, 7, FLIPS):
        damaged = bytearray(closed.content)
        damaged[place] ^= bit
        path.write_bytes(damaged)
        found = _examined(path, closed)
        assert found.reported or not found.wrong, f"byte {place}, bit {bit}: {found.wrong}"
        reported += found.reported
    # The test would tell nothing if the flips had met only what is not in use.
    assert reported > FLIPS // 4


def test_every_flipped_bit_of_the_book_of_migrations_is_reported(closed: Closed, tmp_path: Path) -> None:
    """What the library reads by name must not bring down the check that is to report it."""
    path = tmp_path / "store.sqlite"
    start = closed.content.index(b'CREATE TABLE "_sqlite_migrations"')
    end = closed.content.index(b"STRICT", start) + len(b"STRICT")
    assert end - start > 100
    for place in range(start, end):
        damaged = bytearray(closed.content)
        damaged[place] ^= 1 << place % 8
        path.write_bytes(damaged)
        assert _examined(path, closed).reported, place - start


def test_no_flipped_bit_within_a_row_gets_past_its_seal(closed: Closed, tmp_path: Path) -> None:
    """Without the check: whatever is handed out is what was written, or is not handed out at all."""
    path = tmp_path / "store.sqlite"
    text = b"Corvane"
    places = [place for place in range(len(closed.content)) if closed.content.startswith(text, place)]
    assert len(places) > 10
    for place in places:
        damaged = bytearray(closed.content)
        damaged[place + 1] ^= 1
        path.write_bytes(damaged)
        store = open_sqlite(path)
        for name, read in _reads(store).items():
            found = _answer(read)
            # A look-up whose key was damaged may find nothing; `applications` names what is there, and no limits.
            assert found in ([], None, closed.answers[name]) or name == "applications", name
        assert store.check() != []
        store.close()


def test_a_log_that_was_damaged_after_a_crash_keeps_a_beginning_of_the_history(tmp_path: Path) -> None:
    path = tmp_path / "store.sqlite"
    store = open_sqlite(path)
    store.migrate()
    kept = [store.record_verdict(verdict(f"v{number}")) for number in range(30)]
    copies = {name: (tmp_path / name).read_bytes() for name in ("store.sqlite", "store.sqlite-wal")}
    store.close()
    chance = random.Random(11)
    crashed = tmp_path / "crashed"
    for _ in range(60):
        shutil.rmtree(crashed, ignore_errors=True)
        crashed.mkdir()
        for name, content in copies.items():
            damaged = bytearray(content)
            if name.endswith("-wal"):
                damaged[chance.randrange(len(damaged))] ^= 1 << chance.randrange(8)
            (crashed / name).write_bytes(damaged)
        again = open_sqlite(crashed / "store.sqlite")
        try:
            found = list(again.verdicts(ALL))
        except StoreNotMigratedError:
            found = []
        assert found == kept[: len(found)]
        again.close()


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
    "a key's scopes": "UPDATE api_keys SET scopes = '[\"admin\"]' WHERE name = 'counter'",
    "a miss": "UPDATE misses SET count = 90",
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
        "api_keys": filled.keys,
        "misses": filled.misses,
        "idempotency_keys": partial(filled.idempotent, Idempotency("counter", "k1", "body 1")),
    }
    (table,) = [name for name in reads if f"UPDATE {name} " in change]
    with pytest.raises(StoreUnavailableError, match="not as it was written"):
        reads[table]()


def test_a_seal_covers_every_other_column_and_every_row_has_its_own(filled: SqliteStore) -> None:
    with raw(filled.path) as conn:
        for table in ("releases", "limit_revisions", "policies", "api_keys", "verdicts", "idempotency_keys", "misses"):
            rows = rows_of(conn, table)
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

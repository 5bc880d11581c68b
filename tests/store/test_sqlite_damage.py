"""A damaged file is reported by opening it, by its check or by the call that meets it, and never answers wrongly."""

from __future__ import annotations

import datetime
import random
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest

from tests.store.conftest import fill
from tests.store.entries import model
from tests.store.samples import NOON, verdict
from turnrule.judging.words import Kind
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    StoreError,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)
from turnrule.store.sqlite import SqliteStore, open_sqlite

FLIPS = 300
ALL = VerdictQuery()


Read = Callable[[], object]


def _reads(store: SqliteStore) -> dict[str, Read]:
    """Every way to read what `fill` wrote."""
    reads: dict[str, Read] = {
        "releases": store.releases,
        "limits": partial(store.limits, LimitQuery()),
        "limits of one": partial(store.limits, LimitQuery(make="Corvane", model="Ostrel", release=1)),
        "makes": store.makes,
        "models": partial(store.models, "Corvane"),
        "similar": partial(store.similar, Kind.ROTOR, at_least=1, at_most=10**7, limit=9),
        "held": partial(store.held, LimitQuery()),
        "drafts": store.drafts,
        "drafts of one": partial(store.drafts_of, "Corvane", "Ostrel 3"),
        "overlapping": partial(store.overlapping, model(6), Kind.ROTOR, start=NOON.date(), end=None),
        "changes": partial(store.changes, 0, 2),
        "withdrawals": store.withdrawals,
        "due": partial(store.due_for_review, datetime.date(2029, 1, 1)),
        "counts": partial(store.waiting_counts, datetime.date(2029, 1, 1)),
        "waiting": store.waiting,
        "last withdrawal": store.last_withdrawal,
        "rules": store.rules,
        "kept": partial(store.answered, Idempotency("counter", "withdrawn", "body")),
        "touched": partial(store.touched_verdicts, 0, 2),
        "count": partial(store.count_verdicts, VerdictQuery(vehicle="unit 3")),
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
    for number in range(1, 8):
        reads[f"history {number}"] = partial(store.history, f"L{number}")
        reads[f"draft {number}"] = partial(store.open_draft, f"L{number}")
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
            # A look-up whose key was damaged may find nothing; `makes` names what is there, and no limits.
            assert found in ([], None, closed.answers[name]) or name == "makes", name
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

"""The second migration keeps every answer of a store that the first one made, or leaves it as it was."""

from __future__ import annotations

import datetime
import multiprocessing
import os
import shutil
import signal
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.store.breaking import without_triggers
from tests.store.entries import draft, release, verify
from tests.store.first_schema import (
    DAYS,
    VERDICT,
    content_of,
    fill_first_schema,
    make_first_schema,
    sealed,
)
from tests.store.raw import insert, raw
from tests.store.samples import NOON, publish, revision, verdict
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind, Machining, Ruling, Unit
from turnrule.store.content import EMPTY, ReleaseDigest, content_digest
from turnrule.store.limit_records import EntryState, FitsTo, LimitQuery, LimitRevision, Release, Source
from turnrule.store.port import (
    EventKind,
    Idempotency,
    IdempotencyConflictError,
    Miss,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)
from turnrule.store.sqlite import SqliteStore, open_sqlite
from turnrule.store.sqlite_connections import Connections
from turnrule.store.sqlite_migrations import run_next

SECOND = "m0002_entries_and_releases"
ALL = VerdictQuery()


@pytest.fixture
def first(path: Path) -> Path:
    """A filled store of the first schema."""
    fill_first_schema(path)
    return path


@pytest.fixture
def migrated(first: Path) -> SqliteStore:
    """The same store, migrated."""
    store = open_sqlite(first, wait=0.3)
    assert list(store.migrate()) == [SECOND]
    return store


def _moment(number: int) -> datetime.datetime:
    return datetime.datetime.fromisoformat(DAYS[number - 1])


def _rotor(limits_id: str, number: int, released: int, discard: str = "24", option: str = "B16") -> LimitRevision:
    """What the rows of rotors say, in the records of the port; both entries have the time of their release."""
    at = _moment(released)
    whole = revision(limits_id, number, entered_at=at, verified_at=at)
    return replace(
        whole,
        limits=replace(whole.limits, discard=Decimal(discard)),
        fits=replace(whole.fits, brake_option=option),
    )


ONE, TWO, FIVE = _rotor("L1", 1, 1), _rotor("L1", 2, 2, "24.05"), _rotor("L1", 5, 2, "24.1")
DRUM = LimitRevision(
    *("L2", 4, FitsTo("TARN", "Pell  GT", 2021, None, Axle.REAR)),
    LimitSet(Kind.DRUM, maximum_out_of_round=Decimal("0.127"), permission=Machining.NOT_STATED),
    *(Unit.IN, {}, Source("Ostrel workshop manual", "Corvane", "6.2, table 3", "2023-04")),
    *(datetime.date(2021, 1, 1), datetime.date(2030, 1, 1), datetime.date(2028, 1, 1)),
    *("first reader", "second reader", "a note, \u00b5m"),
    entered_at=_moment(1),
    verified_at=_moment(1),
)
OTHER = _rotor("L3", 1, 2, option=" b 16")


def test_every_release_holds_what_it_held(migrated: SqliteStore) -> None:
    assert migrated.limits(LimitQuery(release=1)) == [ONE, DRUM]
    assert migrated.limits(LimitQuery(release=2)) == [FIVE, DRUM, OTHER]
    assert migrated.limits(LimitQuery(release=3)) == [FIVE, DRUM, OTHER]
    assert migrated.limits(LimitQuery()) == [FIVE, DRUM, OTHER]
    assert migrated.limits(LimitQuery(make="tarn", model="pell gt")) == [DRUM]
    assert migrated.limits(LimitQuery(brake_option="B 16")) == [OTHER]
    assert [migrated.limit_revision("L1", number) for number in range(1, 6)] == [ONE, TWO, None, None, FIVE]


def test_every_release_comes_back_with_the_digest_of_what_it_holds(migrated: SqliteStore) -> None:
    for number, held in ((1, [ONE, DRUM]), (2, [FIVE, DRUM, OTHER]), (3, [FIVE, DRUM, OTHER])):
        total = ReleaseDigest()
        for row in held:
            total.add(row.limits_id, content_digest(row))
        accepted = (2, 5, 5)[number - 1]
        assert migrated.release(number) == Release(
            *(number, _moment(number), "publisher", f"release {number}", total.digest, len(held)), accepted=accepted
        )


def test_the_same_limits_published_anew_have_the_same_digest(migrated: SqliteStore, tmp_path: Path) -> None:
    other = open_sqlite(tmp_path / "other.sqlite")
    other.migrate()
    published = publish(other, FIVE, DRUM, OTHER)
    was = migrated.release()
    assert was is not None
    assert published.digest == was.digest
    other.close()


def test_every_verdict_and_idempotency_key_is_as_before(migrated: SqliteStore) -> None:
    whole = verdict(
        "v1",
        judged_at=datetime.datetime(2026, 2, 10, 9, tzinfo=datetime.UTC),
        ruling=Ruling.MACHINE,
        release=1,
        limits_id="L1",
        limits_revision=1,
        digest="sha256:v",
        request=b'{"unit":"mm"}',
        answer=b'{"digest":"sha256:v"}',
        sequence=1,
    )
    second = replace(whole, id="v2", release=3, limits_revision=5, sequence=2)
    bare = replace(whole, id="v3", site=None, make=None, model=None, year=None, axle=None, side=None, sequence=3)
    bare = replace(bare, vehicle=None, odometer_km=None, reference=None, release=None)
    bare = replace(bare, limits_id=None, limits_revision=None)
    assert migrated.verdicts(ALL) == [whole, second, bare]
    assert migrated.verdict("v2") == second
    assert migrated.idempotent(Idempotency("counter", "k", "body")) == second
    with pytest.raises(IdempotencyConflictError):
        migrated.idempotent(Idempotency("counter", "k", "another body"))


def test_what_the_migration_does_not_touch_is_as_before(migrated: SqliteStore) -> None:
    kept = migrated.keys()
    assert [one.name for one in kept] == ["counter"]
    assert [one.document for one in migrated.policies()] == [b"{}"]
    assert migrated.misses() == [Miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, None, 3, _moment(1), _moment(2))]


def test_what_the_first_schema_did_not_know_is_told_from_what_it_did(migrated: SqliteStore) -> None:
    history = migrated.history("L1")
    assert [(row.revision, row.state, row.release) for row in history] == [
        (ONE, EntryState.PUBLISHED, 1),
        (TWO, EntryState.PUBLISHED, 2),
        (FIVE, EntryState.PUBLISHED, 2),
    ]
    assert (migrated.drafts(), migrated.withdrawals(), migrated.waiting()) == ([], [], 0)
    assert migrated.makes() == ["Corvane", "TARN"]
    assert migrated.models("tarn") == ["Pell  GT"]
    changed = [(one.release, one.old, one.new) for one in migrated.changes(0, 3)]
    assert changed == [(1, None, ONE), (1, None, DRUM), (2, ONE, TWO), (2, TWO, FIVE), (2, None, OTHER)]


def test_a_migrated_store_is_sound_and_refers_to_nothing_that_was_moved_aside(migrated: SqliteStore) -> None:
    assert migrated.check() == []
    assert list(migrated.migrate()) == []
    with raw(migrated.path) as conn:
        assert conn.execute("PRAGMA foreign_key_check").fetchall() == []
        said = [sql for (sql,) in conn.execute("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL")]
        assert not [sql for sql in said if "old_" in sql]
        for table, parents in (
            ("verdicts", {"releases", "acceptances", "lathes", "axle_verdicts"}),
            ("idempotency_keys", {"verdicts"}),
            ("acceptances", {"limit_revisions"}),
        ):
            found = {parent for _, _, parent, *_ in conn.execute(f"PRAGMA foreign_key_list({table})")}
            assert found == parents


def test_what_happened_before_is_told_by_its_moments(migrated: SqliteStore) -> None:
    told = migrated.events()
    assert [event.at for event in told] == sorted(event.at for event in told)
    assert {event.kind for event in told} == {EventKind.RELEASE, EventKind.VERDICT, EventKind.POLICY}
    verdicts = [event.subject for event in told if event.kind is EventKind.VERDICT]
    assert sorted(verdicts) == sorted(record.id for record in migrated.verdicts(VerdictQuery()))
    migrated.record_verdict(verdict("v4"))
    assert [event.subject for event in migrated.events(after=told[-1].sequence)] == ["v4"]


def test_a_migrated_store_serves_on(migrated: SqliteStore) -> None:
    kept = migrated.record_verdict(verdict("v4", release=3, limits_id="L1", limits_revision=5))
    assert kept.sequence == 4
    migrated.enter(draft("L1", fits=ONE.fits), corrects=5)
    corrected = verify(migrated, "L1")
    assert corrected.revision == 6
    published = release(migrated, at=NOON)
    assert (published.number, published.records) == (4, 3)
    assert migrated.limits(LimitQuery(release=3)) == [FIVE, DRUM, OTHER]
    assert migrated.limit_revision("L1") == corrected
    assert [one.id for one in migrated.touched_verdicts(3, 4)] == ["v1", "v2", "v4"]
    assert migrated.check() == []


def test_an_empty_store_of_the_first_schema_is_migrated_as_well(path: Path) -> None:
    make_first_schema(path)
    store = open_sqlite(path)
    with pytest.raises(StoreNotMigratedError, match="older schema"):
        store.limits(LimitQuery())
    assert list(store.migrate()) == [SECOND]
    assert store.check() == []
    assert store.record_verdict(verdict("v1")).sequence == 1
    assert release_of_nothing(store) == EMPTY
    store.close()


def release_of_nothing(store: SqliteStore) -> str:
    """The digest of a release without a record."""
    return publish(store).digest


DAMAGE = {
    "a limit": "UPDATE limit_revisions SET discard_tenth_nm = 239000000 WHERE limits_id = 'L1' AND revision = 1",
    "a limit that a later one replaced": "UPDATE limit_revisions SET taper_tenth_nm = 2 WHERE revision = 2",
    "a release": "UPDATE releases SET notes = 'another' WHERE number = 3",
    "a verdict": "UPDATE verdicts SET answer = x'00' WHERE sequence = 3",
    "an idempotency key": "UPDATE idempotency_keys SET sequence = 1",
}


@pytest.mark.parametrize("statement", DAMAGE.values(), ids=DAMAGE.keys())
def test_damage_in_a_row_stops_the_migration_and_the_store_stays_as_it_was(first: Path, statement: str) -> None:
    without_triggers(first, statement)
    _stays_as_it_was(first, "is not as it was written")


def test_a_record_that_a_release_counts_and_is_not_there_stops_the_migration(first: Path) -> None:
    without_triggers(first, "DELETE FROM limit_revisions WHERE limits_id = 'L3'")
    _stays_as_it_was(first, "release 2 says that it holds 3 records, and 2 are there")


def _stays_as_it_was(path: Path, why: str) -> None:
    before = content_of(path)
    store = open_sqlite(path)
    with pytest.raises(StoreUnavailableError, match=why):
        store.migrate()
    assert list(store.pending()) == [SECOND]
    store.close()
    assert content_of(path) == before


POINTS = (
    *("ALTER TABLE", "CREATE TABLE acceptances", "INSERT INTO acceptances", "INSERT INTO releases"),
    *("INSERT INTO verdicts", "DROP TABLE old_verdicts", "CREATE TRIGGER", "PRAGMA user_version", "COMMIT"),
)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled store of the first schema, too large for a migration to be held in memory alone."""
    path = tmp_path_factory.mktemp("large") / "store.sqlite"
    fill_first_schema(path)
    with raw(path) as conn:
        conn.execute("BEGIN")
        for number in range(4, 1201):
            row = VERDICT | {"sequence": number, "id": f"v{number}", "request": b"x" * 3000}
            insert(conn, "verdicts", sealed("verdicts", row))
        conn.execute("COMMIT")
    return path


@pytest.mark.parametrize("point", POINTS)
def test_a_migration_that_is_killed_leaves_the_store_as_it_was(large: Path, path: Path, point: str) -> None:
    shutil.copy(large, path)
    before = content_of(path)
    process = multiprocessing.get_context("spawn").Process(target=_migrate_up_to, args=(path, point))
    process.start()
    process.join()
    assert process.exitcode == -signal.SIGKILL
    if POINTS.index(point) >= POINTS.index("INSERT INTO verdicts"):  # some of it has reached the disk
        assert path.with_name("store.sqlite-wal").stat().st_size > 0
    assert content_of(path) == before
    store = open_sqlite(path)
    assert list(store.pending()) == [SECOND]
    assert list(store.migrate()) == [SECOND]
    assert store.limits(LimitQuery(release=1)) == [ONE, DRUM]
    assert store.count_verdicts(ALL) == 1200
    assert store.check() == []
    store.close()


def _migrate_up_to(path: Path, point: str) -> None:
    """Do what migrating does, and die as a machine does that loses its power, when a statement of this kind comes."""
    rows = 0

    def die(statement: str) -> None:
        nonlocal rows
        if point in statement:
            rows += 1
            if not point.startswith("INSERT INTO verdicts") or rows > 900:
                os.kill(os.getpid(), signal.SIGKILL)

    connections = Connections(path, read_only=False, wait=1.0)
    with connections.transaction() as db:
        db.conn.set_trace_callback(die)
        run_next(db)

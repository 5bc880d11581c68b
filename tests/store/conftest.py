"""A store in a file, with one of everything in it."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.store.entries import accepted, differ, draft, model, once, rejection, verify, withdrawal
from tests.store.raw import copy_of
from tests.store.samples import DRUM, FITS, NOON, SECOND, axle, key, lathe, policy, publish, revision, site, verdict
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Unit
from turnrule.store.limit_records import AnsweredWarning, StoreRules, Twin
from turnrule.store.port import Idempotency, LimitRevision
from turnrule.store.sqlite import SqliteStore, open_sqlite


def fill(store: SqliteStore) -> None:
    """Put at least one row into every table, with every column used somewhere."""
    store.set_rules(
        StoreRules(datetime.timedelta(days=1), signed_packs_only=True, trusted_keys=("0f" * 32,)), at=NOON, by="office"
    )
    drum = replace(DRUM, maximum_taper=Decimal("0.05"), expansion_per_k=Decimal("0.0000105"))
    whole = revision(
        "L2",
        limits=drum,
        printed_unit=Unit.IN,
        printed={"discard_diameter": "9.0787"},
        fits=replace(FITS, axle=Axle.REAR),
        effective_to=datetime.date(2030, 1, 1),
        review_due=datetime.date(2028, 1, 1),
        note="a note",
    )
    publish(store, revision("L1"), whole, notes="first")
    publish(store, revision("L1", 2, limits=LimitSet(Kind.ROTOR, construction=Construction.SOLID)), notes="second")
    _enter(store, whole)
    store.add_key(key("counter"))
    store.add_key(key("office", site=None))
    store.revoke_key("office", NOON + SECOND)
    store.save_policy(policy("careful", 1))
    store.save_policy(policy("careful", 2))
    store.save_lathe(lathe("bench_2", 1))
    store.save_lathe(lathe("bench_2", 2))
    store.save_site(site("north depot", 1))
    store.save_site(site("north depot", 2))
    for number in range(10):
        record = verdict(f"v{number}", release=1, limits_id="L1", limits_revision=1, vehicle=f"unit {number}")
        store.record_verdict(record, Idempotency("counter", f"k{number}", f"body {number}"))
    left = verdict("left", release=1, limits_id="L1", limits_revision=1, lathe_name="bench_2", lathe_revision=1)
    sides = [replace(left, drawn=b"[]"), verdict("right", side="right")]
    store.record_axle(axle("axle", "left", "right"), sides, once("axle"))
    store.record_verdict(verdict("bare", site=None, make=None, model=None, year=None, axle=None, odometer_km=None))
    for option in ("B1", None, None):
        store.count_miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, option, NOON)


def _enter(store: SqliteStore, whole: LimitRevision) -> None:
    """Drafts in every state: L3 and L4 wait, L5 is rejected, L6 is verified by one person, L7 is withdrawn."""
    also = Twin(Unit.MM, {"discard_diameter": "230.6"})
    warning = AnsweredWarning("unusual_wear", "/discard_diameter", "is unusual", "the document says so twice")
    full = replace(whole, limits_id="L3", fits=model(3), also=also, reason="the page was turned", warnings=(warning,))
    store.enter_many([(full, None), (draft("L4", fits=model(4)), None)], at=NOON, by="first reader")
    differ(store, "L3")
    store.enter(draft("L5", fits=model(5)))
    store.reject("L5", rejection())
    store.enter(draft("L6", fits=model(6)))
    verify(store, "L6", by="first reader")
    accepted(store, draft("L7", fits=model(7)))
    store.withdraw(withdrawal("L7"), once=once("withdrawn"))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a store may be."""
    return tmp_path / "store.sqlite"


@pytest.fixture
def filled(path: Path) -> Iterator[SqliteStore]:
    """A store with one of everything."""
    store = open_sqlite(path, wait=0.3)
    store.migrate()
    fill(store)
    yield store
    store.close()


@pytest.fixture(scope="session")
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

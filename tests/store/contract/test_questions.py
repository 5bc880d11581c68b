"""What is due for review, what waits, what is similar, and which verdicts a change touches."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.store.entries import accepted, draft, model, rejection, release, verify, withdrawal
from tests.store.samples import DRUM, FITS, NOON, ROTOR, publish, revision, verdict
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.folding import fold
from turnrule.store.limit_records import Change, LimitRevision
from turnrule.store.port import Store, VerdictQuery, VerdictRecord

TODAY = datetime.date(2026, 3, 2)
DAY = datetime.timedelta(days=1)
TENTHS = 10**7
"""Units of 0.1 nm in a millimetre."""


def test_what_governs_is_due_for_review_from_the_day_after_its_day(store: Store) -> None:
    rows = [revision(f"L{number}", review_due=TODAY + number * DAY) for number in range(-2, 3)]
    rows = sorted(rows, key=lambda row: row.limits_id)
    publish(store, *rows, revision("L9"))
    assert [row.limits_id for row in store.due_for_review(TODAY)] == ["L-1", "L-2"]
    assert [row.limits_id for row in store.due_for_review(TODAY + DAY)] == ["L-1", "L-2", "L0"]
    assert store.due_for_review(datetime.date(9999, 12, 31)) == rows
    assert store.due_for_review(datetime.date(1, 1, 1)) == []
    late = TODAY + 9 * DAY
    assert [*store.due_for_review(late, limit=2), *store.due_for_review(late, after="L-2")] == rows
    assert store.due_for_review(late, limit=0) == store.due_for_review(late, limit=-1) == []


def test_only_what_governs_now_is_due_for_review(store: Store) -> None:
    due = TODAY - DAY
    publish(store, revision("L1", review_due=due), revision("L2", review_due=due), revision("L3", review_due=due))
    store.withdraw(withdrawal("L1"))
    publish(store, revision("L2", 2))
    accepted(store, draft("L4", fits=model(4), review_due=due))
    store.enter(draft("L5", fits=model(5), review_due=due))
    assert [row.limits_id for row in store.due_for_review(TODAY)] == ["L3"]
    assert store.waiting_counts(TODAY)[2] == 1
    release(store)
    assert [row.limits_id for row in store.due_for_review(TODAY)] == ["L3", "L4"]


def test_counts_are_of_misses_open_drafts_and_what_is_due(store: Store) -> None:
    assert store.waiting_counts(TODAY) == (0, 0, 0)
    for option in (None, "B16", "B16"):
        store.count_miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, option, NOON)
    for number in range(4):
        store.enter(draft(f"L{number}", fits=model(number), review_due=TODAY - DAY))
    verify(store, "L0")
    store.reject("L1", rejection())
    assert store.waiting_counts(TODAY) == (2, 2, 0)
    release(store)
    assert store.waiting_counts(TODAY) == (2, 2, 1)
    assert store.waiting_counts(TODAY - DAY) == (2, 2, 0)


def _sized(limits_id: str, size: str, number: int = 1, **changes: object) -> LimitRevision:
    limits = LimitSet(Kind.ROTOR, nominal=Decimal(size), discard=Decimal(1))
    return revision(limits_id, number, **{"limits": limits, "fits": model(int(limits_id[1:])), **changes})


def _sizes(rows: Iterable[LimitSet]) -> list[str]:
    return [str(row.nominal) for row in rows]


def test_similar_limits_are_of_the_kind_and_size_the_smallest_first(store: Store) -> None:
    sizes = ["26", "25.9999999", "30", "30.0000001", "28"]
    publish(store, *(_sized(f"L{number}", size) for number, size in enumerate(sizes)))
    publish(store, revision("L9", limits=DRUM), revision("L99", limits=replace(ROTOR, nominal=None)))

    def found(kind: Kind, least: float, most: float, limit: int = 100) -> list[str]:
        return _sizes(store.similar(kind, at_least=int(least * TENTHS), at_most=int(most * TENTHS), limit=limit))

    assert found(Kind.ROTOR, 26, 30) == ["26", "28", "30"]
    assert found(Kind.ROTOR, 0, 1000) == ["25.9999999", "26", "28", "30", "30.0000001"]
    assert found(Kind.ROTOR, 0, 1000, limit=2) == ["25.9999999", "26"]
    assert found(Kind.ROTOR, 26.5, 27.5) == found(Kind.ROTOR, 30, 26) == found(Kind.PARKING_DRUM, 0, 1000) == []
    assert store.similar(Kind.DRUM, at_least=1, at_most=10**10, limit=1) == [DRUM]
    assert found(Kind.ROTOR, 0, 1000, limit=0) == found(Kind.ROTOR, 0, 1000, limit=-1) == []


def test_similar_limits_are_those_that_somebody_verified_and_nobody_took_back(store: Store) -> None:
    publish(store, _sized("L1", "21"), _sized("L2", "22"), _sized("L2", "23", 2), _sized("L3", "24"))
    store.withdraw(withdrawal("L3"))
    first = _sized("L4", "25", verified_by="", verified_at=None)
    store.enter(first)
    store.enter(replace(first, limits_id="L5", fits=model(5)))
    store.reject("L5", rejection())
    accepted(store, replace(first, limits_id="L6", fits=model(6)))

    def found() -> list[str]:
        return _sizes(store.similar(Kind.ROTOR, at_least=1, at_most=10**10, limit=100))

    assert found() == ["21", "23", "25"]
    verify(store, "L4")
    assert found() == ["21", "23", "25", "25"]


FIELDS: dict[str, list[object]] = {
    "site": ["north depot", "south depot", None],
    "ruling": [Ruling.MACHINE, Ruling.REPLACE],
    "kind": [Kind.ROTOR, Kind.DRUM],
    "make": ["Corvane", "corvane ", "Tarn", None],
    "model": ["Ostrel", "OSTREL", "Pell", None],
    "vehicle": ["unit 1", None],
    "reference": ["job 1", None],
    "limits_id": ["L1", None],
    "limits_revision": [1, 2],
}


def test_verdicts_are_counted_as_they_are_listed(store: Store) -> None:
    publish(store, revision("L1", 1), revision("L1", 2))
    chance = random.Random(20260302)
    for number in range(60):
        drawn = {name: chance.choice(values) for name, values in FIELDS.items()}
        if drawn["limits_id"] is None:
            drawn["limits_revision"] = None
        store.record_verdict(verdict(f"v{number}", judged_at=NOON + number * DAY, **drawn))
    assert store.count_verdicts(VerdictQuery()) == 60
    queries = [VerdictQuery(since=NOON + 20 * DAY, until=NOON + 30 * DAY), VerdictQuery(make="nobody")]
    for _ in range(60):
        names = chance.sample(list(FIELDS), chance.randrange(1, 4))
        queries.append(VerdictQuery(**{name: chance.choice(FIELDS[name]) for name in names}))  # type: ignore[arg-type]  # by name
    counts = [store.count_verdicts(query) for query in queries]
    assert counts == [len(store.verdicts(query, limit=1000)) for query in queries]
    assert counts[:2] == [10, 0]
    assert len(set(counts)) > 5


def test_the_newest_verdicts_come_from_the_last_to_the_first_whatever_is_asked(store: Store) -> None:
    for number in range(1, 8):
        site, ruling = ("north", "south")[number % 2], (Ruling.REPLACE, Ruling.MACHINE)[number % 3 == 0]
        at = NOON + datetime.timedelta(hours=number)
        store.record_verdict(verdict(f"v{number}", site=site, ruling=ruling, judged_at=at))
    since, until = NOON + datetime.timedelta(hours=3), NOON + datetime.timedelta(hours=6)
    for query in (
        VerdictQuery(),
        VerdictQuery(site="north"),
        VerdictQuery(ruling=Ruling.MACHINE, site="south"),
        VerdictQuery(since=since, until=until),
        VerdictQuery(site="nowhere"),
    ):
        expected = list(reversed(store.verdicts(query)))
        assert store.newest_verdicts(query) == expected
        assert store.newest_verdicts(query, limit=2) == expected[:2]
        assert store.newest_verdicts(query, limit=0) == []
        for before in range(1, 9):
            rest = [one for one in expected if one.sequence < before]
            assert store.newest_verdicts(query, before=before) == rest
            assert store.newest_verdicts(query, before=before, limit=1) == rest[:1]


def test_verdicts_that_rest_on_a_record_are_listed_by_record_and_revision(store: Store) -> None:
    publish(store, revision("L1", 1), revision("L1", 2), revision("L2"))
    for number, (limits_id, which) in enumerate([("L1", 1), ("L2", 1), ("L1", 2), (None, None), ("L1", 1)]):
        store.record_verdict(verdict(f"v{number}", limits_id=limits_id, limits_revision=which))

    def ids(**asked: object) -> list[str]:
        return [one.id for one in store.verdicts(VerdictQuery(**asked))]  # type: ignore[arg-type]  # by name

    assert ids(limits_id="L1") == ["v0", "v2", "v4"]
    assert ids(limits_id="L1", limits_revision=1) == ["v0", "v4"]
    assert ids(limits_id="L2", limits_revision=2) == ids(limits_id="L3") == []
    assert store.count_verdicts(VerdictQuery(limits_id="L1")) == 3


def _vehicle(row: LimitRevision) -> tuple[str, str]:
    return fold(row.fits.make), fold(row.fits.model)


def _record(change: Change) -> str:
    row = change.new or change.old
    assert row is not None
    return row.limits_id


@pytest.mark.parametrize("seed", range(3))
def test_touched_verdicts_are_those_about_a_vehicle_whose_record_changed(store: Store, seed: int) -> None:
    """Against every verdict and every change, one by one.

    Of a record that changed, the vehicles before and after the change count; those that it was for in other times
    may be named as well, since judging again settles it.
    """
    chance = random.Random(seed)
    for number in range(5):
        limits_id = f"L{chance.randrange(4)}"
        newest = max((row.revision.revision for row in store.history(limits_id)), default=0)
        make = chance.choice(["Corvane", " CORVANE", "Tarn"])
        fits = replace(FITS, make=make, model=f"Ostrel {chance.randrange(3)}", brake_option=f"B{number}")
        publish(store, revision(limits_id, newest + 1, fits=fits))
        if number == 2:
            store.withdraw(withdrawal(limits_id, newest + 1))
            store.enter(draft("L9", fits=replace(FITS, make="Arvo")))
    releases = [None, *range(1, 6)]
    for number in range(120):
        make_asked = chance.choice(["Corvane", "tarn", "Arvo", None])
        record = verdict(f"v{number}", make=make_asked, model=f"ostrel {chance.randrange(3)}")
        store.record_verdict(replace(record, release=chance.choice(releases)))
    everything = store.verdicts(VerdictQuery(), limit=1000)
    for since in range(6):
        for until in range(1, 6):
            changes = store.changes(since, until, limit=1000)
            must = {_vehicle(row) for one in changes for row in (one.old, one.new) if row is not None}
            records = {_record(one) for one in changes}
            may = {_vehicle(row.revision) for limits_id in records for row in store.history(limits_id)}
            found = store.touched_verdicts(since, until, limit=1000)
            assert _about(everything, must, until) <= {one.id for one in found} <= _about(everything, may, until)
            assert [one.sequence for one in found] == sorted(one.sequence for one in found)
            pages = [*store.touched_verdicts(since, until, limit=7)]
            while page := store.touched_verdicts(since, until, after=pages[-1].sequence if pages else 0, limit=7):
                pages += page
            assert pages == found
    assert store.touched_verdicts(0, 5, limit=1000)


def _about(records: Iterable[VerdictRecord], vehicles: set[tuple[str, str]], until: int) -> set[str]:
    return {
        one.id
        for one in records
        if (fold(one.make or ""), fold(one.model or "")) in vehicles and (one.release or 0) < until
    }


def test_no_verdict_is_touched_by_a_release_that_was_never_published(store: Store) -> None:
    publish(store, revision("L1"))
    store.record_verdict(verdict("v1"))
    assert [one.id for one in store.touched_verdicts(0, 1)] == ["v1"]
    for since, until in ((0, 2), (0, 0), (1, 1), (0, -1), (1, 2)):
        assert store.touched_verdicts(since, until) == []


def test_a_withdrawal_touches_the_verdicts_from_the_release_that_counts_it_on(store: Store) -> None:
    publish(store, revision("L1"))
    store.record_verdict(verdict("v1", release=1, limits_id="L1", limits_revision=1, withdrawn=0))
    kept = store.verdict("v1")
    store.withdraw(withdrawal())
    assert store.touched_verdicts(1, 2) == []
    release(store)
    assert store.touched_verdicts(1, 2) == [kept]
    later = store.record_verdict(verdict("v2", release=1, withdrawn=1))
    assert store.verdict("v2") == later
    assert later.withdrawn == 1
    assert store.touched_verdicts(1, 2, after=1) == [later]

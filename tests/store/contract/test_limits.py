"""Looking limits up: which of those that a release holds answer a query."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from tests.store.entries import accepted, draft
from tests.store.samples import DRUM, FITS, publish, publish_all, revision
from turnrule.judging.words import Axle, Kind
from turnrule.store.port import LimitQuery, LimitRevision, Store

EVERYTHING = LimitQuery()


def _ids(store: Store, query: LimitQuery) -> list[str]:
    return [row.limits_id for row in store.limits(query)]


@pytest.mark.parametrize(
    ("make", "model"),
    [
        ("Corvane", "Ostrel GT"),
        ("CORVANE", "ostrel gt"),
        ("  cOrVaNe ", "Ostrel \t  GT"),
        ("\uff23\uff4f\uff52\uff56\uff41\uff4e\uff45", "Ostrel\u00a0GT"),
    ],
)
def test_makes_and_models_match_without_regard_to_case_and_spacing(store: Store, make: str, model: str) -> None:
    written = revision(fits=replace(FITS, make="Corvane", model="Ostrel  GT"))
    publish(store, written, revision("L2"))
    assert store.limits(LimitQuery(make=make, model=model)) == [written]


@pytest.mark.parametrize(
    ("written", "asked"),
    [
        ("Stra\u00dfe", "STRASSE"),
        ("\u00c9lan", "e\u0301lan"),
        ("\u0130z", "i\u0307Z"),
        ("\u03a3\u03af\u03c3\u03c5\u03c6\u03bf\u03c2", "\u03c3\u03af\u03c3\u03c5\u03c6\u03bf\u03c3"),
    ],
)
def test_case_is_folded_beyond_ascii(store: Store, written: str, asked: str) -> None:
    publish(store, revision(fits=replace(FITS, make=written)))
    assert _ids(store, LimitQuery(make=asked)) == ["L1"]


def test_a_query_matches_each_field_that_it_names(store: Store) -> None:
    publish(
        store,
        revision("L1"),
        revision("L2", fits=replace(FITS, axle=Axle.REAR), limits=DRUM),
        revision("L3", fits=replace(FITS, brake_option=None)),
        revision("L4", fits=replace(FITS, make="Tarn")),
        revision("L5", fits=replace(FITS, model="Pell")),
    )
    assert _ids(store, LimitQuery(axle=Axle.REAR)) == ["L2"]
    assert _ids(store, LimitQuery(kind=Kind.DRUM)) == ["L2"]
    assert _ids(store, LimitQuery(kind=Kind.PARKING_DRUM)) == []
    assert _ids(store, LimitQuery(make="tarn")) == ["L4"]
    assert _ids(store, LimitQuery(model="PELL")) == ["L5"]
    assert _ids(store, LimitQuery(brake_option="B16")) == ["L1", "L2", "L4", "L5"]
    assert _ids(store, LimitQuery(brake_option=" b16 ")) == ["L1", "L2", "L4", "L5"]
    assert _ids(store, LimitQuery(brake_option="B17")) == []
    assert _ids(store, LimitQuery(make="corvane", model="ostrel", axle=Axle.FRONT)) == ["L1", "L3"]


@pytest.mark.parametrize(("year", "found"), [(2020, False), (2021, True), (2024, True), (2025, False)])
def test_both_years_of_a_record_are_included(store: Store, year: int, *, found: bool) -> None:
    publish(store, revision("L1"))
    assert _ids(store, LimitQuery(year=year)) == (["L1"] if found else [])


def test_a_record_without_a_last_year_has_no_end(store: Store) -> None:
    publish(store, revision("L1", fits=replace(FITS, year_to=None)))
    assert _ids(store, LimitQuery(year=9999)) == ["L1"]
    assert _ids(store, LimitQuery(year=2020)) == []


@pytest.mark.parametrize(
    ("on", "found"),
    [
        (datetime.date(2020, 12, 31), []),
        (datetime.date(2021, 1, 1), ["L1", "L2"]),
        (datetime.date(2022, 12, 31), ["L1", "L2"]),
        (datetime.date(2023, 1, 1), ["L2"]),
        (datetime.date(9999, 12, 31), ["L2"]),
        (None, ["L1", "L2"]),
    ],
)
def test_limits_hold_from_their_first_day_to_the_day_before_their_last(
    store: Store, on: datetime.date | None, found: list[str]
) -> None:
    publish(store, revision("L1", effective_to=datetime.date(2023, 1, 1)), revision("L2"))
    assert _ids(store, LimitQuery(on=on)) == found


def test_pages_of_limits_meet_without_a_gap_and_stay_in_their_release(store: Store) -> None:
    rows = [revision(f"L{number:02}") for number in range(25)]
    publish_all(store, reversed(rows))
    seen: list[LimitRevision] = []
    while page := store.limits(LimitQuery(release=1), after=seen[-1].limits_id if seen else "", limit=7):
        assert len(page) <= 7
        seen += page
        publish(store, revision(f"L{len(seen):02}a"), revision(f"L{len(seen):02}", 2))
    assert seen == rows
    assert store.limits(EVERYTHING, limit=0) == []
    assert store.limits(EVERYTHING, limit=-1) == []


def test_makes_and_models_are_those_that_were_ever_verified_once_each_as_written_first(store: Store) -> None:
    publish(
        store,
        revision("L1", fits=replace(FITS, make="Tarn", model="Pell")),
        revision("L2", fits=replace(FITS, make="TARN", model="pell")),
        revision("L3", limits=DRUM),
        revision("L4", fits=replace(FITS, make="tarn", model="Old name")),
    )
    publish(store, revision("L4", 2, fits=replace(FITS, make="TARN", model="New name"), limits=DRUM))
    publish(store, revision("L7", fits=replace(FITS, make="TARN", model="PELL"), limits=DRUM))
    store.enter(draft("L5", fits=replace(FITS, make="Arvo")))
    assert store.makes() == ["Corvane", "Tarn"]
    assert store.models(" tARN ") == ["New name", "Old name", "Pell"]
    assert store.models("Arvo") == []
    assert (store.makes(Kind.DRUM), store.models("Tarn", Kind.DRUM)) == (["Corvane", "Tarn"], ["New name", "Pell"])
    assert (store.makes(Kind.PARKING_DRUM), store.models("Tarn", Kind.PARKING_DRUM)) == ([], [])
    accepted(store, draft("L6", fits=replace(FITS, make="\u00c4rvo", model="One")))
    assert store.makes() == ["Corvane", "Tarn", "\u00c4rvo"]


def test_text_that_means_something_to_a_database_is_only_text(store: Store) -> None:
    nasty = "'; DROP TABLE releases; -- \" ?1 :name %s \\ \x00 \U0001f6de"
    written = revision("L';--", fits=replace(FITS, make=nasty, model=nasty), note=nasty, printed={nasty: nasty})
    publish(store, written, notes=nasty)
    assert store.limits(LimitQuery(make=nasty, model=nasty)) == [written]
    assert store.limit_revision("L';--") == written
    newest = store.release()
    assert newest is not None
    assert newest.notes == nasty

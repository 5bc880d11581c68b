"""Releases: what can be published, what comes back, and what each release holds."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.store.contract.refusing import refused
from tests.store.samples import DRUM, FITS, NOON, ROTOR, SECOND, SOURCE, publish, publish_all, revision
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.port import LimitQuery, LimitRevision, NameTakenError, Release, Store, StoreError

EVERYTHING = LimitQuery()


def _ids(store: Store, query: LimitQuery) -> list[str]:
    return [row.limits_id for row in store.limits(query)]


def test_an_empty_store_holds_no_release_and_no_limits(store: Store) -> None:
    assert store.release() is None
    assert store.release(1) is None
    assert store.releases() == []
    assert store.limits(EVERYTHING) == []
    assert store.limits(LimitQuery(release=1)) == []
    assert store.limit_revision("L1") is None
    assert (store.makes(), store.models("Corvane")) == ([], [])


def test_what_is_published_comes_back_equal_field_by_field(store: Store) -> None:
    full = revision(
        "L1",
        3,
        effective_to=datetime.date(2031, 1, 1),
        review_due=datetime.date(2027, 5, 1),
        note="both units are printed, \u00b5m as well",
    )
    bare = revision(
        "L2",
        fits=replace(FITS, year_to=None, brake_option=None),
        limits=LimitSet(Kind.PARKING_DRUM),
        printed_unit=Unit.IN,
        printed={},
        source=replace(SOURCE, issued=None),
    )
    publish(store, full, bare)
    assert store.limits(EVERYTHING) == [full, bare]
    assert store.limit_revision("L1") == full
    assert store.limit_revision("L1", 3) == full
    assert store.limit_revision("L1", 2) is None


@pytest.mark.parametrize("kind", Kind)
def test_every_word_of_the_vocabularies_can_be_kept(store: Store, kind: Kind) -> None:
    words: list[tuple[Axle, Machining, Construction | None]]
    words = [(axle, permission, None) for axle in Axle for permission in Machining]
    words += [(Axle.REAR, Machining.PERMITTED, construction) for construction in Construction]
    rows = [
        revision(
            f"L{number:03}",
            fits=replace(FITS, axle=axle),
            limits=LimitSet(kind, permission=permission, construction=construction),
        )
        for number, (axle, permission, construction) in enumerate(words)
    ]
    publish_all(store, rows)
    assert store.limits(EVERYTHING) == rows


def test_lengths_come_back_without_trailing_zeros(store: Store) -> None:
    publish(store, revision(limits=replace(ROTOR, nominal=Decimal("100.000"), discard=Decimal("2E1"))))
    found = store.limit_revision("L1")
    assert found is not None
    assert str(found.limits.nominal) == "100"
    assert str(found.limits.machining) == "24.6"
    assert str(found.limits.discard) == "20"
    assert str(found.limits.maximum_taper) in {"1E-7", "0.0000001"}


@given(tenths=st.integers(1, 10**13))
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_length_of_whole_tenths_of_a_nanometre_is_exact(store: Store, tenths: int) -> None:
    size = Decimal(tenths).scaleb(-7)
    limits_id = f"T{tenths}"
    if store.limit_revision(limits_id) is None:
        publish(store, revision(limits_id, limits=LimitSet(Kind.ROTOR, discard=size, maximum_taper=size)))
    found = store.limit_revision(limits_id)
    assert found is not None
    assert found.limits.discard == size
    assert found.limits.maximum_taper == size


@pytest.mark.parametrize("size", ["24.00000001", "1E-8", "NaN", "sNaN", "Infinity", "1E+30", "1E+998", "-24", "0"])
def test_a_length_that_cannot_be_kept_exactly_is_refused_and_nothing_is_written(store: Store, size: str) -> None:
    bad = revision("L2", limits=replace(ROTOR, nominal=None, machining=None, discard=Decimal(size)))
    with refused():
        publish(store, revision("L1"), bad)
    assert store.release() is None
    assert store.limits(EVERYTHING) == []


@pytest.mark.parametrize(
    "limits",
    [
        replace(ROTOR, machining=Decimal("23.9")),
        replace(ROTOR, nominal=Decimal("24.5")),
        replace(ROTOR, machining=None, nominal=Decimal("23.9")),
        replace(ROTOR, maximum_out_of_round=Decimal("0.1")),
        replace(DRUM, machining=Decimal("230.7")),
        replace(DRUM, nominal=Decimal("230.2")),
        replace(DRUM, machining=None, nominal=Decimal("230.7")),
        replace(DRUM, kind=Kind.PARKING_DRUM, maximum_lateral_runout=Decimal("0.1")),
        replace(DRUM, maximum_thickness_variation=Decimal("0.1")),
        replace(ROTOR, maximum_taper=Decimal("-0.1")),
        replace(ROTOR, expansion_per_k=Decimal("-0.1")),
    ],
)
def test_limits_that_contradict_each_other_are_refused(store: Store, limits: LimitSet) -> None:
    with refused():
        publish(store, revision(limits=limits))
    assert store.release() is None


def test_limits_may_equal_each_other(store: Store) -> None:
    even = Decimal(24)
    publish(
        store,
        revision("L1", limits=replace(ROTOR, nominal=even, machining=even, discard=even)),
        revision("L2", limits=replace(DRUM, nominal=even, machining=even, discard=even)),
    )
    assert len(store.limits(EVERYTHING)) == 2


@pytest.mark.parametrize(
    "bad",
    [
        revision(entered_by=""),
        revision(verified_by=""),
        revision(entered_by="same reader", verified_by="same reader"),
        revision(""),
        revision(number=0),
        revision(fits=replace(FITS, make=" \t")),
        revision(fits=replace(FITS, model="")),
        revision(fits=replace(FITS, brake_option="")),
        revision(fits=replace(FITS, year_to=2020)),
        revision(source=replace(SOURCE, document="")),
        revision(source=replace(SOURCE, edition="")),
        revision(effective_to=datetime.date(2021, 1, 1)),
        revision(note="a lone surrogate \ud800"),
    ],
)
def test_a_revision_without_two_people_a_source_or_a_sense_is_refused(store: Store, bad: LimitRevision) -> None:
    with refused():
        publish(store, bad)
    assert store.release() is None
    assert store.limits(EVERYTHING) == []


def test_releases_are_numbered_one_after_another_and_count_what_they_hold(store: Store) -> None:
    first = publish(store, revision("L1"), revision("L2"), notes="first")
    second = publish(store, revision("L2", 2), revision("L3"), at=NOON + SECOND, notes="second")
    third = publish(store, at=NOON + 2 * SECOND)
    assert first == Release(1, NOON, "publisher", "first", first.digest, 2, accepted=2)
    assert (second.accepted, third.accepted) == (4, 4)
    assert (second.digest == third.digest, second.digest == first.digest) == (True, False)
    assert (second.number, second.records, second.notes) == (2, 3, "second")
    assert (third.number, third.records) == (3, 3)
    assert store.release() == third
    assert store.release(2) == second
    assert store.release(4) is None
    assert store.releases() == [first, second, third]
    assert store.releases(after=1, limit=1) == [second]
    assert store.releases(after=3) == []
    assert store.releases(limit=0) == []


def test_a_release_holds_the_newest_revision_that_was_published_up_to_it(store: Store) -> None:
    one, two, four = revision("L1", 1), revision("L1", 2), revision("L1", 4)
    other = revision("L2")
    publish(store, one)
    publish(store, two, four, other)
    publish(store)
    assert store.limits(LimitQuery(release=1)) == [one]
    assert store.limits(LimitQuery(release=2)) == [four, other]
    assert store.limits(LimitQuery(release=3)) == [four, other]
    assert store.limits(EVERYTHING) == [four, other]
    assert store.limit_revision("L1") == four
    assert [store.limit_revision("L1", number) for number in (1, 2, 3)] == [one, two, None]


@pytest.mark.parametrize("release", [-1, 0, 2, 10**9])
def test_a_release_that_was_never_published_holds_nothing(store: Store, release: int) -> None:
    publish(store, revision("L1"))
    assert store.limits(LimitQuery(release=release)) == []


def test_an_older_revision_never_governs_where_a_newer_one_does_not_fit(store: Store) -> None:
    publish(store, revision("L1", 1))
    later = revision("L1", 2, fits=replace(FITS, model="Ostrel Long"), effective_from=datetime.date(2026, 1, 1))
    publish(store, later)
    assert store.limits(LimitQuery(model="Ostrel")) == []
    assert store.limits(LimitQuery(model="Ostrel Long")) == [later]
    assert store.limits(LimitQuery(on=datetime.date(2025, 1, 1))) == []
    assert len(store.limits(LimitQuery(model="Ostrel", release=1))) == 1


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_revision_that_is_stored_or_not_newer_is_refused(store: Store, number: int) -> None:
    publish(store, revision("L1", 1), revision("L1", 3))
    expected = StoreError if number == 2 else NameTakenError
    with pytest.raises(expected):
        publish(store, revision("L0"), revision("L1", number))
    assert [one.number for one in store.releases()] == [1]
    assert _ids(store, EVERYTHING) == ["L1"]


def test_the_same_revision_twice_in_one_release_is_refused(store: Store) -> None:
    with pytest.raises(NameTakenError):
        publish(store, revision("L1"), revision("L1"))
    assert store.release() is None


def test_revisions_of_a_record_come_in_rising_order_within_a_release_as_well(store: Store) -> None:
    with refused():
        publish(store, revision("L0"), revision("L1", 4), revision("L1", 2))
    assert store.release() is None
    publish(store, revision("L1", 2), revision("L0"), revision("L1", 4))
    assert _ids(store, EVERYTHING) == ["L0", "L1"]


def test_a_moment_without_a_zone_is_refused(store: Store) -> None:
    with refused():
        publish(store, revision("L1"), at=NOON.replace(tzinfo=None))
    assert store.limits(EVERYTHING) == []


def test_a_moment_of_another_zone_is_kept_as_the_same_moment(store: Store) -> None:
    zone = datetime.timezone(datetime.timedelta(hours=-7, minutes=-30))
    release = publish(store, at=NOON.astimezone(zone))
    found = store.release()
    assert found == release
    assert found is not None
    assert found.published_at.utcoffset() == datetime.timedelta(0)

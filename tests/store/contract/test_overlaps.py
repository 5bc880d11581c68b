"""Two live records are never for the same vehicle on the same day; what else they share is no matter."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from tests.store.entries import accepted, as_verified, draft, model, rejection, release, verify, withdrawal
from tests.store.samples import DRUM, FITS, publish, revision
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind
from turnrule.store.errors import OverlapError
from turnrule.store.limit_records import LimitRevision
from turnrule.store.port import Store

FROM, TO = datetime.date(2021, 1, 1), datetime.date(2025, 1, 1)
DAY = datetime.timedelta(days=1)
BASE = draft("L1", effective_from=FROM, effective_to=TO)
OPEN = draft("L1", fits=replace(FITS, year_to=None), effective_from=FROM)

OTHERS: dict[str, tuple[LimitRevision, LimitRevision, bool]] = {
    "the same": (BASE, BASE, True),
    "another spelling": (BASE, replace(BASE, fits=replace(FITS, make=" CORVANE", model="ostrel ")), True),
    "another make": (BASE, replace(BASE, fits=replace(FITS, make="Tarn")), False),
    "another model": (BASE, replace(BASE, fits=replace(FITS, model="Ostrel GT")), False),
    "another axle": (BASE, replace(BASE, fits=replace(FITS, axle=Axle.REAR)), False),
    "another kind": (BASE, replace(BASE, limits=DRUM), False),
    "a parking drum beside a drum": (
        replace(BASE, limits=DRUM),
        replace(BASE, limits=LimitSet(Kind.PARKING_DRUM)),
        False,
    ),
    "the option in another spelling": (BASE, replace(BASE, fits=replace(FITS, brake_option=" b16")), True),
    "another option": (BASE, replace(BASE, fits=replace(FITS, brake_option="B17")), False),
    "any option beside one": (BASE, replace(BASE, fits=replace(FITS, brake_option=None)), False),
    "any option twice": (
        replace(BASE, fits=replace(FITS, brake_option=None)),
        replace(BASE, fits=replace(FITS, brake_option=None)),
        True,
    ),
    "the last year is the first": (BASE, replace(BASE, fits=replace(FITS, year_from=2024, year_to=2030)), True),
    "the year after the last": (BASE, replace(BASE, fits=replace(FITS, year_from=2025, year_to=2030)), False),
    "the first year is the last": (BASE, replace(BASE, fits=replace(FITS, year_from=2000, year_to=2021)), True),
    "the year before the first": (BASE, replace(BASE, fits=replace(FITS, year_from=2000, year_to=2020)), False),
    "years within": (BASE, replace(BASE, fits=replace(FITS, year_from=2022, year_to=2022)), True),
    "years around": (BASE, replace(BASE, fits=replace(FITS, year_from=1990, year_to=None)), True),
    "years without an end, twice": (OPEN, replace(OPEN, fits=replace(OPEN.fits, year_from=2040)), True),
    "years before those without an end": (
        OPEN,
        replace(OPEN, fits=replace(OPEN.fits, year_from=2000, year_to=2020)),
        False,
    ),
    "days from the last on": (BASE, replace(BASE, effective_from=TO, effective_to=None), False),
    "days from before the last on": (BASE, replace(BASE, effective_from=TO - DAY, effective_to=None), True),
    "days up to the first": (BASE, replace(BASE, effective_from=FROM - DAY, effective_to=FROM), False),
    "days past the first": (BASE, replace(BASE, effective_from=FROM - DAY, effective_to=FROM + DAY), True),
    "days without an end, twice": (OPEN, replace(OPEN, effective_from=datetime.date(2040, 1, 1)), True),
    "the last day of the calendar": (OPEN, replace(OPEN, effective_from=datetime.date(9999, 12, 31)), True),
}


@pytest.mark.parametrize(("one", "other", "overlaps"), OTHERS.values(), ids=OTHERS.keys())
@pytest.mark.parametrize("turned", [False, True], ids=["", "the other way"])
def test_records_overlap_where_all_of_vehicle_option_years_and_days_meet(
    store: Store, one: LimitRevision, other: LimitRevision, *, overlaps: bool, turned: bool
) -> None:
    first, second = (other, one) if turned else (one, other)
    first, second = replace(first, limits_id="L1"), replace(second, limits_id="L2")
    kept = store.enter(first)
    found = store.overlapping(
        second.fits, second.limits.kind, start=second.effective_from, end=second.effective_to, but="L2"
    )
    assert found == ([kept] if overlaps else [])
    if overlaps:
        with pytest.raises(OverlapError):
            store.enter(second)
        assert store.open_draft("L2") is None
    else:
        store.enter(second)


def _found(store: Store, but: str | None = None) -> list[LimitRevision]:
    return list(store.overlapping(FITS, Kind.ROTOR, start=FROM, end=None, but=but))


def test_a_record_does_not_overlap_itself(store: Store) -> None:
    accepted(store, draft())
    second = store.enter(draft(), corrects=1)
    assert _found(store, "L1") == []
    assert second in _found(store)


def test_a_draft_and_a_verified_revision_and_a_published_one_are_live(store: Store) -> None:
    kept = store.enter(draft())
    assert _found(store) == [kept]
    verified = verify(store)
    assert _found(store) == [verified] == [as_verified(kept)]
    release(store)
    assert _found(store) == [verified]
    with pytest.raises(OverlapError):
        store.enter(draft("L2"))


def test_a_rejected_draft_is_not_live(store: Store) -> None:
    store.enter(draft())
    store.reject("L1", rejection())
    assert _found(store) == []
    store.enter(draft("L2"))


def test_a_withdrawn_record_is_not_live_until_it_is_corrected(store: Store) -> None:
    accepted(store, draft())
    release(store)
    store.withdraw(withdrawal())
    assert _found(store) == []
    correction = store.enter(draft(), corrects=1)
    assert _found(store) == [correction]
    store.reject("L1", rejection())
    store.enter(draft("L2"))
    with pytest.raises(OverlapError):
        store.enter(draft(), corrects=1)


def test_what_a_correction_gives_up_is_live_until_the_correction_is_verified(store: Store) -> None:
    first = accepted(store, draft())
    moved = store.enter(draft(fits=model(7)), corrects=1)
    assert _found(store) == [first]
    with pytest.raises(OverlapError):
        store.enter(draft("L2"))
    with pytest.raises(OverlapError):
        store.enter(draft("L2", fits=model(7)))
    verify(store)
    assert _found(store) == []
    store.enter(draft("L2"))
    assert moved.revision == 2


def test_a_correction_is_refused_where_it_would_overlap_another_record(store: Store) -> None:
    accepted(store, draft())
    accepted(store, draft("L2", fits=model(2)))
    with pytest.raises(OverlapError) as caught:
        store.enter(draft("L2"), corrects=1)
    assert caught.value.limits_id == "L1"
    assert store.open_draft("L2") is None


def test_overlapping_records_that_were_brought_in_are_all_found_by_id(store: Store) -> None:
    rows = [revision(f"L{number}") for number in (2, 3, 1)]
    publish(store, *rows, revision("L4", fits=replace(FITS, axle=Axle.REAR)))
    assert _found(store) == sorted(rows, key=lambda row: row.limits_id)
    assert _found(store, "L2") == [revision("L1"), revision("L3")]

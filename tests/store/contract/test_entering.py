"""The first entry: a draft of a new record or of a correction, kept whole or refused."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from tests.store.contract.refusing import refused
from tests.store.entries import accepted, as_verified, differ, draft, model, rejection, release, verify, withdrawal
from tests.store.samples import DRUM, ENTERED, FITS, NOON, ROTOR, SOURCE, publish, revision
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Kind, Unit
from turnrule.store.errors import DraftOpenError, NameTakenError, OverlapError, StaleRevisionError, StoreError
from turnrule.store.limit_records import AnsweredWarning, LimitQuery, LimitRevision, OpenDraft, Twin
from turnrule.store.port import Store

DAY = datetime.timedelta(days=1)
FULL = draft(
    "L2",
    limits=DRUM,
    fits=replace(FITS, axle=Axle.REAR, year_to=None, brake_option=None),
    printed_unit=Unit.IN,
    printed={"discard_diameter": "9.0787"},
    also=Twin(Unit.MM, {"discard_diameter": "230.6"}),
    effective_to=datetime.date(2030, 1, 1),
    review_due=datetime.date(2028, 1, 1),
    note="a note, \u00b5m",
    reason="the page was turned",
    warnings=(
        AnsweredWarning("unusual_wear", "/discard_diameter", "more than is usual", "the document says so twice"),
        AnsweredWarning("far_from_similar", "", "unlike others", "it is the only one of its kind"),
    ),
)


@pytest.mark.parametrize("entered", [draft(), FULL, draft("L3", limits=LimitSet(Kind.PARKING_DRUM), printed={})])
def test_a_draft_comes_back_as_it_was_entered_with_its_number(store: Store, entered: LimitRevision) -> None:
    kept = store.enter(entered)
    assert kept == replace(entered, revision=1)
    assert store.open_draft(entered.limits_id) == OpenDraft(kept)
    assert store.drafts() == [OpenDraft(kept)]
    assert [row.revision for row in store.history(entered.limits_id)] == [kept]
    verified = verify(store, entered.limits_id)
    assert verified == as_verified(kept)
    release(store)
    assert store.limits(LimitQuery()) == [verified]


def test_a_draft_governs_nothing_and_is_no_accepted_revision(store: Store) -> None:
    store.enter(draft())
    publish(store, revision("L2", fits=model(2)))
    assert [row.limits_id for row in store.limits(LimitQuery())] == ["L2"]
    assert [one.revision.limits_id for one in store.held(LimitQuery())] == ["L2"]
    assert store.limit_revision("L1", 1) is None
    assert store.limit_revision("L1") is None
    assert store.waiting() == 0


def test_whoever_enters_cannot_bring_the_second_entry_along(store: Store) -> None:
    kept = store.enter(as_verified(draft()))
    assert (kept.verified_by, kept.verified_at) == ("", None)
    found = store.open_draft("L1")
    assert found is not None
    assert found.revision == kept


def test_a_name_in_use_is_refused_for_a_new_record_whatever_became_of_it(store: Store) -> None:
    store.enter(draft("open"))
    accepted(store, draft("verified", fits=model(2)))
    publish(store, revision("published", fits=model(3)))
    store.enter(draft("rejected", fits=model(4)))
    store.reject("rejected", rejection())
    accepted(store, draft("withdrawn", fits=model(5)))
    store.withdraw(withdrawal("withdrawn"))
    before = [store.history(name) for name in ("open", "verified", "published", "rejected", "withdrawn")]
    for name in ("open", "verified", "published", "rejected", "withdrawn"):
        with pytest.raises(NameTakenError):
            store.enter(draft(name, fits=model(9)))
    assert [store.history(name) for name in ("open", "verified", "published", "rejected", "withdrawn")] == before


def test_a_correction_follows_the_newest_accepted_revision_and_takes_the_next_number(store: Store) -> None:
    accepted(store, draft())
    kept = store.enter(draft(reason="a digit"), corrects=1)
    assert kept.revision == 2
    assert store.reject("L1", rejection()).revision == kept
    assert store.enter(draft(reason="another digit"), corrects=1).revision == 3
    verify(store)
    assert store.enter(draft(), corrects=3).revision == 4


@pytest.mark.parametrize("corrects", [-1, 0, 1, 3, 99])
def test_a_correction_of_another_revision_than_the_newest_accepted_one_is_stale(store: Store, corrects: int) -> None:
    accepted(store, draft())
    accepted(store, draft(), corrects=1)
    with pytest.raises(StaleRevisionError):
        store.enter(draft(), corrects=corrects)
    assert store.open_draft("L1") is None


@pytest.mark.parametrize("corrects", [0, 1, 2])
def test_what_was_never_accepted_cannot_be_corrected(store: Store, corrects: int) -> None:
    with pytest.raises(StaleRevisionError):
        store.enter(draft("nowhere"), corrects=corrects)
    store.enter(draft("L1"))
    store.reject("L1", rejection())
    with pytest.raises(StaleRevisionError):
        store.enter(draft("L1"), corrects=corrects)
    assert store.drafts() == []


def test_one_draft_of_a_record_is_open_at_a_time(store: Store) -> None:
    accepted(store, draft())
    first = store.enter(draft(), corrects=1)
    for corrects in (1, 2, 7):
        with pytest.raises(DraftOpenError):
            store.enter(draft(), corrects=corrects)
    differ(store)
    with pytest.raises(DraftOpenError):
        store.enter(draft(), corrects=1)
    found = store.open_draft("L1")
    assert found is not None
    assert found.revision == first
    verify(store)
    assert store.enter(draft(), corrects=2).revision == 3


def test_a_withdrawn_record_can_be_corrected(store: Store) -> None:
    accepted(store, draft())
    store.withdraw(withdrawal())
    assert accepted(store, draft(), corrects=1).revision == 2
    release(store)
    assert [row.revision for row in store.limits(LimitQuery())] == [2]


@pytest.mark.parametrize(
    "bad",
    [
        draft(""),
        draft(entered_by=""),
        draft(entered_at=None),
        draft(entered_at=ENTERED.replace(tzinfo=None)),
        draft(fits=replace(FITS, make=" \t")),
        draft(fits=replace(FITS, model="")),
        draft(fits=replace(FITS, brake_option="")),
        draft(fits=replace(FITS, brake_option=" ")),
        draft(fits=replace(FITS, year_to=2020)),
        draft(fits=replace(FITS, year_from=0)),
        draft(source=replace(SOURCE, section="")),
        draft(effective_to=datetime.date(2021, 1, 1)),
        draft(limits=replace(ROTOR, machining=ROTOR.nominal, nominal=ROTOR.discard)),
        draft(limits=replace(ROTOR, maximum_out_of_round=ROTOR.maximum_lateral_runout)),
        draft(note="a lone surrogate \ud800"),
        draft(reason="a lone surrogate \ud800"),
    ],
)
def test_a_draft_that_cannot_be_kept_whole_is_refused(store: Store, bad: LimitRevision) -> None:
    with refused():
        store.enter(bad)
    assert store.drafts() == []
    assert store.enter(draft()).revision == 1


def test_drafts_come_in_pages_by_id_and_those_of_one_vehicle_together(store: Store) -> None:
    for number in (5, 3, 1, 4, 2):
        fits = replace(model(number % 2), axle=list(Axle)[number])
        store.enter(draft(f"L{number}", fits=fits))
    mismatch = differ(store, "L3")
    everything = store.drafts()
    assert [one.revision.limits_id for one in everything] == ["L1", "L2", "L3", "L4", "L5"]
    assert everything[2].mismatches == (mismatch,)
    assert [*store.drafts(limit=2), *store.drafts(after="L2", limit=2), *store.drafts(after="L4")] == everything
    assert store.drafts(after="L5") == []
    assert store.drafts(limit=0) == store.drafts(limit=-1) == []
    assert store.drafts_of(" corvane", "OSTREL 1") == [everything[0], everything[2], everything[4]]
    assert store.drafts_of("Corvane", "Ostrel") == []
    verify(store, "L5")
    store.reject("L1", rejection())
    assert [one.revision.limits_id for one in store.drafts_of("Corvane", "Ostrel 1")] == ["L3"]


def test_a_draft_that_a_brought_in_revision_has_overtaken_can_only_be_rejected(store: Store) -> None:
    accepted(store, draft())
    store.enter(draft(), corrects=1)
    publish(store, revision("L1", 5), at=NOON + DAY)
    for attempt in (1, 2):
        with refused():
            verify(store, by=f"reader {attempt}")
    assert [row.revision for row in store.limits(LimitQuery())] == [5]
    store.reject("L1", rejection())
    assert store.enter(draft(), corrects=5).revision == 6


def test_an_overlap_names_the_other_record(store: Store) -> None:
    store.enter(draft("L1"))
    with pytest.raises(OverlapError) as caught:
        store.enter(draft("L2"))
    assert caught.value.limits_id == "L1"
    assert issubclass(OverlapError, StoreError)

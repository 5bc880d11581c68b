"""The second entry: it verifies, it differs, or it settles a dispute; always by another person than the first."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.store.contract.refusing import refused
from tests.store.entries import (
    accepted,
    as_verified,
    differ,
    draft,
    mismatch,
    model,
    overrule,
    rejection,
    release,
    verify,
)
from tests.store.samples import ENTERED, NOON, ROTOR, SECOND, VERIFIED
from turnrule.store.errors import IndependenceError, NotOpenError, OverlapError, StoreError
from turnrule.store.limit_records import (
    Differed,
    EntryState,
    LimitQuery,
    LimitRevision,
    Mismatch,
    OpenDraft,
    Overruled,
    Verified,
)
from turnrule.store.port import Store

THIN = replace(ROTOR, discard=Decimal("23.5"))


def test_an_equal_second_entry_verifies_the_draft(store: Store) -> None:
    kept = store.enter(draft())
    seen: list[OpenDraft] = []

    def decide(found: OpenDraft) -> Verified:
        seen.append(found)
        return Verified("second reader", VERIFIED)

    told = store.settle("L1", decide)
    verified = as_verified(kept)
    assert seen == [OpenDraft(kept)]
    assert told == (OpenDraft(kept), Verified("second reader", VERIFIED), verified)
    assert store.open_draft("L1") is None
    assert store.limit_revision("L1", 1) == verified
    assert store.waiting() == 1
    assert store.limits(LimitQuery()) == []


def test_a_second_entry_that_differs_is_kept_beside_the_draft_and_changes_nothing_else(store: Store) -> None:
    kept = store.enter(draft())
    first = mismatch(fields=("/unit", "/application/year_to"), entry=bytes(range(256)))
    assert store.settle("L1", lambda _: Differed(first)) == (OpenDraft(kept), Differed(first), None)
    assert store.open_draft("L1") == OpenDraft(kept, (first,))
    second = differ(store, by="third reader", entered_at=VERIFIED + SECOND)
    found = store.open_draft("L1")
    assert found == OpenDraft(kept, (first, second))
    assert found is not None
    assert found.state is EntryState.DISPUTED
    assert store.limit_revision("L1", 1) is None
    verified = verify(store, by="fourth reader")
    assert verified == as_verified(kept, "fourth reader")
    (row,) = store.history("L1")
    assert (row.mismatches, row.state) == (2, EntryState.VERIFIED)


def test_before_there_are_two_mismatches_whoever_made_one_may_try_again(store: Store) -> None:
    store.enter(draft())
    differ(store)
    assert verify(store, by="second reader").verified_by == "second reader"
    store.enter(draft("L2", fits=model(2)))
    differ(store, "L2")
    differ(store, "L2")
    found = store.open_draft("L2")
    assert found is not None
    assert [one.entered_by for one in found.mismatches] == ["second reader"] * 2


@pytest.mark.parametrize("mismatches", [0, 1])
def test_the_first_reader_never_makes_the_second_entry(store: Store, mismatches: int) -> None:
    kept = store.enter(draft())
    told = tuple(differ(store, by=f"reader {number}") for number in range(mismatches))
    for at in (VERIFIED, ENTERED, NOON + datetime.timedelta(days=4000)):
        with pytest.raises(IndependenceError):
            verify(store, by="first reader", at=at)
        with pytest.raises(IndependenceError):
            differ(store, by="first reader", entered_at=at)
    assert store.open_draft("L1") == OpenDraft(kept, told)
    assert store.waiting() == 0


@pytest.mark.parametrize("by", ["first reader", "second reader", "third reader"])
def test_after_two_mismatches_nobody_who_made_an_entry_goes_on(store: Store, by: str) -> None:
    kept = store.enter(draft())
    told = (differ(store, by="second reader"), differ(store, by="third reader"))
    entered = replace(kept, limits=THIN, entered_by="second reader", entered_at=VERIFIED)
    with pytest.raises(IndependenceError):
        verify(store, by=by)
    with pytest.raises(IndependenceError):
        differ(store, by=by)
    with pytest.raises(IndependenceError):
        overrule(store, "L1", entered=entered, by=by)
    assert store.open_draft("L1") == OpenDraft(kept, told)
    assert len(store.history("L1")) == 1


def test_a_third_person_who_differs_from_all_leaves_it_to_a_fourth(store: Store) -> None:
    store.enter(draft())
    for number in range(2, 6):
        differ(store, by=f"reader {number}")
    with pytest.raises(IndependenceError):
        verify(store, by="reader 5")
    assert verify(store, by="reader 6").verified_by == "reader 6"


def test_a_third_entry_that_equals_an_earlier_second_one_overrules_the_draft(store: Store) -> None:
    kept = store.enter(draft())
    told = (differ(store, by="second reader", entered_at=VERIFIED), differ(store, by="third reader"))
    entered = replace(kept, limits=THIN, entered_by="second reader", entered_at=VERIFIED, note=None)
    found, settlement, verified = overrule(store, "L1", entered=entered, by="fourth reader")
    assert found == OpenDraft(kept, told)
    assert settlement == Overruled(entered, "fourth reader", NOON, "two others read the same")
    assert verified == replace(entered, revision=2, verified_by="fourth reader", verified_at=NOON)
    first, second = store.history("L1")
    assert (first.revision, first.state, first.mismatches) == (kept, EntryState.REJECTED, 2)
    assert first.rejection == rejection(
        rejected_by="fourth reader", rejected_at=NOON, reason="two others read the same"
    )
    assert (second.revision, second.state, second.mismatches) == (verified, EntryState.VERIFIED, 0)
    assert (store.open_draft("L1"), store.limit_revision("L1", 1)) == (None, None)
    release(store)
    assert store.limits(LimitQuery()) == [verified]


def test_an_overruling_entry_is_not_its_own_second(store: Store) -> None:
    kept = store.enter(draft())
    for number in (2, 3):
        differ(store, by=f"reader {number}")
    with pytest.raises(IndependenceError):
        overrule(store, "L1", entered=replace(kept, entered_by="reader 4"), by="reader 4")
    assert len(store.history("L1")) == 1


def test_an_overruling_entry_that_is_for_another_records_vehicle_is_refused(store: Store) -> None:
    kept = store.enter(draft())
    accepted(store, draft("L2", fits=model(2)))
    told = (differ(store, by="second reader"), differ(store, by="third reader"))
    entered = replace(kept, fits=model(2), entered_by="second reader")
    with pytest.raises(OverlapError):
        overrule(store, "L1", entered=entered, by="fourth reader")
    assert store.open_draft("L1") == OpenDraft(kept, told)
    moved = replace(kept, fits=model(3), entered_by="second reader")
    _, _, verified = overrule(store, "L1", entered=moved, by="fourth reader")
    assert verified is not None
    assert verified.fits == model(3)


def _not_open(store: Store) -> list[str]:
    """Records without an open draft, each for its own reason."""
    accepted(store, draft("verified", fits=model(1)))
    accepted(store, draft("published", fits=model(2)))
    release(store)
    accepted(store, draft("again", fits=model(3)))
    store.enter(draft("rejected", fits=model(4)))
    store.reject("rejected", rejection())
    return ["verified", "published", "again", "rejected", "nowhere", ""]


def test_without_an_open_draft_there_is_nothing_to_settle_or_reject(store: Store) -> None:
    for limits_id in _not_open(store):
        with pytest.raises(NotOpenError):
            store.settle(limits_id, _never)
        with pytest.raises(NotOpenError):
            store.reject(limits_id, rejection())


def _never(draft: OpenDraft) -> Verified:
    raise AssertionError(draft)


def test_what_the_decision_raises_is_handed_on_and_nothing_is_kept(store: Store) -> None:
    kept = store.enter(draft())

    def decide(_: OpenDraft) -> Verified:
        raise KeyError("moved")

    with pytest.raises(KeyError):
        store.settle("L1", decide)
    assert store.open_draft("L1") == OpenDraft(kept)
    verify(store)


@pytest.mark.parametrize(
    "bad",
    [
        Verified("", VERIFIED),
        Verified("second reader", VERIFIED.replace(tzinfo=None)),
        Differed(mismatch("")),
        Differed(mismatch(at=VERIFIED.replace(tzinfo=None))),
        Differed(mismatch(fields=())),
        Differed(mismatch(entry=b"")),
        Overruled(draft("L1", entered_by=""), "fourth reader", NOON, "a reason"),
        Overruled(draft("L1", entered_by="second reader"), "", NOON, "a reason"),
        Overruled(draft("L1", entered_by="second reader"), "fourth reader", NOON, ""),
    ],
    ids=repr,
)
def test_a_second_entry_that_cannot_be_kept_whole_is_refused(
    store: Store, bad: Verified | Differed | Overruled
) -> None:
    kept = store.enter(draft())
    with refused():
        store.settle("L1", lambda _: bad)
    assert store.open_draft("L1") == OpenDraft(kept)
    assert len(store.history("L1")) == 1


@pytest.mark.parametrize("bad", [{"rejected_by": ""}, {"reason": ""}, {"rejected_at": NOON.replace(tzinfo=None)}])
def test_a_rejection_without_a_name_a_reason_or_a_zone_is_refused(store: Store, bad: dict[str, object]) -> None:
    kept = store.enter(draft())
    with refused():
        store.reject("L1", rejection(**bad))
    assert store.open_draft("L1") == OpenDraft(kept)


def test_a_rejected_draft_stays_in_the_history_and_never_governs(store: Store) -> None:
    first = accepted(store, draft())
    kept = store.enter(draft(limits=THIN), corrects=1)
    told = differ(store)
    assert store.reject("L1", rejection()) == OpenDraft(kept, (told,))
    one, two = store.history("L1")
    assert (one.revision, one.state) == (first, EntryState.VERIFIED)
    assert (two.revision, two.state, two.rejection) == (kept, EntryState.REJECTED, rejection())
    assert two.mismatches == 1
    release(store)
    assert store.limits(LimitQuery()) == [first]
    assert store.limit_revision("L1", 2) is None


def test_settling_one_record_leaves_the_others_alone(store: Store) -> None:
    rows: list[LimitRevision] = [store.enter(draft(f"L{number}", fits=model(number))) for number in range(4)]
    told: Mismatch = differ(store, "L1")
    verify(store, "L2")
    store.reject("L3", rejection())
    assert store.drafts() == [OpenDraft(rows[0]), OpenDraft(rows[1], (told,))]
    assert issubclass(IndependenceError, StoreError)

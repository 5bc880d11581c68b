"""A store that was made for a shop of one person: the same key makes the second entry, once the pause is over."""

from __future__ import annotations

import datetime

import pytest

from tests.store.contract.refusing import refused
from tests.store.entries import accepted, as_verified, differ, draft, model, release, verify, withdrawal
from tests.store.samples import ENTERED, NOON, SECOND, VERIFIED, publish, revision
from turnrule.store.errors import IndependenceError, RulesError
from turnrule.store.limit_records import LimitQuery, OpenDraft, StoreRules
from turnrule.store.port import Store

PAUSE = datetime.timedelta(hours=5)
ALONE = StoreRules(PAUSE)
OVER = ENTERED + PAUSE


def _set(store: Store, rules: StoreRules) -> None:
    store.set_rules(rules, at=NOON, by="office")


@pytest.fixture
def alone(store: Store) -> Store:
    """A store that was made for one person."""
    _set(store, ALONE)
    return store


def test_a_new_store_is_for_two_people_and_takes_any_pack(store: Store) -> None:
    assert store.rules() == StoreRules(None, signed_packs_only=False, trusted_keys=())


def test_one_person_makes_both_entries_when_the_pause_is_over(alone: Store) -> None:
    kept = alone.enter(draft())
    for at in (ENTERED - PAUSE, ENTERED, OVER - SECOND):
        with pytest.raises(IndependenceError):
            verify(alone, by="first reader", at=at)
        with pytest.raises(IndependenceError):
            differ(alone, by="first reader", entered_at=at)
    assert alone.open_draft("L1") == OpenDraft(kept)
    verified = verify(alone, by="first reader", at=OVER)
    assert verified == as_verified(kept, "first reader", OVER)
    assert verified.by_one_person
    release(alone)
    found = alone.limit_revision("L1")
    assert found is not None
    assert found.by_one_person


def test_two_people_need_no_pause(alone: Store) -> None:
    alone.enter(draft())
    assert not verify(alone, at=ENTERED).by_one_person


def test_one_person_may_differ_from_the_draft_after_the_pause(alone: Store) -> None:
    alone.enter(draft())
    differ(alone, by="first reader", entered_at=OVER)
    assert verify(alone, by="first reader", at=OVER + SECOND).by_one_person


@pytest.mark.parametrize("by", ["first reader", "second reader", "third reader"])
def test_after_two_mismatches_another_person_is_needed_here_too(alone: Store, by: str) -> None:
    kept = alone.enter(draft())
    told = (differ(alone, by="second reader"), differ(alone, by="third reader"))
    later = OVER + datetime.timedelta(days=90)
    with pytest.raises(IndependenceError):
        verify(alone, by=by, at=later)
    with pytest.raises(IndependenceError):
        differ(alone, by=by, entered_at=later)
    assert alone.open_draft("L1") == OpenDraft(kept, told)
    assert not verify(alone, by="fourth reader").by_one_person


def test_one_person_who_differed_twice_needs_another(alone: Store) -> None:
    alone.enter(draft())
    for number in range(2):
        differ(alone, by="first reader", entered_at=OVER + number * SECOND)
    with pytest.raises(IndependenceError):
        verify(alone, by="first reader", at=OVER + PAUSE)
    verify(alone, by="second reader")


def test_a_release_counts_what_one_person_entered_among_what_it_holds(alone: Store) -> None:
    for number in range(4):
        alone.enter(draft(f"L{number}", fits=model(number)))
        verify(alone, f"L{number}", by="first reader" if number < 3 else "second reader", at=OVER)
    assert (release(alone).records, alone.releases()[0].by_one_person) == (4, 3)
    accepted(alone, draft("L0", fits=model(0)), corrects=1)  # now by two
    alone.withdraw(withdrawal("L1"))
    second = release(alone)
    assert (second.records, second.by_one_person) == (3, 1)
    assert alone.release(1) == alone.releases()[0]


def test_a_pause_of_nothing_is_a_pause(store: Store) -> None:
    _set(store, StoreRules(datetime.timedelta(0)))
    store.enter(draft())
    with pytest.raises(IndependenceError):
        verify(store, by="first reader", at=ENTERED - SECOND)
    assert verify(store, by="first reader", at=ENTERED).by_one_person


@pytest.mark.parametrize("at", [VERIFIED, OVER])
def test_what_one_person_entered_elsewhere_is_not_brought_into_a_store_for_two(
    store: Store, at: datetime.datetime
) -> None:
    with pytest.raises(IndependenceError):
        publish(store, revision(verified_by="first reader", verified_at=at))
    assert store.limits(LimitQuery()) == []
    assert store.release() is None


def test_what_one_person_entered_elsewhere_in_less_than_the_pause_is_not_brought_in(alone: Store) -> None:
    with pytest.raises(IndependenceError):
        publish(alone, revision(verified_by="first reader", verified_at=OVER - SECOND))
    assert publish(alone, revision(verified_by="first reader", verified_at=OVER)).by_one_person == 1


@pytest.mark.parametrize("then", [None, datetime.timedelta(0), PAUSE - SECOND, PAUSE + SECOND])
def test_the_pause_is_settled_before_the_first_entry(alone: Store, then: datetime.timedelta | None) -> None:
    _set(alone, StoreRules(then))
    _set(alone, ALONE)
    assert alone.rules() == ALONE
    alone.enter(draft())
    with pytest.raises(RulesError):
        _set(alone, StoreRules(then))
    assert alone.rules() == ALONE
    _set(alone, StoreRules(PAUSE, signed_packs_only=True))
    assert alone.rules() == StoreRules(PAUSE, signed_packs_only=True)


@pytest.mark.parametrize("pause", [datetime.timedelta(0), PAUSE])
def test_a_store_for_two_stays_one_after_its_first_entry(store: Store, pause: datetime.timedelta) -> None:
    publish(store, revision())
    with pytest.raises(RulesError):
        _set(store, StoreRules(pause))
    assert store.rules() == StoreRules()
    _set(store, StoreRules())


def test_a_store_that_takes_signed_packs_only_goes_on_doing_so(store: Store) -> None:
    keys = ("0f" * 32, "a0" * 32)
    _set(store, StoreRules(signed_packs_only=True, trusted_keys=keys))
    for loosened in (StoreRules(), StoreRules(trusted_keys=keys)):
        with pytest.raises(RulesError):
            _set(store, loosened)
    assert store.rules() == StoreRules(signed_packs_only=True, trusted_keys=keys)
    _set(store, StoreRules(signed_packs_only=True, trusted_keys=keys[1:]))
    assert store.rules().trusted_keys == keys[1:]


@pytest.mark.parametrize("pause", [-SECOND, datetime.timedelta(days=-1)])
def test_a_pause_backwards_is_refused(store: Store, pause: datetime.timedelta) -> None:
    with refused():
        _set(store, StoreRules(pause))
    with refused():
        store.set_rules(StoreRules(), at=NOON, by="")
    with refused():
        store.set_rules(StoreRules(), at=NOON.replace(tzinfo=None), by="office")
    assert store.rules() == StoreRules()

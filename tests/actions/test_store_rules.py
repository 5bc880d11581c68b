"""The rules of a store: set when it is made, or tightened; each change is kept."""

from __future__ import annotations

import datetime

import pytest

from tests.store.samples import revision
from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError
from turnrule.actions.store_rules import A_DAY, distrust_key, set_for_one_person, take_signed_packs_only, trust_keys
from turnrule.store.limit_records import StoreRules

ONE, OTHER = "ab" * 32, "cd" * 32
HOUR = datetime.timedelta(hours=1)


def test_a_new_store_asks_for_two_people_and_takes_any_pack(desk: Desk) -> None:
    assert desk.store.rules() == StoreRules(None, signed_packs_only=False, trusted_keys=())


def test_one_person_may_make_both_entries_after_a_day_where_the_store_is_made_so(desk: Desk) -> None:
    set_for_one_person(desk, "owner")
    assert desk.store.rules().one_person_pause == A_DAY == datetime.timedelta(hours=24)


def test_a_pause_is_an_hour_or_more(desk: Desk) -> None:
    with pytest.raises(RefusedError, match="an hour or more"):
        set_for_one_person(desk, "owner", HOUR - datetime.timedelta(seconds=1))
    set_for_one_person(desk, "owner", HOUR)
    assert desk.store.rules().one_person_pause == HOUR


def test_whether_one_person_enters_is_settled_before_the_first_entry(desk: Desk) -> None:
    desk.store.enter(revision())
    with pytest.raises(RefusedError, match="before the first limits are entered") as caught:
        set_for_one_person(desk, "owner")
    assert caught.value.code == "rules_loosened"
    assert desk.store.rules().one_person_pause is None


def test_signed_packs_only_needs_a_key_to_trust_and_is_for_good(desk: Desk) -> None:
    with pytest.raises(RefusedError, match="trust a key first"):
        take_signed_packs_only(desk, "owner")
    trust_keys(desk, [ONE.upper(), f" {OTHER}\n", ONE], "owner")
    take_signed_packs_only(desk, "owner")
    assert desk.store.rules() == StoreRules(None, signed_packs_only=True, trusted_keys=(ONE, OTHER))
    distrust_key(desk, ONE, "owner")
    assert desk.store.rules() == StoreRules(None, signed_packs_only=True, trusted_keys=(OTHER,))


@pytest.mark.parametrize("key", ["", "ab", "zz" * 32, "ab" * 33])
def test_a_key_that_is_none_is_not_trusted(desk: Desk, key: str) -> None:
    with pytest.raises(RefusedError, match="64 hexadecimal digits"):
        trust_keys(desk, [ONE, key], "owner")
    assert desk.store.rules().trusted_keys == ()


def test_only_a_trusted_key_is_distrusted(desk: Desk) -> None:
    with pytest.raises(RefusedError, match="not among the trusted keys"):
        distrust_key(desk, ONE, "owner")

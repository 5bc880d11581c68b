"""A withdrawal acts at once, for every reader, and never on what a past release held."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.contract.refusing import refused
from tests.store.entries import accepted, draft, model, rejection, release, withdrawal
from tests.store.samples import FITS, NOON, SECOND, publish, revision
from turnrule.store.errors import NotOpenError
from turnrule.store.limit_records import EntryState, HeldRevision, LimitQuery, LimitRevision
from turnrule.store.port import Store

NOW = LimitQuery()


def _numbers(store: Store, query: LimitQuery) -> list[tuple[str, int]]:
    return [(row.limits_id, row.revision) for row in store.limits(query)]


def _held(store: Store, query: LimitQuery) -> list[tuple[str, int, int]]:
    """What is held, with the number of the withdrawal in its way."""
    pairs = [(one.revision, one.withdrawal) for one in store.held(query)]
    return [(row.limits_id, row.revision, gone.sequence if gone is not None else 0) for row, gone in pairs]


def test_a_withdrawal_comes_back_with_its_number_and_acts_at_once_everywhere(
    adapter: Adapter, place: str, store: Store
) -> None:
    publish(store, revision("L1"), revision("L2"))
    other = adapter.open(place)
    assert len(other.limits(NOW)) == 2
    told = store.withdraw(replace(withdrawal("L1"), sequence=77))
    assert told == replace(withdrawal("L1"), sequence=1)
    for one in (store, other):
        assert _numbers(one, NOW) == [("L2", 1)]
        assert one.held(NOW) == [HeldRevision(revision("L1"), told), HeldRevision(revision("L2"))]
        assert (one.last_withdrawal(), one.withdrawals()) == (1, [told])
        assert _numbers(one, LimitQuery(release=1)) == [("L1", 1), ("L2", 1)]
    other.close()


def test_a_withdrawn_record_can_still_be_read(store: Store) -> None:
    publish(store, revision("L1"))
    told = store.withdraw(withdrawal("L1"))
    assert store.limit_revision("L1") == store.limit_revision("L1", 1) == revision("L1")
    (row,) = store.history("L1")
    assert (row.state, row.withdrawal, row.release) == (EntryState.WITHDRAWN, told, 1)


def test_a_later_revision_governs_again(store: Store) -> None:
    publish(store, revision("L1"))
    store.withdraw(withdrawal("L1"))
    second = accepted(store, draft("L1"), corrects=1)
    assert _numbers(store, NOW) == []  # verified, and in no release yet
    release(store)
    assert store.limits(NOW) == [second]
    assert _held(store, NOW) == [("L1", 2, 0)]
    assert [row.state for row in store.history("L1")] == [EntryState.WITHDRAWN, EntryState.PUBLISHED]


def test_a_withdrawal_reaches_all_revisions_up_to_its_own_and_none_after_it(store: Store) -> None:
    publish(store, revision("L1", 1), revision("L1", 2))
    publish(store, revision("L1", 3))
    store.withdraw(withdrawal("L1", 2))
    assert _numbers(store, NOW) == [("L1", 3)]
    publish(store, revision("L1", 5))
    store.withdraw(withdrawal("L1", 5))
    assert _numbers(store, LimitQuery(release=2, withdrawn=1)) == [("L1", 3)]
    assert _numbers(store, LimitQuery(release=2, withdrawn=2)) == []
    assert _held(store, LimitQuery(release=1)) == [("L1", 2, 1)]
    assert [row.state for row in store.history("L1")] == [
        *(EntryState.WITHDRAWN, EntryState.WITHDRAWN, EntryState.WITHDRAWN, EntryState.WITHDRAWN)
    ]
    assert [row.withdrawal.sequence for row in store.history("L1") if row.withdrawal is not None] == [1, 1, 2, 2]
    assert _held(store, NOW) == [("L1", 5, 2)]
    assert _held(store, LimitQuery(release=2)) == [("L1", 3, 2)]


def test_the_same_is_not_withdrawn_twice(store: Store) -> None:
    publish(store, revision("L1", 1), revision("L1", 2))
    told = store.withdraw(withdrawal("L1", 2))
    for number in (1, 2):
        with pytest.raises(NotOpenError):
            store.withdraw(withdrawal("L1", number, withdrawn_at=NOON + SECOND))
    assert store.withdrawals() == [told]


def test_what_was_never_accepted_is_not_withdrawn(store: Store) -> None:
    store.enter(draft("draft", fits=model(1)))
    store.enter(draft("rejected", fits=model(2)))
    store.reject("rejected", rejection())
    accepted(store, draft("L1"))
    for limits_id, number in (("draft", 1), ("rejected", 1), ("nowhere", 1), ("L1", 2), ("L1", 0), ("", 1)):
        with pytest.raises(NotOpenError):
            store.withdraw(withdrawal(limits_id, number))
    assert store.last_withdrawal() == 0
    assert store.withdraw(withdrawal("L1")).sequence == 1


@pytest.mark.parametrize("bad", [{"withdrawn_by": ""}, {"reason": ""}, {"withdrawn_at": NOON.replace(tzinfo=None)}])
def test_a_withdrawal_without_a_name_a_reason_or_a_zone_is_refused(store: Store, bad: dict[str, object]) -> None:
    publish(store, revision("L1"))
    with refused():
        store.withdraw(withdrawal("L1", 1, **bad))
    assert len(store.limits(NOW)) == 1
    assert store.withdraw(withdrawal("L1")).sequence == 1


def test_a_verified_revision_may_be_withdrawn_before_it_is_released(store: Store) -> None:
    accepted(store, draft("L1"))
    store.withdraw(withdrawal("L1"))
    first = release(store)
    assert (first.records, first.accepted, first.withdrawn) == (0, 1, 1)
    assert _numbers(store, NOW) == _numbers(store, LimitQuery(release=1)) == []
    assert _held(store, NOW) == [("L1", 1, 1)]


def test_a_release_holds_what_was_withdrawn_after_it_and_not_what_was_before(store: Store) -> None:
    publish(store, revision("L1"), revision("L2"), revision("L3"))
    store.withdraw(withdrawal("L1"))
    second = release(store)
    store.withdraw(withdrawal("L2"))
    assert (second.records, second.withdrawn) == (2, 1)
    assert _numbers(store, LimitQuery(release=1)) == [("L1", 1), ("L2", 1), ("L3", 1)]
    assert _numbers(store, LimitQuery(release=2)) == [("L2", 1), ("L3", 1)]
    assert _numbers(store, NOW) == [("L3", 1)]
    for query in (NOW, LimitQuery(release=1), LimitQuery(release=2)):
        assert _held(store, query) == [("L1", 1, 1), ("L2", 1, 2), ("L3", 1, 0)]


@pytest.mark.parametrize(("counted", "left"), [(0, 3), (1, 2), (2, 1), (3, 1)])
def test_withdrawals_count_up_to_the_one_that_the_query_names(store: Store, counted: int, left: int) -> None:
    publish(store, revision("L1"), revision("L2"), revision("L3"))
    for number in (1, 2):
        store.withdraw(withdrawal(f"L{number}"))
    for query in (LimitQuery(withdrawn=counted), LimitQuery(release=1, withdrawn=counted)):
        assert len(store.limits(query)) == left
        assert sum(one.withdrawal is None for one in store.held(query)) == left
        assert len(store.held(query)) == 3


def test_what_is_held_is_asked_for_as_limits_are(store: Store) -> None:
    rows: list[LimitRevision] = [
        revision("L1"),
        revision("L2", fits=replace(FITS, brake_option=None)),
        revision("L3", fits=model(3), effective_from=datetime.date(2024, 1, 1)),
    ]
    publish(store, *rows)
    told = store.withdraw(withdrawal("L1"))
    query = LimitQuery(make="CORVANE", model="ostrel", year=2022, on=datetime.date(2023, 1, 1))
    assert store.held(query) == [HeldRevision(rows[0], told), HeldRevision(rows[1])]
    assert store.held(replace(query, brake_option="b16")) == [HeldRevision(rows[0], told)]
    assert store.held(replace(query, model="Ostrel 3")) == []
    assert store.held(NOW, limit=1) == [HeldRevision(rows[0], told)]
    assert store.held(NOW, limit=0) == store.held(NOW, limit=-1) == []
    for number in (-1, 0, 2):
        assert store.held(LimitQuery(release=number)) == []


def test_withdrawals_come_in_their_order_and_in_pages(store: Store) -> None:
    publish(store, *(revision(f"L{number}") for number in range(6)))
    told = [store.withdraw(withdrawal(f"L{number}", reason=f"reason {number}")) for number in (4, 1, 5, 0, 2)]
    assert [one.sequence for one in told] == [1, 2, 3, 4, 5]
    assert store.withdrawals() == told
    assert [*store.withdrawals(limit=2), *store.withdrawals(after=2, limit=2), *store.withdrawals(after=4)] == told
    assert store.withdrawals(up_to=3) == told[:3]
    assert store.withdrawals(after=1, up_to=3) == told[1:3]
    assert store.withdrawals(up_to=0) == store.withdrawals(after=5) == store.withdrawals(limit=-1) == []

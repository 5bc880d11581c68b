"""What became of each revision, and what changed between two releases: at any cut the same."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.store.entries import accepted, differ, draft, model, rejection, release, verify, withdrawal
from tests.store.samples import publish, revision
from turnrule.store.limit_records import Change, EntryState, HistoryRow, LimitRevision, Withdrawal
from turnrule.store.port import Store


def test_a_record_that_was_never_entered_has_no_history(store: Store) -> None:
    store.enter(draft("L1"))
    for limits_id in ("L", "L10", "l1", ""):
        assert store.history(limits_id) == []


def test_a_revision_goes_through_its_states(store: Store) -> None:
    def now() -> HistoryRow:
        (row,) = store.history("L1")
        return row

    kept = store.enter(draft())
    assert now() == HistoryRow(kept, EntryState.DRAFT)
    differ(store)
    assert now() == HistoryRow(kept, EntryState.DRAFT, mismatches=1)
    differ(store)
    assert now() == HistoryRow(kept, EntryState.DISPUTED, mismatches=2)
    verified = verify(store, by="third reader")
    assert now() == HistoryRow(verified, EntryState.VERIFIED, mismatches=2)
    release(store)
    assert now() == HistoryRow(verified, EntryState.PUBLISHED, 1, 2)
    publish(store, revision("L2", fits=model(2)))
    assert now() == HistoryRow(verified, EntryState.PUBLISHED, 1, 2)
    told = store.withdraw(withdrawal())
    assert now() == HistoryRow(verified, EntryState.WITHDRAWN, 1, 2, told)


def test_a_withdrawal_reaches_accepted_revisions_and_no_rejected_one(store: Store) -> None:
    accepted(store, draft())
    store.enter(draft(), corrects=1)
    store.reject("L1", rejection())
    accepted(store, draft(), corrects=1)
    told = store.withdraw(withdrawal("L1", 3))
    assert [(row.state, row.withdrawal) for row in store.history("L1")] == [
        (EntryState.WITHDRAWN, told),
        (EntryState.REJECTED, None),
        (EntryState.WITHDRAWN, told),
    ]


def test_a_revision_names_the_first_of_several_withdrawals(store: Store) -> None:
    publish(store, revision("L1", 1), revision("L1", 2), revision("L1", 4))
    first, second = store.withdraw(withdrawal("L1", 1)), store.withdraw(withdrawal("L1", 4))
    assert [row.withdrawal for row in store.history("L1")] == [first, second, second]


def test_histories_come_in_pages_by_revision(store: Store) -> None:
    publish(store, *(revision("L1", number) for number in (1, 2, 5, 9)), revision("L2", fits=model(2)))
    store.enter(draft(), corrects=9)
    rows = store.history("L1")
    assert [row.revision.revision for row in rows] == [1, 2, 5, 9, 10]
    assert store.history("L1", after=2, limit=2) == rows[2:4]
    assert store.history("L1", after=4, limit=1) == rows[2:3]
    assert store.history("L1", after=10) == store.history("L1", limit=0) == store.history("L1", limit=-1) == []


@pytest.fixture
def told(store: Store) -> list[Change]:
    """A store of four releases, and every change of it in order, written down by hand."""
    one, two, other = revision("L1", 1), revision("L1", 2, note="again"), revision("L2")
    publish(store, one, other)
    gone = store.withdraw(withdrawal("L1"))
    first = accepted(store, draft("L3", fits=model(3)))
    second = accepted(store, draft("L3", fits=model(4), reason="a digit"), corrects=1)
    release(store)
    publish(store)
    store.enter(draft("L4", fits=model(5)))
    publish(store, two, revision("L0"))
    late = store.withdraw(withdrawal("L2"))
    accepted(store, draft("L5", fits=model(6)))
    assert late.sequence == 2  # neither of these is in a release yet
    return [
        Change(1, "a000000000001", None, one),
        Change(1, "a000000000002", None, other),
        Change(2, "a000000000003", None, first),
        Change(2, "a000000000004", first, second),
        Change(2, "w000000000001", one, None, gone),
        Change(4, "a000000000005", one, two),
        Change(4, "a000000000006", None, revision("L0")),
    ]


def test_changes_are_told_by_release_and_place(store: Store, told: list[Change]) -> None:
    assert store.changes(0, 4) == told
    assert [(one.release, one.place) for one in told] == sorted((one.release, one.place) for one in told)


def test_changes_are_those_after_one_release_up_to_another(store: Store, told: list[Change]) -> None:
    for since in range(-2, 6):
        for until in range(-1, 7):
            assert store.changes(since, until) == [one for one in told if since < one.release <= until]


@pytest.mark.parametrize("since", [0, 1, 2])
def test_changes_go_on_after_any_of_them_in_pages_of_any_length(store: Store, told: list[Change], since: int) -> None:
    wanted = [one for one in told if one.release > since]
    for limit in range(1, len(told) + 2):
        for cut, last in enumerate(wanted, start=1):
            after = (last.release, last.place)
            assert store.changes(since, 4, after=after, limit=limit) == wanted[cut : cut + limit]
        assert store.changes(since, 4, limit=limit) == wanted[:limit]
    assert store.changes(since, 4, limit=0) == store.changes(since, 4, limit=-1) == []


def test_pages_of_changes_meet_while_more_are_published(store: Store, told: list[Change]) -> None:
    seen: list[Change] = []
    after = (0, "")
    while page := store.changes(0, 4, after=after, limit=2):
        seen += page
        after = (page[-1].release, page[-1].place)
        number = len(seen) + 100
        publish(store, revision(f"L{number}", fits=model(number)))
    assert seen == told


def test_a_withdrawn_revision_that_was_corrected_is_told_as_the_old_one(store: Store) -> None:
    first = accepted(store, draft())
    release(store)
    gone = store.withdraw(withdrawal())
    release(store)
    second = accepted(store, draft(), corrects=1)
    release(store)
    assert store.changes(1, 3) == [
        Change(2, "w000000000001", first, None, gone),
        Change(3, "a000000000002", first, second),
    ]


def test_a_correction_is_told_with_the_newest_revision_before_it(store: Store) -> None:
    rows = [revision("L1", number) for number in (1, 4, 5, 9)]
    publish(store, *rows[:3])
    publish(store, rows[3])
    assert [(one.old, one.new) for one in store.changes(0, 2)] == list(zip([None, *rows], rows, strict=False))


def test_the_newest_revision_of_a_record_is_the_newest_published_one(store: Store) -> None:
    first = accepted(store, draft())
    assert store.limit_revision("L1") is None
    assert store.limit_revision("L1", 1) == first
    release(store)
    second = accepted(store, draft(), corrects=1)
    assert store.limit_revision("L1") == first
    assert store.limit_revision("L1", 2) == second
    release(store)
    assert store.limit_revision("L1") == second
    known: list[LimitRevision] = [first, second]
    gone: Withdrawal = store.withdraw(withdrawal("L1", 2))
    assert [store.limit_revision("L1", number) for number in (1, 2)] == known
    assert gone == replace(withdrawal("L1", 2), sequence=1)

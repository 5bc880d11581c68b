"""Publishing: the next release holds all that is verified and not withdrawn, once, whoever races for it."""

from __future__ import annotations

import hashlib
import multiprocessing
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.contract.refusing import refused
from tests.store.contract.writers import publish_next, verify_and_publish
from tests.store.entries import accepted, differ, draft, model, rejection, release, verify, withdrawal
from tests.store.samples import NOON, SECOND, publish, publish_all, revision
from turnrule.store.content import EMPTY, content_digest
from turnrule.store.errors import NothingToPublishError, NotOpenError, ReleaseRaceError, StoreError
from turnrule.store.limit_records import LimitQuery, LimitRevision, Release
from turnrule.store.port import Store

NOW = LimitQuery()
RACERS = 4


def _digest(rows: list[LimitRevision]) -> str:
    """SHA-256 over one line a record, by id: the id, a space, the digest of what the revision says."""
    lines = [f"{row.limits_id} {content_digest(row).removeprefix('sha256:')}\n" for row in rows]
    return f"sha256:{hashlib.sha256(''.join(lines).encode()).hexdigest()}"


def test_an_empty_store_has_nothing_to_publish(store: Store) -> None:
    with pytest.raises(NothingToPublishError):
        release(store)
    assert store.release() is None


def test_a_release_holds_all_that_is_verified_and_nothing_else(store: Store) -> None:
    first, second = accepted(store, draft("b")), accepted(store, draft("B", fits=model(2)))
    store.enter(draft("draft", fits=model(3)))
    store.enter(draft("disputed", fits=model(4)))
    for number in (2, 3):
        differ(store, "disputed", by=f"reader {number}")
    store.enter(draft("rejected", fits=model(5)))
    store.reject("rejected", rejection())
    assert store.waiting() == 2
    published = release(store, notes="the first")
    assert store.limits(NOW) == [second, first]  # by id, byte for byte
    assert published == Release(1, NOON, "publisher", "the first", _digest([second, first]), 2, 0, 2, 0)
    assert store.release() == store.release(1) == published
    assert store.waiting() == 0


def test_nothing_is_published_twice(store: Store) -> None:
    accepted(store, draft())
    release(store)
    store.enter(draft(), corrects=1)
    with pytest.raises(NothingToPublishError):
        release(store)
    assert len(store.releases()) == 1


def test_a_withdrawal_is_something_to_publish(store: Store) -> None:
    accepted(store, draft())
    release(store)
    store.withdraw(withdrawal())
    second = release(store, at=NOON + SECOND)
    assert second == Release(2, NOON + SECOND, "publisher", "", EMPTY, 0, 0, 1, 1)
    with pytest.raises(NothingToPublishError):
        release(store)


def test_a_correction_replaces_what_it_corrects_from_its_release_on(store: Store) -> None:
    first = accepted(store, draft(note="first"))
    release(store)
    second = accepted(store, draft(note="second"), corrects=1)
    assert store.limits(NOW) == [first]
    release(store)
    assert store.limits(NOW) == [second]
    assert store.limits(LimitQuery(release=1)) == [first]
    assert [one.digest for one in store.releases()] == [_digest([first]), _digest([second])]


@pytest.mark.parametrize("follows", [-1, 1, 2])
def test_the_first_release_follows_none(store: Store, follows: int) -> None:
    accepted(store, draft())
    with pytest.raises(ReleaseRaceError):
        release(store, follows=follows)
    assert store.release() is None
    assert release(store, follows=0).number == 1


def test_a_release_follows_the_one_that_it_names_or_is_refused(store: Store) -> None:
    for number in range(3):
        accepted(store, draft(f"L{number}", fits=model(number)))
        for wrong in {0, 1, 2, 3} - {number}:
            with pytest.raises(ReleaseRaceError):
                release(store, follows=wrong)
        assert release(store, follows=number).number == number + 1
    with pytest.raises(ReleaseRaceError):  # told before that there is nothing to publish
        release(store, follows=1)


def test_a_release_without_a_name_or_a_zone_is_refused(store: Store) -> None:
    accepted(store, draft())
    with refused():
        release(store, at=NOON.replace(tzinfo=None))
    with refused():
        store.publish_verified(published_at=NOON, published_by="", notes="")
    assert (store.release(), store.waiting()) == (None, 1)


def test_exactly_one_of_many_threads_that_race_publishes(store: Store) -> None:
    for number in range(3):
        accepted(store, draft(f"L{number}", fits=model(number)))
        barrier = threading.Barrier(RACERS)

        def race(_: int, follows: int = number, barrier: threading.Barrier = barrier) -> int | type[StoreError]:
            barrier.wait()
            try:
                return release(store, follows=follows).number
            except (ReleaseRaceError, NothingToPublishError) as error:
                return type(error)

        with ThreadPoolExecutor(RACERS) as pool:
            outcomes = list(pool.map(race, range(RACERS)))
        assert sorted(map(str, outcomes)) == sorted([str(number + 1), *[str(ReleaseRaceError)] * (RACERS - 1)])
    assert [one.number for one in store.releases()] == [1, 2, 3]


@pytest.mark.parametrize(("follows", "error"), [(None, NothingToPublishError), (0, ReleaseRaceError)])
def test_a_release_that_comes_between_looking_and_publishing_is_noticed(
    adapter: Adapter, place: str, store: Store, follows: int | None, error: type[StoreError]
) -> None:
    accepted(store, draft())
    other = adapter.open(place)
    outcomes: list[StoreError] = []

    def publish_too() -> None:
        with pytest.raises(StoreError) as caught:
            release(other, follows=follows)
        outcomes.append(caught.value)

    late = threading.Thread(target=publish_too)

    def rows() -> Iterator[LimitRevision]:
        """Comes while the store is locked: the other one has looked by then, and waits for the lock."""
        late.start()
        late.join(0.4)
        yield revision("L2")

    assert publish_all(store, rows()).records == 2
    late.join()
    assert [type(one) for one in outcomes] == [error]
    assert [one.number for one in store.releases()] == [1]
    other.close()


def test_exactly_one_of_many_processes_that_race_publishes(adapter: Adapter, place: str, store: Store) -> None:
    accepted(store, draft())
    context = multiprocessing.get_context("spawn")
    with context.Pool(RACERS) as pool:
        outcomes = pool.starmap(publish_next, [(adapter.name, place, 0)] * RACERS)
    assert sorted(outcomes) == ["1", *["release_race"] * (RACERS - 1)]
    assert len(store.releases()) == 1


def test_nothing_that_many_processes_verify_and_publish_is_lost_or_published_twice(
    adapter: Adapter, place: str, store: Store
) -> None:
    rounds = 12
    context = multiprocessing.get_context("spawn")
    with context.Pool(RACERS) as pool:
        calls = [(adapter.name, place, writer, rounds) for writer in range(RACERS)]
        published = sorted(number for numbers in pool.starmap(verify_and_publish, calls) for number in numbers)
    if store.waiting():
        published.append(release(store).number)
    assert published == [one.number for one in store.releases(limit=1000)] == list(range(1, len(published) + 1))
    everything = {f"W{writer}-{number}" for writer in range(RACERS) for number in range(rounds)}
    assert {row.limits_id for row in store.limits(NOW, limit=1000)} == everything
    came = [one.new.limits_id for one in store.changes(0, len(published), limit=1000) if one.new is not None]
    assert sorted(came) == sorted(everything)
    for one in store.releases(limit=1000):
        rows = store.limits(LimitQuery(release=one.number), limit=1000)
        assert (one.digest, one.records) == (_digest(list(rows)), len(rows))


def test_what_is_brought_in_is_published_with_what_waits(store: Store) -> None:
    waiting = accepted(store, draft("L1"))
    published = publish(store, revision("L2", 3))
    assert store.limits(NOW) == [waiting, revision("L2", 3)]
    assert (published.records, published.accepted, store.waiting()) == (2, 2, 0)
    assert store.history("L2")[0].release == 1


def test_what_is_brought_in_keeps_its_people_and_times_or_gets_those_of_the_release(store: Store) -> None:
    bare = revision("L2", entered_at=None, verified_at=None)
    publish(store, revision("L1"), bare)
    assert store.limits(NOW) == [revision("L1"), replace(bare, entered_at=NOON, verified_at=NOON)]


def test_withdrawals_come_in_with_what_they_withdraw(store: Store) -> None:
    publish(store, revision("L0"))
    published = store.publish(
        [revision("L1", 1), revision("L1", 2), revision("L2")],
        published_at=NOON,
        published_by="publisher",
        notes="",
        withdrawals=[withdrawal("L1", 1), withdrawal("L2"), withdrawal("L0")],
    )
    assert (published.records, published.withdrawn) == (1, 3)
    assert store.limits(NOW) == store.limits(LimitQuery(release=2)) == [revision("L1", 2)]
    assert [(one.sequence, one.limits_id) for one in store.withdrawals()] == [(1, "L1"), (2, "L2"), (3, "L0")]
    assert len(store.limits(LimitQuery(release=1))) == 1


def test_a_withdrawal_of_what_is_not_there_brings_nothing_in(store: Store) -> None:
    for wrong in (withdrawal("L9"), withdrawal("L1", 2)):
        with pytest.raises(NotOpenError):
            store.publish(
                [revision("L1")], published_at=NOON, published_by="p", notes="", withdrawals=[withdrawal(), wrong]
            )
    assert (store.release(), store.history("L1"), store.last_withdrawal()) == (None, [], 0)


def test_a_release_is_brought_in_only_where_it_has_the_digest_that_is_expected(store: Store) -> None:
    rows = [revision("L1"), revision("L2")]

    def bring(digest: str) -> Release:
        return store.publish(rows, published_at=NOON, published_by="p", notes="", digest=digest)

    for wrong in (_digest(rows[:1]), _digest(rows[::-1]), EMPTY, ""):
        with refused():
            bring(wrong)
    assert (store.release(), store.history("L1")) == (None, [])
    assert bring(_digest(rows)).digest == _digest(rows)


def test_a_number_that_is_a_drafts_is_not_brought_in(store: Store) -> None:
    accepted(store, draft())
    kept = store.enter(draft(), corrects=1)
    with refused():
        publish(store, revision("L1", 2))
    found = store.open_draft("L1")
    assert found is not None
    assert found.revision == kept
    assert verify(store).revision == 2

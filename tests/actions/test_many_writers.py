"""Four processes enter, verify, correct, withdraw and publish at once: nothing is lost, nobody is locked out."""

from __future__ import annotations

import multiprocessing
from collections import Counter
from collections.abc import Iterable, Sequence
from multiprocessing.synchronize import Barrier
from pathlib import Path

import pytest

from tests.actions.shop_writers import ENTERED_EACH_ROUND, Told, write_as
from tests.bench import fleet
from tests.bench.filling import new_desk, publish, revision_of
from turnrule.store.limit_records import EntryState, LimitQuery
from turnrule.store.port import Store

WRITERS = 4
ROUNDS = 12


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Told]]:
    """A store in which four processes have written at once, and what each of them was told."""
    database = tmp_path_factory.mktemp("writers") / "store.sqlite"
    desk = new_desk(database)
    publish(desk, (revision_of(number) for number in range(ROUNDS)))  # what everybody withdraws
    desk.store.close()
    processes = multiprocessing.get_context("spawn")
    barrier = processes.Barrier(WRITERS)
    with processes.Pool(WRITERS, _share, (barrier,)) as pool:
        told = pool.starmap(_write, [(str(database), number, ROUNDS) for number in range(WRITERS)], chunksize=1)
    return database, told


_shared: list[Barrier] = []


def _share(barrier: Barrier) -> None:
    _shared.append(barrier)


def _write(place: str, number: int, rounds: int) -> Told:
    return write_as(place, number, rounds, _shared[0])


@pytest.fixture
def told(lived: tuple[Path, list[Told]]) -> list[Told]:
    """What each writer was told."""
    return lived[1]


@pytest.fixture
def store(lived: tuple[Path, list[Told]]) -> Iterable[Store]:
    """The store as they left it."""
    opened = new_desk(lived[0]).store
    yield opened
    opened.close()


def everyones(lists: Iterable[Sequence[object]]) -> list[object]:
    """All of what several were told."""
    return [one for several in lists for one in several]


def test_nobody_is_told_that_the_store_is_locked_or_anything_else_that_is_not_about_their_entry(
    told: list[Told],
) -> None:
    assert [one.wrong for one in told] == [[]] * WRITERS
    refusals = sum((one.refused for one in told), Counter())
    # Only what a race is lost with: somebody else was faster, or a third person has to come.
    assert set(refusals) <= {"nothing_to_verify", "nothing_to_withdraw", "third_person_needed", "draft_open"}
    assert refusals["nothing_to_withdraw"] == ROUNDS * (WRITERS - 1)


def test_of_releases_that_race_exactly_one_wins(told: list[Told], store: Store) -> None:
    for turn, races in enumerate(zip(*(one.races for one in told), strict=True)):
        # In every other round they name the release that theirs is to follow; else there is nothing left for the rest.
        lost = "release_race" if turn % 2 == 0 else "nothing_to_publish"
        assert sorted(races) == [lost] * (WRITERS - 1) + ["won"]
    assert sorted(everyones(one.released for one in told)) == list(range(2, ROUNDS + 2))  # type: ignore[type-var]  # numbers
    by = {number: f"by writer {writer}" for writer, one in enumerate(told) for number in one.released}
    assert {release.number: release.notes for release in store.releases(limit=1000) if release.number > 1} == by


def test_each_thing_was_done_once_and_stands_in_the_store(told: list[Told], store: Store) -> None:
    entered = everyones(one.entered for one in told)
    verified = everyones(one.verified for one in told)
    corrected = everyones(one.corrected for one in told)
    withdrawn = everyones(one.withdrawn for one in told)
    assert len(entered) == len(set(entered)) == WRITERS * ROUNDS * ENTERED_EACH_ROUND
    assert len(verified) == len(set(verified))
    assert len(corrected) == len(set(corrected))
    assert sorted(map(str, withdrawn)) == [fleet.limits_id(number) for number in range(ROUNDS)]
    stored = {
        (row.revision.limits_id, row.revision.revision): row for name in entered for row in store.history(str(name))
    }
    assert set(stored) == {*((name, 1) for name in entered), *corrected}
    accepted = {EntryState.VERIFIED, EntryState.PUBLISHED}
    assert {key for key, row in stored.items() if row.state in accepted} == set(verified)
    assert len(verified) > len(entered) / 2
    differed = Counter(everyones(one.differed for one in told))
    assert sum(row.mismatches for row in stored.values()) == differed.total() > 0
    assert all(row.revision.entered_by != row.revision.verified_by for row in stored.values())


def test_the_contents_add_up_afterwards(told: list[Told], store: Store) -> None:
    assert store.check() == []
    newest = store.release()
    assert newest is not None
    assert newest.number == ROUNDS + 1
    # What was verified after the last release waits for the next; there is nothing of the kind after the last barrier.
    assert store.waiting() == 0
    held = {row.limits_id for row in store.limits(LimitQuery(), limit=10_000)}
    assert held == {name for one in told for name, _ in one.verified}
    assert newest.records == len(held)

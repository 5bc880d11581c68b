"""Four processes asked about one axle under one idempotency key, and what comes between its two sides."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from tests.api.axles import AXLE
from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, exact
from tests.api.conftest import publish
from tests.api.lathes import BENCH
from tests.api.serving import connected, serving
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.actions.reaching_axles import AxleReached, reach_axle
from turnrule.actions.withdrawing import withdraw_limits
from turnrule.api.axle_reading import read_axle
from turnrule.store.port import LatheRevision, PolicyRevision, Release, VerdictQuery

RACES = 40
PROCESSES = 4
NOON = datetime.datetime(2026, 11, 2, 12, 0, tzinfo=datetime.UTC)


def test_one_key_in_four_processes_stores_one_axle_and_gives_one_answer(desk: Desk, tmp_path: Path) -> None:
    publish(desk, EXAMPLE_LIMITS)
    secret = create_key(desk, "racer", ["verdicts"]).secret
    start = threading.Barrier(PROCESSES)
    answers: list[list[tuple[int, bytes, bool]]] = [[] for _ in range(PROCESSES)]

    def run(port: int, mine: list[tuple[int, bytes, bool]]) -> None:
        with connected(port) as connection:
            for race in range(RACES):
                headers = {
                    "Authorization": f"Bearer {secret}",
                    "Content-Type": "application/json",
                    "Idempotency-Key": f"race-{race}",
                }
                start.wait()
                connection.request("POST", "/v1/axle-verdicts", AXLE, headers)
                response = connection.getresponse()
                replayed = response.headers.get("Idempotency-Replayed") == "true"
                mine.append((response.status, response.read(), replayed))

    with serving(tmp_path / "store.sqlite", workers=PROCESSES) as port:
        callers = [threading.Thread(target=run, args=(port, mine)) for mine in answers]
        for caller in callers:
            caller.start()
        for caller in callers:
            caller.join()
    assert [len(mine) for mine in answers] == [RACES] * PROCESSES
    for race in zip(*answers, strict=True):
        assert {status for status, _, _ in race} == {201}
        assert len({content for _, content, _ in race}) == 1
        assert sum(not replayed for _, _, replayed in race) == 1
    stored = [record.answer for record in desk.store.axles(limit=10 * RACES)]
    assert sorted(stored) == sorted(content for _, content, _ in answers[0])
    assert len(desk.store.verdicts(VerdictQuery(), limit=10 * RACES)) == 2 * RACES


class Between:
    """The desk's own store, in which something else happens once the first look-up was answered."""

    def __init__(self, desk: Desk, then: Callable[[], object]) -> None:
        self._store = desk.store
        self._then: Callable[[], object] | None = then

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the store has
        return getattr(self._store, name)

    def held(self, *args: Any, **options: Any) -> Any:  # noqa: ANN401 - as the store's own
        """What the store holds; then the other thing happens, once."""
        found = self._store.held(*args, **options)
        if self._then is not None:
            then, self._then = self._then, None
            then()
        return found


def reached(desk: Desk, then: Callable[[], object], **changes: object) -> AxleReached:
    """An axle that is judged while something happens between its sides."""
    interrupted: Any = Between(desk, then)
    document = exact(AXLE) | changes
    return reach_axle(replace(desk, store=interrupted), read_axle(desk, document), NOON)


def bases(axle: AxleReached) -> set[tuple[int | None, int, int]]:
    """Release, policy revision and count of withdrawals of both sides."""
    return {
        (one.reached.basis.release, one.reached.basis.policy_revision, one.reached.withdrawn)
        for one in axle.sides.values()
    }


def test_a_release_between_two_sides_counts_for_neither(desk: Desk, released: Release) -> None:
    stricter = EXAMPLE_LIMITS.replace("24.6", "25.0").replace('"year_from": 2021', '"year_from": 2020')
    axle = reached(desk, lambda: publish(desk, stricter.replace("B16", "B18"), DRUM_LIMITS.replace("Tander", "Tandem")))
    assert desk.store.release(None) != released
    assert bases(axle) == {(released.number, 1, 0)}


def test_the_first_release_of_all_counts_for_both_sides(desk: Desk) -> None:
    limits = {"discard_thickness": Decimal(24), "minimum_machining_thickness": Decimal("24.6")}
    axle = reached(desk, lambda: publish(desk, EXAMPLE_LIMITS), limits=limits)
    assert bases(axle) == {(1, 1, 0)}
    assert {one.reached.limits_id for one in axle.sides.values()} == {"corvane-ostrel-2021-front-rotor-b16"}


def withdraw(desk: Desk, limits_id: str) -> None:
    """Somebody withdraws the record."""
    office = create_key(desk, "office", ["limits:write"]).key
    withdraw_limits(desk, limits_id, None, "read in the wrong table", office)


def test_a_withdrawal_between_two_sides_counts_for_neither(desk: Desk, released: Release) -> None:
    limits_id = "corvane-ostrel-2021-front-rotor-b16"
    axle = reached(desk, lambda: withdraw(desk, limits_id))
    assert desk.store.last_withdrawal() == 1
    assert bases(axle) == {(released.number, 1, 0)}
    assert {one.reached.limits_id for one in axle.sides.values()} == {limits_id}


def test_a_policy_that_is_written_between_two_sides_counts_for_neither(desk: Desk, released: Release) -> None:
    def write(revision: int) -> None:
        document = {"name": "north", "revision": revision, "unit": "mm", "inherits": "default", "inherits_revision": 1}
        desk.store.save_policy(PolicyRevision("north", revision, write_exact(document), NOON, "anna"))

    write(1)
    axle = reached(desk, lambda: write(2), policy="north")
    assert bases(axle) == {(released.number, 1, 0)}
    assert bases(reached(desk, list, policy="north")) == {(released.number, 2, 0)}


def test_a_lathe_that_is_written_between_two_sides_counts_for_neither(desk: Desk, released: Release) -> None:
    def write(revision: int) -> None:
        desk.store.save_lathe(LatheRevision("bench_one", revision, BENCH.encode(), NOON, "anna"))

    def revisions(axle: AxleReached) -> list[int | None]:
        profiles = [one.reached.work.profile for one in axle.sides.values()]
        return [profile.revision if profile is not None else None for profile in profiles]

    assert released.number == 1
    write(1)
    lathe = {"profile": "bench_one"}
    assert revisions(reached(desk, lambda: write(2), lathe=lathe)) == [1, 1]
    assert revisions(reached(desk, list, lathe=lathe)) == [2, 2]
    own = {**exact(AXLE)["right"], "lathe": {"profile": "bench_one", "revision": Decimal(1)}}
    assert revisions(reached(desk, list, lathe=lathe, right=own)) == [2, 1]

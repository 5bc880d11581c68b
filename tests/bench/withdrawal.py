"""How soon a withdrawal holds in every worker: `python -m tests.bench.withdrawal --workers 4 --seconds 20`.

A real service under load: processes post verdicts on parts of one record, over connections that they change often, so
that every worker is asked. The record is withdrawn meanwhile. Each answer tells whether the record still governed; the
table tells when the last such answer arrived, and which workers it was heard from. Ten times, each with a record of
its own.
"""

from __future__ import annotations

import argparse
import http.client
import json
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing.sharedctypes import Synchronized
from pathlib import Path
from random import Random

from tests.api.serving import connected, serving
from tests.bench import fleet
from tests.bench.filling import new_desk, publish, revision_of
from tests.bench.measuring import show
from tests.bench.workers import servers_on, worker_behind
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact

REPEATS = 10
CLIENTS = 6
REQUESTS_PER_CONNECTION = 5
STOPPED = -1
CREATED = 201


@dataclass(frozen=True, slots=True)
class Heard:
    """One answer: in which repeat, when it was asked and answered (s), by which worker, whether the record served."""

    repeat: int
    asked: float
    answered: float
    worker: int | None
    served: bool


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """When a withdrawal was sent and when it was answered (s)."""

    sent: float
    answered: float


def record_of(repeat: int) -> int:
    """The record of a repeat: the front rotors of one vehicle after another."""
    return repeat * fleet.RECORDS_PER_VEHICLE


@dataclass(frozen=True, slots=True)
class Shared:
    """What the measuring process and the asking ones share: the current repeat, and how many have begun to ask."""

    repeat: Synchronized[int]
    begun: Synchronized[int]


def keep_asking(port: int, secret: str, seed: int, shared: Shared) -> list[Heard]:
    """Post verdicts on parts of the record of the current repeat until told to stop."""
    repeat = shared.repeat
    chance = Random(seed)
    pids = servers_on(port)
    headers = {"Authorization": f"Bearer {secret}", "Content-Type": "application/json"}
    heard = []
    while repeat.value != STOPPED:
        with connected(port) as connection:
            worker = None
            for _ in range(REQUESTS_PER_CONNECTION):
                now = repeat.value
                if now == STOPPED:
                    break
                body = write_exact(fleet.request_body(record_of(now), chance))
                asked = time.monotonic()
                answer = _answer(connection, "/v1/verdicts", body, headers)
                answered = time.monotonic()
                worker = worker or worker_behind(port, connection.sock.getsockname()[1], pids)
                served = answer["limits"]["limits_id"] == fleet.limits_id(record_of(now))
                heard.append(Heard(now, asked, answered, worker, served))
                if len(heard) == 1:
                    with shared.begun.get_lock():
                        shared.begun.value += 1
    return heard


def _answer(
    connection: http.client.HTTPConnection, path: str, body: bytes, headers: dict[str, str]
) -> dict[str, dict[str, object]]:
    connection.request("POST", path, body, headers)
    response = connection.getresponse()
    content = response.read()
    if response.status != CREATED:
        raise RuntimeError(f"{path}: {response.status}: {content[:500]!r}")
    answer: dict[str, dict[str, object]] = json.loads(content)
    return answer


def withdraw_each(port: int, secret: str, repeat: Synchronized[int], seconds: float) -> list[Withdrawn]:
    """Withdraw the record of each repeat in its middle."""
    headers = {"Authorization": f"Bearer {secret}", "Content-Type": "application/json"}
    done = []
    for number in range(REPEATS):
        repeat.value = number
        time.sleep(seconds / REPEATS / 2)
        body = write_exact({"reason": f"Measured, repeat {number}: the record is withdrawn."})
        with connected(port) as connection:
            sent = time.monotonic()
            _answer(connection, f"/v1/limits/{fleet.limits_id(record_of(number))}/withdrawals", body, headers)
            done.append(Withdrawn(sent, time.monotonic()))
        time.sleep(seconds / REPEATS / 2)
    repeat.value = STOPPED
    return done


def measure(workers: int, seconds: float) -> tuple[list[Heard], list[Withdrawn]]:
    """Everything that was heard, and every withdrawal."""
    processes = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "store.sqlite"
        desk = new_desk(database)
        publish(desk, (revision_of(number) for number in range(record_of(REPEATS))))
        counter = create_key(desk, "bench-counter", ["verdicts"]).secret
        office = create_key(desk, "bench-office", ["releases:publish"]).secret
        desk.store.close()
        shared = Shared(processes.Value("i", 0), processes.Value("i", 0))
        initial = (shared.repeat, shared.begun)
        with serving(database, workers=workers) as port, processes.Pool(CLIENTS, _share, initial) as pool:
            calls = [(port, counter, seed) for seed in range(CLIENTS)]
            asking = pool.starmap_async(_keep_asking, calls, chunksize=1)
            while shared.begun.value < CLIENTS and not asking.ready():
                time.sleep(0.1)
            withdrawn = withdraw_each(port, office, shared.repeat, seconds)
            heard = [one for several in asking.get() for one in several]
    return heard, withdrawn


_shared: list[Shared] = []


def _share(repeat: Synchronized[int], begun: Synchronized[int]) -> None:
    _shared.append(Shared(repeat, begun))


def _keep_asking(port: int, secret: str, seed: int) -> list[Heard]:
    return keep_asking(port, secret, seed, _shared[0])


def rows_of(heard: Sequence[Heard], withdrawn: Sequence[Withdrawn]) -> list[tuple[object, ...]]:
    """One row a repeat; times in milliseconds."""
    rows: list[tuple[object, ...]] = []
    for number, at in enumerate(withdrawn):
        here = [one for one in heard if one.repeat == number]
        served = [one for one in here if one.served]
        last = max((one.answered for one in served), default=at.sent)
        late = [one for one in served if one.asked > at.answered]
        after = {one.worker for one in here if one.asked > at.answered}
        rate = len(here) / max(1e-9, max(one.answered for one in here) - min(one.asked for one in here))
        times = (at.answered - at.sent, last - at.sent, last - at.answered)
        seen, seen_after = {one.worker for one in here} - {None}, after - {None}
        counts = (len(late), len(seen), len(seen_after))
        rows.append((number + 1, f"{rate:.0f}", *(seconds * 1e3 for seconds in times), *counts))
    return rows


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure, and print one line for each repeat."""
    parser = argparse.ArgumentParser(description="Measure how soon a withdrawal holds in every worker.")
    parser.add_argument("--workers", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=20.0)
    chosen = parser.parse_args(arguments)
    heard, withdrawn = measure(chosen.workers, chosen.seconds)
    show(
        f"withdrawals under load, {chosen.workers} workers, {CLIENTS} clients, {len(heard):,} verdicts; "
        "the last answer that still used the record, ms after the withdrawal was sent, and after it was answered",
        (
            "repeat",
            "verdicts/s",
            "withdrawal took",
            "last after sent",
            "after answered",
            "asked later",
            "workers",
            "after",
        ),
        rows_of(heard, withdrawn),
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The stream of a release's impact: what breaks it is plain to see, and it never holds more than a little of it."""

from __future__ import annotations

import http.client
import json
import sys
from collections.abc import Iterator
from decimal import Decimal
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from tests.api.serving import connected, serving
from tests.bench.filling import judge_fleet, new_desk, publish, record_more, revision_of
from tests.bench.measuring import peak_memory_mib
from turnrule.actions.impact import ImpactDone, ImpactSoFar, impact
from turnrule.actions.keys import create_key
from turnrule.api.impact import read_stored, streamed
from turnrule.store.errors import StoreUnavailableError

D = Decimal


def test_a_walk_that_breaks_leaves_no_word_of_an_end() -> None:
    def broken() -> Iterator[ImpactSoFar | ImpactDone]:
        yield ImpactSoFar(1000, 1000)
        raise StoreUnavailableError("gone")

    chunks = streamed(broken(), "a request")
    assert json.loads(next(chunks)) == {"after": 1000, "compared": 1000}
    with pytest.raises(StoreUnavailableError):
        next(chunks)


def test_a_store_that_goes_away_in_the_middle_breaks_the_connection_and_the_rest_can_be_had_later(
    tmp_path: Path,
) -> None:
    database, aside = tmp_path / "store.sqlite", tmp_path / "aside.sqlite"
    desk = new_desk(database)
    publish(desk, (revision_of(number) for number in range(8)))
    judge_fleet(desk, 1500, records=8, distinct=50)
    publish(desk, (revision_of(number, stricter=D("0.1")) for number in range(8)))
    secret = create_key(desk, "office", ["reports"]).secret
    desk.store.close()
    address = "/v1/releases/2/impact?differ=anything"
    with serving(database) as port, connected(port) as connection:
        connection.request("GET", address, headers={"Authorization": f"Bearer {secret}"})
        response = connection.getresponse()
        heard = [response.readline()]
        database.rename(aside)
        with pytest.raises(http.client.IncompleteRead) as broken:
            response.read()
        heard += (broken.value.partial).splitlines(keepends=True)
        aside.rename(database)
        lines = [json.loads(line) for line in heard if line.endswith(b"\n")]
        assert not [line for line in lines if "done" in line]
        assert len(lines) < 1500
        rest = _rest(port, secret, f"{address}&after={lines[-1]['after']}")
        *whole, done = _rest(port, secret, address)
    assert lines + rest[:-1] == whole
    assert len(whole) == done["changed"] == 1500
    assert rest[-1]["done"]


def _rest(port: int, secret: str, address: str) -> list[dict[str, Any]]:
    with connected(port) as connection:
        connection.request("GET", address, headers={"Authorization": f"Bearer {secret}"})
        return [json.loads(line) for line in connection.getresponse().read().splitlines()]


def walked(database: Path) -> tuple[int, float]:
    """Stream the impact of release 2 to its end; how many verdicts were compared, and this process's peak memory."""
    desk = new_desk(database)
    last = b""
    for chunk in streamed(impact(desk, read_stored, 2, 1), "a request"):
        last = chunk
    return json.loads(last.splitlines()[-1])["compared"], peak_memory_mib()


def test_memory_does_not_grow_with_the_number_of_verdicts(tmp_path: Path) -> None:
    assert sys.platform == "linux", "the peak is counted in KiB there"
    database = tmp_path / "store.sqlite"
    desk = new_desk(database)
    publish(desk, (revision_of(number) for number in range(40)))
    judge_fleet(desk, 1000, records=40, distinct=100)
    publish(desk, (revision_of(number, stricter=D("0.6")) for number in range(0, 40, 4)))
    processes = get_context("spawn")
    peaks = {}
    for more in (0, 19_000):
        record_more(desk, more)
        with processes.Pool(1) as pool:
            compared, peaks[more] = pool.apply(walked, (database,))
        assert compared == 1000 + more
    desk.store.close()
    assert peaks[19_000] < peaks[0] + 4, peaks

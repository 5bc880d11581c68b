"""How long a release's impact on stored verdicts takes: `python -m tests.bench.impact --verdicts 200000`.

The worst case: release 2 corrects one record of every vehicle, so that every stored verdict has to be looked at. Each
walk runs in a process of its own, so that its peak memory can be told; the last one is read through the service.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from tests.api.serving import connected, serving
from tests.bench import fleet
from tests.bench.filling import judge_fleet, new_desk, publish, revision_of
from tests.bench.measuring import peak_memory_mib, show, size_mib
from tests.bench.workers import peak_memory_of, servers_on
from turnrule.actions.impact import Differ, ImpactDone, ImpactLine, impact
from turnrule.actions.keys import create_key
from turnrule.api.impact import read_stored

RECORDS = 2000
STRICTER = Decimal("0.3")


@dataclass(frozen=True, slots=True)
class Walked:
    """What one walk came to; `first` is when its first line was there."""

    compared: int
    changed: int
    first: float
    seconds: float
    peak_mib: float


def walk(database: Path, differ: Differ, limit: int | None = None) -> Walked:
    """Walk through the impact of release 2, up to `limit` verdicts, or to the end."""
    desk = new_desk(database)
    begun = time.perf_counter()
    first = changed = compared = 0.0
    for step in impact(desk, read_stored, 2, 1, differ=differ):
        first = first or time.perf_counter() - begun
        changed += isinstance(step, ImpactLine)
        if not isinstance(step, ImpactLine):
            compared = step.compared
            if isinstance(step, ImpactDone) or (limit is not None and compared >= limit):
                break
    seconds = time.perf_counter() - begun
    return Walked(int(compared), int(changed), first, seconds, peak_memory_mib())


def served(database: Path) -> Walked:
    """The same through the service, as a caller sees it; the memory is that of the process that serves."""
    desk = new_desk(database)
    secret = create_key(desk, "bench-office", ["reports"]).secret
    desk.store.close()
    with serving(database) as port, connected(port, timeout=600) as connection:
        begun = time.perf_counter()
        connection.request("GET", "/v1/releases/2/impact", headers={"Authorization": f"Bearer {secret}"})
        response = connection.getresponse()
        line = response.readline()
        first = time.perf_counter() - begun
        while line:
            last, line = line, response.readline()
        seconds = time.perf_counter() - begun
        peak = max(peak_memory_of(pid) for pid in servers_on(port))
    done = json.loads(last)
    return Walked(done["compared"], done["changed"], first, seconds, peak)


def main(arguments: Sequence[str] | None = None) -> int:
    """Fill a store, walk, and print what it took."""
    parser = argparse.ArgumentParser(description="Measure the impact of a release on stored verdicts.")
    parser.add_argument("--verdicts", type=int, default=200_000)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "store.sqlite"
        begun = time.perf_counter()
        desk = new_desk(database)
        publish(desk, (revision_of(number) for number in range(RECORDS)))
        judge_fleet(desk, chosen.verdicts, records=RECORDS)
        one_each = range(0, RECORDS, fleet.RECORDS_PER_VEHICLE)
        publish(desk, (revision_of(number, stricter=STRICTER) for number in one_each))
        desk.store.close()
        filled = time.perf_counter() - begun
        processes = multiprocessing.get_context("spawn")
        rows = []
        calls = {
            "verdict, first 1,000": (Differ.VERDICT, 1000),
            "verdict, all": (Differ.VERDICT, None),
            "anything, all": (Differ.ANYTHING, None),
        }
        for name, (differ, limit) in calls.items():
            with processes.Pool(1) as pool:
                rows.append((name, pool.apply(walk, (database, differ, limit))))
        rows.append(("verdict, all, over HTTP", served(database)))
        disk = size_mib(database)
    show(
        f"impact of release 2 on {chosen.verdicts:,} verdicts ({RECORDS:,} records, {disk:,.0f} MiB, "
        f"filled in {filled:,.0f} s)",
        ("walk", "compared", "changed", "first line s", "all s", "us each", "peak MiB"),
        [
            (
                name,
                found.compared,
                found.changed,
                f"{found.first:.3f}",
                f"{found.seconds:.2f}",
                found.seconds / max(found.compared, 1) * 1e6,
                found.peak_mib,
            )
            for name, found in rows
        ],
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

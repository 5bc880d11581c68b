"""How long a policy trial over stored verdicts takes: `python -m tests.bench.trials --verdicts 5000`.

One candidate, and ten values of the wear allowance in one call, over all stored verdicts and over a tenth of them. Each
runs in a process of its own, so that its peak memory can be told; the last one is read through the service.
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
from tests.bench.filling import judge_fleet, new_desk, publish, revision_of
from tests.bench.measuring import peak_memory_mib, show, size_mib
from tests.bench.workers import peak_memory_of, servers_on
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import read_policy
from turnrule.actions.trial_candidates import Setting, by_setting
from turnrule.actions.trialling import TrialDone, TrialLine, run_trial
from turnrule.api.impact import read_stored
from turnrule.store.port import VerdictQuery

RECORDS = 400
VALUES = [Decimal(step) / 10 for step in range(1, 11)]


@dataclass(frozen=True, slots=True)
class Tried:
    """What one trial came to; `changed` is that of its last candidate."""

    looked_at: int
    lines: int
    changed: int
    seconds: float
    peak_mib: float


def tried(database: Path, newest: int, values: int) -> Tried:
    """Try so many values of the wear allowance on so many verdicts."""
    desk = new_desk(database)
    view = read_policy(desk, "default")
    if view is None:
        raise LookupError("default")
    candidates = by_setting(desk, view, Setting("wear_allowance", VALUES[-values:], "mm")).each
    begun, lines = time.perf_counter(), 0
    for step in run_trial(desk, read_stored, candidates, VerdictQuery(), newest=newest):
        lines += isinstance(step, TrialLine)
        if isinstance(step, TrialDone):
            done = step
    seconds = time.perf_counter() - begun
    return Tried(done.looked_at, lines, done.rows[-1].changed, seconds, peak_memory_mib())


def served(database: Path, newest: int) -> Tried:
    """The same with ten values through the service; the memory is that of the process that serves."""
    desk = new_desk(database)
    secret = create_key(desk, "bench-office", ["reports"]).secret
    desk.store.close()
    setting = {"field": "wear_allowance", "values": VALUES, "unit": "mm"}
    body = write_exact({"setting": setting, "over": {"newest": newest}})
    headers = {"Authorization": f"Bearer {secret}", "Content-Type": "application/json"}
    with serving(database) as port, connected(port, timeout=600) as connection:
        begun, lines = time.perf_counter(), 0
        connection.request("POST", "/v1/policies/default/trials", body, headers)
        response = connection.getresponse()
        last = b""
        while line := response.readline():
            lines += b'"before":' in line and b'"done":' not in line
            last = line
        seconds = time.perf_counter() - begun
        peak = max(peak_memory_of(pid) for pid in servers_on(port))
    done = json.loads(last)
    return Tried(done["looked_at"], lines, done["rows"][-1]["changed"], seconds, peak)


def main(arguments: Sequence[str] | None = None) -> int:
    """Fill a store, try, and print what it took."""
    parser = argparse.ArgumentParser(description="Measure policy trials over stored verdicts.")
    parser.add_argument("--verdicts", type=int, default=5000)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "store.sqlite"
        desk = new_desk(database)
        publish(desk, (revision_of(number) for number in range(RECORDS)))
        judge_fleet(desk, chosen.verdicts, records=RECORDS, distinct=chosen.verdicts)
        desk.store.close()
        processes = multiprocessing.get_context("spawn")
        rows = []
        for name, newest, values in (
            ("one candidate, a tenth", chosen.verdicts // 10, 1),
            ("one candidate, all", chosen.verdicts, 1),
            ("ten values, a tenth", chosen.verdicts // 10, 10),
            ("ten values, all", chosen.verdicts, 10),
        ):
            with processes.Pool(1) as pool:
                rows.append((name, pool.apply(tried, (database, newest, values))))
        rows.append(("ten values, all, over HTTP", served(database, chosen.verdicts)))
        disk = size_mib(database)
    show(
        f"trials over {chosen.verdicts:,} verdicts ({RECORDS:,} records, {disk:,.0f} MiB)",
        ("trial", "looked at", "lines", "changed", "all s", "ms each", "peak MiB"),
        [
            (
                name,
                found.looked_at,
                found.lines,
                found.changed,
                f"{found.seconds:.2f}",
                f"{found.seconds / max(found.looked_at, 1) * 1000:.2f}",
                found.peak_mib,
            )
            for name, found in rows
        ],
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

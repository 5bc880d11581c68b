"""Stored verdicts judged again, each compared byte by byte: `python -m tests.bench.replays --verdicts 50000`.

Judged first are the demo's inspections, over and over, as a shop sends them; then release 2 corrects limits, so that
the newest release is not the one that the verdicts rest on. Exits with 1 where a single byte differs.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.bench.batches import demo_lines
from tests.bench.filling import new_desk
from tests.bench.measuring import peak_memory_mib, show
from turnrule.actions.batching import Batch, Item, judge_batch
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.replaying import replay
from turnrule.api.demo import load_demo_limits
from turnrule.api.impact import read_stored
from turnrule.api.json_reading import read_json
from turnrule.api.whole_reading import read_wholly
from turnrule.store.port import Key, VerdictQuery, VerdictRecord

PAGE = 200


def filled(desk: Desk, key: Key, verdicts: int) -> int:
    """Judge so many of the demo's sound inspections; how many are stored."""
    bodies = itertools.islice(itertools.cycle(demo_lines(sound=True)), verdicts)
    items = (Item(place, body, read_wholly(desk, read_json(body))) for place, body in enumerate(bodies))
    return sum(outcome.record is not None for outcome in judge_batch(desk, Batch(key), items))


def stored(desk: Desk) -> Iterator[VerdictRecord]:
    """Every stored verdict, page by page."""
    after = 0
    while page := desk.store.verdicts(VerdictQuery(), after=after, limit=PAGE):
        yield from page
        after = page[-1].sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Judge, judge again, and print how many came out the same to the byte."""
    parser = argparse.ArgumentParser(description="Replay stored verdicts.")
    parser.add_argument("--verdicts", type=int, default=50_000)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        desk = new_desk(Path(folder) / "store.sqlite")
        load_demo_limits(desk)
        create_key(desk, "bench-shop", ["verdicts"])
        key = desk.store.keys()[0]
        begun = time.perf_counter()
        count = filled(desk, key, chosen.verdicts)
        judged = time.perf_counter() - begun
        begun = time.perf_counter()
        replays = (replay(desk, record, read_stored) for record in stored(desk))
        same = sum(found.identical and found.same_versions for found in replays)
        again = time.perf_counter() - begun
        desk.store.close()
    show(
        "verdicts judged again, as they were judged",
        ("verdicts", "identical to the byte", "judged s", "again s", "us each", "peak MiB"),
        [(count, same, f"{judged:.1f}", f"{again:.1f}", again / max(count, 1) * 1e6, peak_memory_mib())],
    )
    return 0 if same == count == chosen.verdicts else 1


if __name__ == "__main__":
    sys.exit(main())

"""Many more cases than a build can run: `python -m tests.judging.agreement.soak --cases 2000000 --processes 2`.

Prints how many cases were judged, in how many seconds, and how many disagree; each disagreeing case goes to stderr
as one JSON line, up to `--show` of them. Exit code 1 on any disagreement.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass

from tests.judging.agreement.answering import engine_answer
from tests.judging.agreement.answers import differences
from tests.judging.agreement.generate import cases
from tests.judging.agreement.oracle import judge_case

BLOCK = 2_000
# Seeds below this are the build's own; a soak goes on where they end.
FIRST_SEED = 1_000_000


@dataclass(frozen=True, slots=True)
class Block:
    """What one block of seeds came to."""

    judged: int
    disagreeing: int
    shown: tuple[str, ...]


def judge_block(bounds: tuple[int, int]) -> Block:
    """Both judgements of every seed from the first bound up to the second; a crash counts as a disagreement."""
    first, end = bounds
    shown = []
    for seed, case in cases(first, end - first):
        try:
            found = differences(judge_case(case), engine_answer(case))
        except Exception as error:  # noqa: BLE001 # whatever an engine raises on a valid case is a finding
            found = [f"{type(error).__name__}: {error}"]
        if found:
            shown.append(json.dumps({"seed": seed, "differences": found, "case": case}))
    return Block(end - first, len(shown), tuple(shown))


def _progress(done: int, total: int, started: float) -> None:
    if sys.stderr.isatty():
        rate = done / max(time.monotonic() - started, 0.001)
        sys.stderr.write(f"\r{done:,} of {total:,} cases, {rate:,.0f} a second ")
        sys.stderr.flush()


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the soak; 0 where every case agrees."""
    parser = argparse.ArgumentParser(description="Hold the engine against the second judgement, on many cases.")
    parser.add_argument("--cases", type=int, default=2_000_000)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--first", type=int, default=FIRST_SEED, help="the first seed")
    parser.add_argument("--show", type=int, default=20, help="how many disagreeing cases to print")
    chosen = parser.parse_args(arguments)
    end = chosen.first + chosen.cases
    blocks = [(first, min(first + BLOCK, end)) for first in range(chosen.first, end, BLOCK)]
    started, judged, disagreeing = time.monotonic(), 0, 0
    with multiprocessing.Pool(chosen.processes) as pool:
        for block in pool.imap_unordered(judge_block, blocks):
            for line in block.shown[: max(0, chosen.show - disagreeing)]:
                sys.stderr.write(line + "\n")
            judged, disagreeing = judged + block.judged, disagreeing + block.disagreeing
            _progress(judged, chosen.cases, started)
    seconds = time.monotonic() - started
    sys.stdout.write(f"{judged} cases, {seconds:.1f} seconds, {disagreeing} disagreements\n")
    return 1 if disagreeing else 0


if __name__ == "__main__":
    sys.exit(main())

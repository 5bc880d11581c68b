"""Many more rotors than a build can cut: `python -m tests.judging.simulation.soak --rotors 100000 --processes 2`.

Prints the table of warped faces, then how many rotors were cut, in how many seconds, and how many comparisons disagree;
each goes to stderr in words, up to `--show` of them. Exit code 1 on any disagreement.
"""

from __future__ import annotations

import argparse
import itertools
import multiprocessing
import sys
import time
from collections.abc import Iterable, Sequence

from tests.judging.simulation.comparing import all_of
from tests.judging.simulation.warped import table

# Seeds below this are the build's own; a soak goes on where they end.
FIRST_SEED = 1_000_000


def _found(chosen: argparse.Namespace) -> Iterable[str]:
    seeds = range(chosen.first, chosen.first + chosen.rotors)
    if chosen.processes == 1:
        return list(itertools.chain.from_iterable(map(all_of, seeds)))
    with multiprocessing.Pool(chosen.processes) as pool:
        return list(itertools.chain.from_iterable(pool.imap_unordered(all_of, seeds, chunksize=50)))


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the soak; 0 where every comparison agrees."""
    parser = argparse.ArgumentParser(description="Hold the lathe's geometry against rotors cut by brute force.")
    parser.add_argument("--rotors", type=int, default=100_000)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--first", type=int, default=FIRST_SEED, help="the first seed")
    parser.add_argument("--faces", type=int, default=200, help="warped faces for each line of the table")
    parser.add_argument("--show", type=int, default=20, help="how many disagreements to print")
    chosen = parser.parse_args(arguments)
    for line in table(chosen.faces):
        sys.stdout.write(line + "\n")
    started = time.monotonic()
    found = list(_found(chosen))
    for words in found[: chosen.show]:
        sys.stderr.write(words + "\n")
    seconds = time.monotonic() - started
    sys.stdout.write(f"{chosen.rotors} rotors, {seconds:.1f} seconds, {len(found)} disagreements\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

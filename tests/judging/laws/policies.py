"""Many more pairs of policies than a build can run: `python -m tests.judging.laws.policies --pairs 20000`.

Of each two policies one is at least as strict in every field, and stricter in one at the least; a part, and for every
fourth pair an axle, is judged under both. Prints how many pairs were judged in how many seconds, how many of them
tightened each field, how often the verdict became worse, and how often better. Exit code 1 where one is better, or
where some field was never tightened.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from hypothesis import HealthCheck, Phase, given, seed
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from tests.judging.axle.pairs import Pairing, pairings
from tests.judging.laws.strategies import Setting, settings
from tests.judging.laws.stricter import FIELDS, tighter
from turnrule.judging.faults import PartError
from turnrule.judging.policy import Policy
from turnrule.judging.words import Ruling
from turnrule.pack import Direction, differences

BLOCK = 250
AXLES = 4
"""Every so manieth pair judges an axle as well."""

REFUSED = Ruling.REPLACE.rank + 1
"""The rank of a part that is not judged at all: it is passed by nobody."""


@dataclass(slots=True)
class Pairs:
    """What pairs of policies came to; `better` shows those that break the law."""

    pairs: int = 0
    axles: int = 0
    worse: int = 0
    tightened: Counter[str] = field(default_factory=Counter)
    better: list[str] = field(default_factory=list)

    def add(self, more: Pairs) -> None:
        """Count another block in."""
        self.pairs += more.pairs
        self.axles += more.axles
        self.worse += more.worse
        self.tightened.update(more.tightened)
        self.better += more.better

    def count(self, looser: Policy, stricter: Policy) -> bool:
        """Count a pair; false where the one is not stricter than the other in any field."""
        ways = {
            "findings" if one.field.startswith("findings/") else one.field: one.direction
            for one in differences(looser, stricter)
        }
        if Direction.LOOSER in ways.values():
            self.better.append(f"no pair: {ways}")
        self.tightened.update(ways.keys())
        return bool(ways)


def rank_of(setting: Setting) -> int:
    """The rank of the verdict; above the worst where the policy lets nobody judge it."""
    try:
        return setting.verdict().ruling.rank
    except PartError:
        return REFUSED


def axle_rank_of(pairing: Pairing) -> int:
    """The same of an axle."""
    try:
        return pairing.verdict().ruling.rank
    except PartError:
        return REFUSED


def judge_pairs(pairs: int, first: int) -> Pairs:
    """Judge so many pairs; the same number to begin with gives the same pairs."""
    found = Pairs()
    options = hypothesis_settings(
        max_examples=pairs,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )

    def part(setting: Setting, data: st.DataObject) -> None:
        stricter = data.draw(tighter(setting.policy))
        if not found.count(setting.policy, stricter):
            return
        found.pairs += 1
        _compare(found, rank_of(setting), rank_of(replace(setting, policy=stricter)), (setting, stricter))

    def axle(pairing: Pairing, data: st.DataObject) -> None:
        stricter = data.draw(tighter(pairing.setting.policy))
        found.axles += 1
        other = replace(pairing, setting=replace(pairing.setting, policy=stricter))
        _compare(found, axle_rank_of(pairing), axle_rank_of(other), (pairing, stricter))

    seed(first)(options(given(settings(), st.data())(part)))()
    more = hypothesis_settings(options, max_examples=max(pairs // AXLES, 1))
    seed(first)(more(given(pairings(), st.data())(axle)))()
    return found


def _compare(found: Pairs, before: int, after: int, shown: object) -> None:
    found.worse += after > before
    if after < before:
        found.better.append(repr(shown))


def _block(bounds: tuple[int, int]) -> Pairs:
    pairs, first = bounds
    return judge_pairs(pairs, first)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the soak; 0 where no stricter policy made a verdict better, and every field was tightened."""
    parser = argparse.ArgumentParser(description="Judge parts under policies and stricter ones.")
    parser.add_argument("--pairs", type=int, default=20_000)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--first", type=int, default=1, help="another number gives other pairs")
    chosen = parser.parse_args(arguments)
    starts = range(0, chosen.pairs, BLOCK)
    blocks = [(min(BLOCK, chosen.pairs - start), chosen.first + start) for start in starts]
    started, found = time.monotonic(), Pairs()
    with multiprocessing.Pool(chosen.processes) as pool:
        for more in pool.imap_unordered(_block, blocks):
            found.add(more)
            if sys.stderr.isatty():
                sys.stderr.write(f"\r{found.pairs:,} of {chosen.pairs:,} pairs ")
    for name, count in sorted(found.tightened.items()):
        sys.stdout.write(f"{name:32} tightened by {count} pairs\n")
    for shown in found.better[:20]:
        sys.stderr.write(f"better: {shown}\n")
    never = FIELDS - found.tightened.keys()
    sys.stdout.write(
        f"{found.pairs} pairs and {found.axles} axles, {time.monotonic() - started:.1f} seconds, {found.worse} worse, "
        f"{len(found.better)} better; never tightened: {', '.join(sorted(never)) or 'none'}\n"
    )
    return 1 if found.better or never else 0


if __name__ == "__main__":
    sys.exit(main())

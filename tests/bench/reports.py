"""What the reports take over stored verdicts: `python -m tests.bench.reports --verdicts 50000`.

Each report runs over 1,000 verdicts and over all of them, each time in a process of its own, so that its peak memory
can be told; the ratio is that of one run. The worst case for the call-back list: release 2 corrects one record of every
vehicle, so that every newest verdict is judged again. Margins, lines and entries are read to the end and thrown away.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from tests.bench import fleet
from tests.bench.filling import judge_fleet, new_desk, publish, revision_of
from tests.bench.measuring import peak_memory_mib, show, size_mib
from turnrule.actions.calling_back import list_call_backs
from turnrule.actions.desk import Desk
from turnrule.actions.report_scope import Scope
from turnrule.actions.reporting_compliance import report_compliance
from turnrule.actions.reporting_verdicts import By, report_verdicts
from turnrule.api.impact import read_stored
from turnrule.api.report_tables import verdict_report_table
from turnrule.judging.words import Unit

FEW = 1000
RECORDS = 2000
STRICTER = Decimal("0.3")


@dataclass(frozen=True, slots=True)
class Reported:
    """What one report came to: how many groups or lines."""

    told: int
    seconds: float
    peak_mib: float


def count(desk: Desk) -> int:
    """Count verdicts by month and kind, as a table."""
    return sum(1 for _ in verdict_report_table(report_verdicts(desk, Scope(), (By.MONTH, By.KIND)), Unit.MM))


def comply(desk: Desk) -> int:
    """Read the whole compliance report."""
    return sum(1 for _ in report_compliance(desk, Scope()))


def call_back(desk: Desk) -> int:
    """Read the whole call-back list."""
    return sum(1 for _ in list_call_backs(desk, Scope(), read_stored))


REPORTS: Mapping[str, Callable[[Desk], int]] = {"verdicts": count, "compliance": comply, "call-backs": call_back}


def run(database: Path, name: str) -> Reported:
    """One report over one store."""
    desk = new_desk(database)
    begun = time.perf_counter()
    told = REPORTS[name](desk)
    return Reported(told, time.perf_counter() - begun, peak_memory_mib())


def fill(database: Path, verdicts: int) -> None:
    """A store of so many verdicts, with a release that corrects a record of each vehicle."""
    desk = new_desk(database)
    publish(desk, (revision_of(number) for number in range(RECORDS)))
    judge_fleet(desk, verdicts, records=RECORDS)
    one_each = range(0, RECORDS, fleet.RECORDS_PER_VEHICLE)
    publish(desk, (revision_of(number, stricter=STRICTER) for number in one_each))
    desk.store.close()


def main(arguments: Sequence[str] | None = None) -> int:
    """Fill two stores, report, and print what it took and how the peaks compare."""
    parser = argparse.ArgumentParser(description="Measure the reports over stored verdicts.")
    parser.add_argument("--verdicts", type=int, default=50_000)
    chosen = parser.parse_args(arguments)
    processes = multiprocessing.get_context("spawn")
    found: dict[tuple[str, int], Reported] = {}
    with tempfile.TemporaryDirectory() as folder:
        for verdicts in (FEW, chosen.verdicts):
            database = Path(folder) / f"{verdicts}.sqlite"
            # The peak of a process begins at what the one that started it had: this one stays small.
            with processes.Pool(1) as pool:
                pool.apply(fill, (database, verdicts))
            for name in REPORTS:
                with processes.Pool(1) as pool:
                    found[name, verdicts] = pool.apply(run, (database, name))
        disk = size_mib(database)
    show(
        f"reports over {chosen.verdicts:,} verdicts ({disk:,.0f} MiB) against {FEW:,}",
        ("report", "verdicts", "told", "s", "us each", "peak MiB", "peak against few"),
        [
            (
                name,
                verdicts,
                one.told,
                f"{one.seconds:.2f}",
                one.seconds / verdicts * 1e6,
                one.peak_mib,
                f"{one.peak_mib / found[name, FEW].peak_mib:.3f}",
            )
            for (name, verdicts), one in found.items()
        ],
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

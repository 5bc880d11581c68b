"""A large store of limits against a small one: `python -m tests.bench.revisions --records 1000000`.

Both are made in one run and by the program's own commands, each in a process of its own whose peak memory is told:
imported from a table, entered a second time from another table, published. Then limits are looked up in both.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from urllib.parse import urlencode

from tests.bench import fleet
from tests.bench.files import write_first_entries, write_second_entries
from tests.bench.filling import DAY, new_desk
from tests.bench.measuring import Spread, show, size_mib, timed
from tests.bench.requests import sending
from turnrule.actions.desk import Desk
from turnrule.actions.finding_limits import look_up
from turnrule.actions.keys import create_key
from turnrule.api.application import build_api
from turnrule.judging.parts import Application
from turnrule.judging.words import Axle, Kind
from turnrule.store.limit_records import LimitQuery

SMALL = 1000
LOOK_UPS = 3000


@dataclass(frozen=True, slots=True)
class Ran:
    """What one command took."""

    seconds: float
    peak_mib: float


@dataclass(frozen=True, slots=True)
class Made:
    """A store of so many records: what each command took to make it, its size, and how look-ups fare in it."""

    records: int
    imported: Ran
    verified: Ran
    published: Ran
    disk_mib: float
    look_ups: Mapping[str, Spread]


def ran(arguments: Sequence[str], database: Path, secret: str) -> Ran:
    """Run the program in a process of its own. Raises where it does not end well."""
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("TURNRULE_")},
        "TURNRULE_DATABASE": str(database),
        "TURNRULE_KEY": secret,
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-m", "turnrule", *arguments], env=environment, stdout=subprocess.DEVNULL
    ) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"turnrule {' '.join(arguments)} ended with {process.returncode}")
    return Ran(time.perf_counter() - begun, used.ru_maxrss / 1024)


def made(records: int, folder: Path) -> Made:
    """Make a store of so many records, and measure."""
    database, first, second = folder / "store.sqlite", folder / "first.csv", folder / "second.csv"
    write_first_entries(first, records)
    write_second_entries(second, records)
    desk = new_desk(database)
    secrets = {
        scope: create_key(desk, scope.replace(":", " "), [scope]).secret
        for scope in ("limits:write", "limits:verify", "releases:publish")
    }
    desk.store.close()
    imported = ran(["limits", "import", str(first)], database, secrets["limits:write"])
    verified = ran(["limits", "verify", str(second)], database, secrets["limits:verify"])
    published = ran(["release", "publish", "--notes", "Measured."], database, secrets["releases:publish"])
    desk = new_desk(database)
    release = desk.store.release()
    if release is None or release.records != records:
        raise RuntimeError(f"{records} records were to be released, and it is {release}")
    found = look_ups(desk, records)
    desk.store.close()
    return Made(records, imported, verified, published, size_mib(database), found)


def look_ups(desk: Desk, records: int) -> dict[str, Spread]:
    """How long it takes to find the record of a part, in three ways, and to find that there is none."""
    chance = Random(records)
    numbers = [chance.randrange(records) for _ in range(LOOK_UPS)]
    app, secret = build_api(desk), create_key(desk, "reader", ["reports"]).secret
    ways: dict[str, list[Callable[[], object]]] = {
        "store.held": [partial(desk.store.held, _query(number)) for number in numbers],
        "look_up": [partial(_found, desk, number) for number in numbers],
        "look_up, not found": [partial(_found, desk, number, year=1999) for number in numbers],
        "GET /v1/limits": [
            sending(app, "GET", f"/v1/limits?{urlencode(fleet.application(number))}", secret=secret)
            for number in numbers
        ],
    }
    return {name: timed(calls) for name, calls in ways.items()}


def _application(number: int, year: int | None) -> Application:
    asked = fleet.application(number, year)
    return Application(asked["make"], asked["model"], asked["year"], Axle(asked["axle"]))


def _kind(number: int) -> Kind:
    return Kind.ROTOR if fleet.figures(number).rotor else Kind.DRUM


def _query(number: int) -> LimitQuery:
    asked = _application(number, None)
    return LimitQuery(asked.make, asked.model, asked.year, asked.axle, _kind(number), on=DAY.date())


def _found(desk: Desk, number: int, year: int | None = None) -> None:
    found = look_up(desk, _application(number, year), _kind(number), release=1, on=DAY.date())
    if (found and found.revision.limits_id) != (None if year is not None else fleet.limits_id(number)):
        raise RuntimeError(f"record {number}: {found}")


def names(store: Made) -> list[str]:
    """What the rows of the table are called."""
    commands = ("import", "second entry", "publish")
    of_commands = [f"{name}, {what}" for name in commands for what in ("s", "rows a second", "peak memory MiB")]
    of_look_ups = [f"{name}, {what} us" for name in store.look_ups for what in ("median", "p99")]
    return [*of_commands, "on disk, MiB", "on disk, bytes a record", *of_look_ups]


def column(store: Made) -> list[object]:
    """The figures of one store, in the order of their names."""
    commands = [
        figure
        for one in (store.imported, store.verified, store.published)
        for figure in (f"{one.seconds:.2f}", f"{store.records / one.seconds:,.0f}", one.peak_mib)
    ]
    look_ups = [figure for one in store.look_ups.values() for figure in (one.median, one.p99)]
    return [*commands, store.disk_mib, f"{store.disk_mib * 1024 * 1024 / store.records:,.0f}", *look_ups]


def main(arguments: Sequence[str] | None = None) -> int:
    """Make both stores, and print them side by side."""
    parser = argparse.ArgumentParser(description="Measure a store of many limits revisions against a small one.")
    parser.add_argument("--records", type=int, default=1_000_000)
    parser.add_argument("--folder", type=Path, help="where the stores are made; a passing folder where left out")
    chosen = parser.parse_args(arguments)
    stores = []
    for records in (SMALL, chosen.records):
        with tempfile.TemporaryDirectory(dir=chosen.folder) as folder:
            stores.append(made(records, Path(folder)))
    show(
        "limits revisions, made by the commands",
        ("", *(f"{store.records:,} records" for store in stores)),
        zip(names(stores[0]), *map(column, stores), strict=True),
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""How long a release takes into a pack and out of it, and how much memory: `python -m tests.bench.packs --rows 100000`.

A release of 1,000 records and one of `--rows` are written, checked, signed, and brought into an empty store; each step
in a process of its own, so that its peak memory can be told. `python` is what such a process takes before it begins.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.bench.filling import new_desk, publish, revision_of
from tests.bench.measuring import peak_memory_mib, progress, show
from turnrule.actions.release_packs import (
    import_release_pack,
    new_signer,
    open_release_pack,
    sign_release_pack,
    write_release_pack,
)
from turnrule.store.limit_records import StoreRules

SMALL = 1000
_MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Taken:
    """What one step took, and what it came to: a digest, where it has one."""

    seconds: float
    peak_mib: float
    came_to: str = ""


@dataclass(frozen=True, slots=True)
class Places:
    """The store that a pack comes from, the pack, the store that it goes to."""

    origin: Path
    pack: Path
    target: Path


def _nothing(places: Places) -> str:
    return places.pack.name


def _fill(places: Places, rows: int) -> str:
    desk = new_desk(places.origin)
    release = publish(desk, (revision_of(number) for number in range(rows)))
    desk.store.close()
    return release.digest


def _write(places: Places) -> str:
    desk = new_desk(places.origin)
    with places.pack.open("wb") as out:
        write_release_pack(desk.store, 1, out)
    desk.store.close()
    return ""


def _check(places: Places) -> str:
    with open_release_pack(places.pack, StoreRules()) as pack:
        return pack.manifest.release.digest


def _sign(places: Places) -> str:
    sign_release_pack(places.pack, new_signer())
    return ""


def _bring_in(places: Places) -> str:
    desk = new_desk(places.target)
    release = import_release_pack(desk, places.pack, "bench")
    desk.store.close()
    return release.digest


STEPS: dict[str, Callable[[Places], str]] = {
    "python": _nothing,
    "write": _write,
    "check": _check,
    "sign": _sign,
    "bring in": _bring_in,
    "bring in again": _bring_in,
}


def _taken(step: str, places: Places) -> Taken:
    begun = time.perf_counter()
    came_to = STEPS[step](places)
    return Taken(time.perf_counter() - begun, peak_memory_mib(), came_to)


def measure(rows: int, folder: Path) -> tuple[dict[str, Taken], int]:
    """Every step with a release of so many records; and how many bytes its pack has."""
    places = Places(folder / f"from-{rows}.sqlite", folder / f"{rows}.zip", folder / f"to-{rows}.sqlite")
    processes = multiprocessing.get_context("spawn")
    progress(f"{rows:,} rows: filling")
    with processes.Pool(1) as pool:
        digest = pool.apply(_fill, (places, rows))
    found = {}
    for step in STEPS:
        progress(f"{rows:,} rows: {step}")
        with processes.Pool(1) as pool:
            found[step] = pool.apply(_taken, (step, places))
    progress("")
    for step in ("check", "bring in", "bring in again"):
        if found[step].came_to != digest:
            raise SystemExit(f"{step}: {found[step].came_to} and not {digest}")
    return found, places.pack.stat().st_size


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure both sizes and print what they took."""
    parser = argparse.ArgumentParser(description="Measure release packs.")
    parser.add_argument("--rows", type=int, default=100_000)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        small, small_bytes = measure(SMALL, Path(folder))
        great, great_bytes = measure(chosen.rows, Path(folder))
    show(
        f"a release as a pack: {SMALL:,} records ({small_bytes / _MIB:.2f} MiB) "
        f"and {chosen.rows:,} ({great_bytes / _MIB:.1f} MiB)",
        ("step", f"{SMALL:,} s", f"{chosen.rows:,} s", "us each", "MiB small", "MiB great", "grows by MiB"),
        [
            (
                step,
                f"{small[step].seconds:.2f}",
                f"{great[step].seconds:.2f}",
                great[step].seconds / chosen.rows * 1e6,
                small[step].peak_mib,
                great[step].peak_mib,
                great[step].peak_mib - small[step].peak_mib,
            )
            for step in STEPS
        ],
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""A batch of the demo's inspections through the service: `python -m tests.bench.batches --items 100000`.

Each batch has a store, a server and a client of its own, so that peak memory can be told of both; the client makes
its lines as it sends them and reads answers as they come. The smaller batch stands beside it, in the same run.
"""

from __future__ import annotations

import argparse
import itertools
import json
import multiprocessing
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.api.serving import connected, serving
from tests.bench.filling import new_desk
from tests.bench.measuring import peak_memory_mib, show, size_mib
from tests.bench.workers import peak_memory_of, servers_on
from turnrule.actions.keys import create_key
from turnrule.api.demo import load_demo_limits
from turnrule.pack.location import pack_folder
from turnrule.store.port import VerdictQuery

SMALL = 1000
NDJSON = "application/x-ndjson"


@dataclass(frozen=True, slots=True)
class Sent:
    """What a batch came to: how many items were answered with which status, and what it took."""

    statuses: dict[int, int]
    first: float
    seconds: float
    client_mib: float


def demo_lines(*, sound: bool) -> list[bytes]:
    """The requests of the demo's inspections, as they stand, one on a line; of the `sound` ones none is refused."""
    document = json.loads((pack_folder() / "demo" / "inspections.json").read_text("utf-8"))
    taken = [one["request"] for one in document["items"] if not (sound and one["expect_problem"])]
    return [json.dumps(request).encode() + b"\n" for request in taken]


def lines(items: int, *, sound: bool = False) -> Iterator[bytes]:
    """So many of the demo's inspections, over and over."""
    return itertools.islice(itertools.cycle(demo_lines(sound=sound)), items)


def send(port: int, secret: str, items: int, query: str) -> Sent:
    """Send a batch and read its answers, line by line."""
    statuses: Counter[int] = Counter()
    begun = time.perf_counter()
    with connected(port, timeout=3600) as connection:
        headers = {"Authorization": f"Bearer {secret}", "Content-Type": NDJSON, "Transfer-Encoding": "chunked"}
        body = lines(items, sound="atomic" in query)
        connection.request("POST", f"/v1/verdict-batches{query}", body, headers, encode_chunked=True)
        response = connection.getresponse()
        if response.status != 200:
            raise RuntimeError(f"{response.status}: {response.read()[:500]!r}")
        first = 0.0
        for place, line in enumerate(iter(response.readline, b"")):
            first = first or time.perf_counter() - begun
            answer = json.loads(line)
            if answer["index"] != place:
                raise RuntimeError(f"item {place} was answered as {answer['index']}")
            statuses[answer["status"]] += 1
    return Sent(dict(statuses), first, time.perf_counter() - begun, peak_memory_mib())


def measured(folder: Path, items: int, query: str) -> tuple[Sent, float, float]:
    """A batch against a service of its own: what the client says, the server's peak memory, the store's size."""
    database = folder / f"store-{items}-{len(query)}.sqlite"
    desk = new_desk(database)
    load_demo_limits(desk)
    secret = create_key(desk, "bench-shop", ["verdicts"]).secret
    with serving(database) as port, multiprocessing.get_context("spawn").Pool(1) as pool:
        sent = pool.apply(send, (port, secret, items, query))
        peak = max(peak_memory_of(pid) for pid in servers_on(port))
    kept = desk.store.count_verdicts(VerdictQuery())
    if kept != sent.statuses[201]:
        raise RuntimeError(f"{sent.statuses[201]} verdicts were answered and {kept} are stored")
    desk.store.close()
    return sent, peak, size_mib(database)


def main(arguments: Sequence[str] | None = None) -> int:
    """Send both batches, and print what they took."""
    parser = argparse.ArgumentParser(description="Measure batches of verdicts.")
    parser.add_argument("--items", type=int, default=100_000)
    chosen = parser.parse_args(arguments)
    rows: list[tuple[object, ...]] = []
    with tempfile.TemporaryDirectory() as folder:
        for items, query in ((SMALL, ""), (chosen.items, ""), (SMALL, "?atomic=true")):
            sent, server, disk = measured(Path(folder), items, query)
            told = " ".join(f"{count:,} x {status}" for status, count in sorted(sent.statuses.items()))
            each = sent.seconds / items * 1e3
            name = f"{items:,} {query}".strip()
            row = (f"{sent.first:.2f}", f"{sent.seconds:.1f}", f"{each:.2f}", f"{sent.client_mib:.1f}", f"{server:.1f}")
            rows.append((name, told, *row, f"{disk:.0f}"))
    show(
        "batches of the demo's inspections, over HTTP",
        ("items", "answered", "first s", "all s", "ms each", "client MiB", "server MiB", "disk MiB"),
        rows,
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

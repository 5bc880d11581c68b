"""A disk that is full refuses what does not fit, loses nothing that was acknowledged, and serves again with room."""

from __future__ import annotations

import resource
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.store.samples import publish, revision, verdict
from turnrule.store.port import Idempotency, StoreUnavailableError, VerdictQuery
from turnrule.store.sqlite import open_sqlite

ALL = VerdictQuery()


@dataclass
class Scarce:
    """A folder on which little fits."""

    folder: Path
    take: Callable[[], None]
    give_back: Callable[[], None]


@contextmanager
def _small_disk(folder: Path, size: int) -> Iterator[Scarce | None]:
    """A small file system of its own, where this user may mount one."""
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if mounted.returncode != 0:
        yield None
        return
    filler = folder / "filler"

    def take() -> None:
        with filler.open("ab", buffering=0) as file:
            for chunk in (65536, 4096, 512):
                try:
                    while True:
                        file.write(b"x" * chunk)
                except OSError:
                    continue

    try:
        yield Scarce(folder, take, filler.unlink)
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


@contextmanager
def _short_files(folder: Path) -> Iterator[Scarce]:
    """A limit on the length of any file of this process: the same as a full disk, for every user."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)

    def take() -> None:
        longest = max(path.stat().st_size for path in folder.iterdir())
        resource.setrlimit(resource.RLIMIT_FSIZE, (longest + 4096, before[1]))

    def give_back() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)

    try:
        yield Scarce(folder, take, give_back)
    finally:
        give_back()


@pytest.fixture(params=["disk", "files"])
def scarce(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Scarce]:
    """Too little room, in both ways that this machine has; where it has one only, that one twice."""
    folder = tmp_path / "scarce"
    folder.mkdir()
    if request.param == "disk":
        with _small_disk(folder, 16_000_000) as disk:
            if disk is not None:
                yield disk
                return
    with _short_files(folder) as files:
        yield files


def test_a_full_disk_refuses_keeps_what_was_acknowledged_and_serves_again(scarce: Scarce) -> None:
    store = open_sqlite(scarce.folder / "store.sqlite")
    store.migrate()
    too_many = [revision(f"L{place}", note="x" * 4000) for place in range(6000)]
    acknowledged = []
    number = 0
    for _ in range(6):
        scarce.take()
        refused = None
        while refused is None:
            number += 1
            try:
                kept = store.record_verdict(
                    verdict(f"v{number}", vehicle="x" * 3000), Idempotency("counter", f"k{number}", "body")
                )
            except StoreUnavailableError as error:
                refused = error
            else:
                acknowledged.append(kept)
        assert "its disk" in str(refused)
        with pytest.raises(StoreUnavailableError, match="its disk"):
            publish(store, *too_many)
        assert store.release() is None
        assert store.idempotent(Idempotency("counter", f"k{number}", "body")) is None
        assert store.verdicts(ALL, limit=10_000) == acknowledged
        assert store.check() == []
        scarce.give_back()
        acknowledged.append(store.record_verdict(verdict(f"v{number}")))
    store.ping()
    store.close()
    again = open_sqlite(scarce.folder / "store.sqlite")
    assert again.verdicts(ALL, limit=10_000) == acknowledged
    assert [record.sequence for record in acknowledged] == list(range(1, len(acknowledged) + 1))
    assert again.check() == []
    again.close()


def test_a_disk_that_is_full_from_the_start_leaves_a_store_that_can_be_migrated_later(scarce: Scarce) -> None:
    path = scarce.folder / "store.sqlite"
    (scarce.folder / "small").write_bytes(b"x")
    scarce.take()
    with pytest.raises(StoreUnavailableError, match="its disk"):
        open_sqlite(path).migrate()
    scarce.give_back()
    store = open_sqlite(path)
    assert store.pending()
    store.migrate()
    assert store.check() == []
    store.close()

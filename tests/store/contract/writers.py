"""What a writer process does; each is started afresh, so that it shares nothing with the test but the place."""

from __future__ import annotations

import contextlib
import datetime
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection

from tests.store.contract.adapters import ADAPTERS
from tests.store.entries import accepted, draft, model, release
from tests.store.samples import NOON, publish, revision, verdict
from turnrule.judging.words import Axle, Kind
from turnrule.store.errors import NothingToPublishError, StoreError
from turnrule.store.limit_records import LimitRevision
from turnrule.store.port import Idempotency

SHARED_KEYS = 25


@dataclass(frozen=True, slots=True)
class Done:
    """What a writer was told was done."""

    recorded: list[tuple[str, int]] = field(default_factory=list)
    shared: list[tuple[str, str, int]] = field(default_factory=list)
    released: list[tuple[int, str]] = field(default_factory=list)


def write_everything(adapter: str, place: str, writer: int, rounds: int) -> Done:
    """Record verdicts, race the other writers for the same idempotency keys, publish and count misses."""
    store = ADAPTERS[adapter].open(place)
    done = Done()
    for number in range(rounds):
        at = NOON + datetime.timedelta(seconds=number)
        kept = store.record_verdict(verdict(f"w{writer}-{number}", judged_at=at))
        done.recorded.append((kept.id, kept.sequence))
        shared = f"shared {number % SHARED_KEYS}"
        kept = store.record_verdict(
            verdict(f"w{writer}-{number}-shared"), Idempotency("counter", shared, f"body of {shared}")
        )
        done.shared.append((shared, kept.id, kept.sequence))
        if number % 5 == 0:
            published = publish(store, revision(f"L{writer}-{number}"), at=at, notes=f"w{writer}-{number}")
            done.released.append((published.number, published.notes))
        store.count_miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, None, at)
    store.close()
    return done


def record_until_killed(adapter: str, place: str, writer: int, told: Connection) -> None:
    """Record verdicts, publish now and then, and tell of each only when the store has answered."""
    store = ADAPTERS[adapter].open(place)
    number = 0
    while True:
        number += 1
        name = f"k{writer}-{number}"
        kept = store.record_verdict(
            verdict(name, vehicle="x" * (number % 50 * 40 + 1)), Idempotency("counter", name, "body")
        )
        told.send(("verdict", kept.id, kept.sequence))
        if number % 7 == 0:
            published = publish(store, *(revision(f"{name}-{place}") for place in range(20)), notes=name)
            told.send(("release", name, published.number))


def import_until_killed(adapter: str, place: str, count: int, told: Connection) -> None:
    """Enter many drafts, say so when all but the end has come, and wait there for the end."""
    store = ADAPTERS[adapter].open(place)

    def rows() -> Iterator[tuple[LimitRevision, int | None]]:
        for number in range(count):
            yield draft(f"N{number:05}", fits=model(number)), None
        told.send(count)
        time.sleep(600)

    store.enter_many(rows(), at=NOON, by="importer")


def publish_next(adapter: str, place: str, follows: int) -> str:
    """Publish what is verified, after a release; the new release's number, or the code of the refusal."""
    store = ADAPTERS[adapter].open(place)
    try:
        return str(release(store, follows=follows).number)
    except StoreError as error:
        return error.code
    finally:
        store.close()


def verify_and_publish(adapter: str, place: str, writer: int, rounds: int) -> list[int]:
    """Enter, verify and publish, over and over; the numbers of the releases that this writer made."""
    store = ADAPTERS[adapter].open(place)
    published = []
    for number in range(rounds):
        accepted(store, draft(f"W{writer}-{number}", fits=model(100 * writer + number)))
        with contextlib.suppress(NothingToPublishError):  # another writer has published it as well
            published.append(release(store).number)
    store.close()
    return published


def migrate_at_once(adapter: str, place: str) -> list[str]:
    """Migrate, whoever else does so at the same time."""
    store = ADAPTERS[adapter].open(place)
    done = list(store.migrate())
    store.ping()
    store.close()
    return done

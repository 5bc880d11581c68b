"""A store's life: before it is migrated, migrated, closed, opened again."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.samples import NOON, key, policy, publish, revision, verdict
from turnrule.judging.words import Axle, Kind
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    Store,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)

CALLS: dict[str, Callable[[Store], object]] = {
    "ping": lambda store: store.ping(),
    "add_key": lambda store: store.add_key(key()),
    "key_by_digest": lambda store: store.key_by_digest("x"),
    "keys": lambda store: store.keys(),
    "revoke_key": lambda store: store.revoke_key("x", NOON),
    "publish": lambda store: publish(store, revision()),
    "release": lambda store: store.release(),
    "releases": lambda store: store.releases(),
    "limits": lambda store: store.limits(LimitQuery()),
    "limit_revision": lambda store: store.limit_revision("L1"),
    "applications": lambda store: store.applications(),
    "save_policy": lambda store: store.save_policy(policy()),
    "policy": lambda store: store.policy("x"),
    "policies": lambda store: store.policies(),
    "record_verdict": lambda store: store.record_verdict(verdict()),
    "idempotent": lambda store: store.idempotent(Idempotency("k", "v", "b")),
    "verdict": lambda store: store.verdict("x"),
    "verdicts": lambda store: store.verdicts(VerdictQuery()),
    "count_miss": lambda store: store.count_miss("Tarn", "Pell", 2020, Axle.FRONT, Kind.ROTOR, None, NOON),
    "misses": lambda store: store.misses(),
}
OF_LIFE = {"close", "pending", "migrate", "check"}


def test_every_method_of_the_port_is_called_here() -> None:
    methods = {name for name in vars(Store) if not name.startswith("_")}
    assert methods == CALLS.keys() | OF_LIFE


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS.keys())
def test_a_store_that_is_not_migrated_refuses_every_call(
    adapter: Adapter, place: str, call: Callable[[Store], object]
) -> None:
    store = adapter.open(place)
    with pytest.raises(StoreNotMigratedError):
        call(store)
    store.close()


def test_what_is_pending_is_known_before_and_gone_after(adapter: Adapter, place: str) -> None:
    store = adapter.open(place)
    waiting = list(store.pending())
    assert waiting
    assert store.check() != []
    assert list(store.migrate()) == waiting
    assert list(store.pending()) == []
    assert list(store.migrate()) == []
    assert store.check() == []
    store.ping()
    store.close()


def test_a_store_that_was_opened_before_it_was_migrated_elsewhere_serves(adapter: Adapter, place: str) -> None:
    early, other = adapter.open(place), adapter.open(place)
    other.migrate()
    early.add_key(key())
    assert other.keys() == [key()]
    early.close()
    other.close()


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS.keys())
def test_every_call_answers_on_a_migrated_store(store: Store, call: Callable[[Store], object]) -> None:
    call(store)


@pytest.mark.parametrize("call", CALLS.values(), ids=CALLS.keys())
def test_a_closed_store_refuses_every_call(adapter: Adapter, place: str, call: Callable[[Store], object]) -> None:
    store = adapter.open(place)
    store.migrate()
    store.close()
    store.close()
    with pytest.raises(StoreUnavailableError):
        call(store)


def test_what_was_written_is_there_when_the_store_is_opened_again(adapter: Adapter, place: str) -> None:
    store = adapter.open(place)
    store.migrate()
    publish(store, revision())
    kept = store.record_verdict(verdict(), Idempotency("counter", "k", "body"))
    store.close()
    again = adapter.open(place)
    assert again.limits(LimitQuery()) == [revision()]
    assert again.idempotent(Idempotency("counter", "k", "body")) == kept
    assert again.record_verdict(verdict("v2")).sequence == 2
    again.close()


def test_two_open_stores_see_each_others_writes_at_once(adapter: Adapter, place: str, store: Store) -> None:
    other = adapter.open(place)
    for number in range(5):
        kept = store.record_verdict(verdict(f"a{number}"))
        assert other.verdict(f"a{number}") == kept
        kept = other.record_verdict(verdict(f"b{number}", judged_at=NOON + datetime.timedelta(days=number)))
        assert store.verdict(f"b{number}") == kept
    other.close()

"""A store's life: before it is migrated, migrated, closed, opened again."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.entries import draft, rejection, release, withdrawal
from tests.store.samples import FITS, NOON, axle, key, lathe, policy, publish, revision, site, verdict
from turnrule.judging.words import Axle, Kind
from turnrule.store.errors import NothingToPublishError, NotOpenError
from turnrule.store.limit_records import StoreRules, Verified
from turnrule.store.port import (
    Idempotency,
    LimitQuery,
    ReferenceStore,
    Store,
    StoreNotMigratedError,
    StoreUnavailableError,
    VerdictQuery,
)


def _or_not_open(call: Callable[[Store], object]) -> Callable[[Store], object]:
    """What an empty store answers as well: there is nothing to do this to."""

    def answered(store: Store) -> object:
        try:
            return call(store)
        except (NotOpenError, NothingToPublishError) as error:
            return error

    return answered


CALLS: dict[str, Callable[[Store], object]] = {
    "ping": lambda store: store.ping(),
    "add_key": lambda store: store.add_key(key()),
    "key_by_digest": lambda store: store.key_by_digest("x"),
    "keys": lambda store: store.keys(),
    "revoke_key": lambda store: store.revoke_key("x", NOON),
    "publish": lambda store: publish(store, revision()),
    "save_lathe": lambda store: store.save_lathe(lathe()),
    "lathe": lambda store: store.lathe("bench_2"),
    "lathes": lambda store: store.lathes(),
    "save_site": lambda store: store.save_site(site()),
    "site": lambda store: store.site("north depot"),
    "sites": lambda store: store.sites(),
    "record_axle": lambda store: store.record_axle(axle("a1", "l1", None), [verdict("l1")]),
    "axle": lambda store: store.axle("a1"),
    "axles": lambda store: store.axles(),
    "record_verdicts": lambda store: store.record_verdicts([(verdict(), None)]),
    "newest_verdicts": lambda store: store.newest_verdicts(VerdictQuery()),
    "events": lambda store: store.events(),
    "release": lambda store: store.release(),
    "releases": lambda store: store.releases(),
    "limits": lambda store: store.limits(LimitQuery()),
    "limit_revision": lambda store: store.limit_revision("L1"),
    "rules": lambda store: store.rules(),
    "set_rules": lambda store: store.set_rules(StoreRules(), at=NOON, by="office"),
    "answered": lambda store: store.answered(Idempotency("k", "v", "b")),
    "enter": lambda store: store.enter(draft()),
    "enter_many": lambda store: store.enter_many([(draft(), None)], at=NOON, by="first reader"),
    "overlapping": lambda store: store.overlapping(FITS, Kind.ROTOR, start=NOON.date(), end=None),
    "similar": lambda store: store.similar(Kind.ROTOR, at_least=1, at_most=2, limit=3),
    "open_draft": lambda store: store.open_draft("L1"),
    "drafts": lambda store: store.drafts(),
    "drafts_of": lambda store: store.drafts_of("Corvane", "Ostrel"),
    "settle": _or_not_open(lambda store: store.settle("L1", lambda _: Verified("second reader", NOON))),
    "reject": _or_not_open(lambda store: store.reject("L1", rejection())),
    "withdraw": _or_not_open(lambda store: store.withdraw(withdrawal("L1"))),
    "waiting": lambda store: store.waiting(),
    "publish_verified": _or_not_open(release),
    "held": lambda store: store.held(LimitQuery()),
    "history": lambda store: store.history("L1"),
    "last_withdrawal": lambda store: store.last_withdrawal(),
    "withdrawals": lambda store: store.withdrawals(),
    "changes": lambda store: store.changes(0, 1),
    "due_for_review": lambda store: store.due_for_review(NOON.date()),
    "waiting_counts": lambda store: store.waiting_counts(NOON.date()),
    "makes": lambda store: store.makes(),
    "models": lambda store: store.models("Corvane"),
    "count_verdicts": lambda store: store.count_verdicts(VerdictQuery()),
    "touched_verdicts": lambda store: store.touched_verdicts(0, 1),
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
    methods = {name for port in (Store, ReferenceStore) for name in vars(port) if not name.startswith("_")}
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

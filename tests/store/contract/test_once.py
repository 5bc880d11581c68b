"""An idempotency key asks that something be done once: its answer is kept with what was done, or neither is."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.contract.refusing import refused
from tests.store.entries import accepted, draft, mismatch, model, once, rejection, withdrawal
from tests.store.samples import NOON, VERIFIED, verdict
from turnrule.store.errors import IdempotencyConflictError
from turnrule.store.limit_records import Differed, KeptAnswer, LimitQuery, Verified
from turnrule.store.port import Store
from turnrule.store.reference_port import AnsweredBeforeError, Idempotency, Once

Asked = Once[object]
Writing = Callable[[Store, Asked | None], object]

WRITING: dict[str, tuple[Writing, Writing]] = {
    "enter": (
        lambda store, asked: store.enter(draft("new", fits=model(9)), once=asked),
        lambda store, asked: store.enter(draft("done", fits=model(9)), once=asked),
    ),
    "correct": (
        lambda store, asked: store.enter(draft("done", fits=model(1)), corrects=1, once=asked),
        lambda store, asked: store.enter(draft("open", fits=model(2)), corrects=1, once=asked),
    ),
    "verify": (
        lambda store, asked: store.settle("open", lambda _: Verified("second reader", VERIFIED), once=asked),
        lambda store, asked: store.settle("open", lambda _: Verified("first reader", VERIFIED), once=asked),
    ),
    "differ": (
        lambda store, asked: store.settle("open", lambda _: Differed(mismatch()), once=asked),
        lambda store, asked: store.settle("done", lambda _: Differed(mismatch()), once=asked),
    ),
    "reject": (
        lambda store, asked: store.reject("open", rejection(), once=asked),
        lambda store, asked: store.reject("done", rejection(), once=asked),
    ),
    "withdraw": (
        lambda store, asked: store.withdraw(withdrawal("done"), once=asked),
        lambda store, asked: store.withdraw(withdrawal("open"), once=asked),
    ),
    "publish": (
        lambda store, asked: store.publish_verified(published_at=NOON, published_by="p", notes="", once=asked),
        lambda store, asked: store.publish_verified(published_at=NOON, published_by="", notes="", once=asked),
    ),
}
"""What is done once: as it goes well, and as it is refused."""

ALL_WRITING = pytest.mark.parametrize(("well", "refused_"), WRITING.values(), ids=WRITING.keys())
KEY = once().idempotency


@pytest.fixture
def ready(store: Store) -> Store:
    """A store with the open draft `open` and the verified record `done`."""
    accepted(store, draft("done", fits=model(1)))
    store.enter(draft("open", fits=model(2)))
    return store


def _content(store: Store) -> object:
    """All that any of these calls would change."""
    histories = [store.history(name) for name in ("open", "done", "new")]
    return histories, store.drafts(), store.withdrawals(), store.releases(), store.limits(LimitQuery())


@ALL_WRITING
def test_the_answer_is_kept_and_comes_again_while_nothing_is_done_again(
    ready: Store, well: Writing, refused_: Writing
) -> None:
    assert ready.answered(KEY) is None
    outcome = well(ready, once())
    kept = KeptAnswer(201, repr(outcome).encode(), "/kept/k")
    assert ready.answered(KEY) == kept
    after = _content(ready)
    for again in (well, refused_):
        with pytest.raises(AnsweredBeforeError) as caught:
            again(ready, _never())
        assert caught.value.kept == kept
    assert _content(ready) == after
    assert ready.answered(KEY) == kept


def _never(body: str = "body") -> Asked:
    """Asks for the same again, and must not be answered anew."""

    def answer(outcome: object) -> KeptAnswer:
        raise AssertionError(outcome)

    return Once(replace(KEY, body_digest=body), answer)


@ALL_WRITING
def test_another_body_under_the_same_key_is_a_conflict(ready: Store, well: Writing, refused_: Writing) -> None:
    well(ready, once())
    after = _content(ready)
    for other in (well, refused_):
        with pytest.raises(IdempotencyConflictError):
            other(ready, _never("another body"))
    with pytest.raises(IdempotencyConflictError):
        ready.answered(replace(KEY, body_digest="another body"))
    assert _content(ready) == after


@ALL_WRITING
def test_what_is_refused_keeps_no_answer_and_may_be_tried_again(ready: Store, well: Writing, refused_: Writing) -> None:
    before = _content(ready)
    with refused():
        refused_(ready, once())
    assert ready.answered(KEY) is None
    assert _content(ready) == before
    well(ready, once(body="another body"))
    assert ready.answered(replace(KEY, body_digest="another body")) is not None


class _BrokenError(Exception):
    """The answer could not be made."""


@ALL_WRITING
def test_where_no_answer_can_be_made_nothing_is_done(ready: Store, well: Writing, refused_: Writing) -> None:
    def answer(_: object) -> KeptAnswer:
        raise _BrokenError

    before = _content(ready)
    with pytest.raises(_BrokenError):
        well(ready, Once(KEY, answer))
    assert _content(ready) == before
    assert ready.answered(KEY) is None
    with refused():
        refused_(ready, once())


@ALL_WRITING
@pytest.mark.parametrize(
    "bad", [KeptAnswer(199, b""), KeptAnswer(600, b""), KeptAnswer(201, b"", ""), KeptAnswer(201, b"", "\ud800")]
)
def test_where_the_answer_cannot_be_kept_nothing_is_done(
    ready: Store, well: Writing, refused_: Writing, bad: KeptAnswer
) -> None:
    before = _content(ready)
    with refused():
        well(ready, Once(KEY, lambda _: bad))
    assert _content(ready) == before
    assert ready.answered(KEY) is None
    with refused():
        refused_(ready, None)


@pytest.mark.parametrize("kept", [KeptAnswer(409, bytes(range(256)), None), KeptAnswer(200, b"", "/x?y=\u00e9")])
def test_an_answer_comes_back_byte_for_byte(store: Store, kept: KeptAnswer) -> None:
    store.enter(draft(), once=Once(KEY, lambda _: kept))
    assert store.answered(KEY) == kept


def test_a_key_belongs_to_the_api_key_that_sent_it(ready: Store) -> None:
    ready.withdraw(withdrawal("done"), once=once())
    office: Asked = Once(Idempotency("office", "k", "another body"), lambda _: KeptAnswer(200, b"office"))
    ready.reject("open", rejection(), once=office)
    assert ready.answered(office.idempotency) == KeptAnswer(200, b"office")
    kept = ready.answered(KEY)
    assert kept is not None
    assert kept.status == 201
    for other in (replace(KEY, key_name="nobody"), replace(KEY, value="K"), replace(KEY, value="")):
        assert ready.answered(other) is None


@pytest.mark.parametrize("bad", [{"key_name": ""}, {"value": ""}, {"body_digest": ""}])
def test_a_key_without_a_name_is_refused_and_nothing_is_done(ready: Store, bad: dict[str, str]) -> None:
    before = _content(ready)
    with refused():
        ready.withdraw(withdrawal("done"), once=Once(replace(KEY, **bad), lambda _: KeptAnswer(200, b"")))
    assert _content(ready) == before


def test_an_answer_is_there_for_others_and_later(adapter: Adapter, place: str, ready: Store) -> None:
    other = adapter.open(place)
    ready.publish_verified(published_at=NOON, published_by="p", notes="", once=once())
    kept = other.answered(KEY)
    assert kept is not None
    with pytest.raises(AnsweredBeforeError) as caught:
        other.publish_verified(published_at=NOON, published_by="p", notes="", once=_never())
    assert caught.value.kept == kept
    other.close()
    again = adapter.open(place)
    assert again.answered(KEY) == kept
    again.close()


@pytest.mark.parametrize("name", ["enter", "verify", "withdraw", "publish"])
def test_of_many_threads_with_one_key_one_does_it_and_all_get_its_answer(ready: Store, name: str) -> None:
    well, _ = WRITING[name]
    threads = 6
    barrier = threading.Barrier(threads)

    def race(_: int) -> KeptAnswer | None:
        barrier.wait()
        try:
            well(ready, once())
        except AnsweredBeforeError as error:
            return error.kept
        return None

    with ThreadPoolExecutor(threads) as pool:
        found = list(pool.map(race, range(threads)))
    assert found.count(None) == 1
    assert {one for one in found if one is not None} == {ready.answered(KEY)}


@ALL_WRITING
def test_what_is_asked_without_a_key_keeps_no_answer(ready: Store, well: Writing, refused_: Writing) -> None:
    well(ready, None)
    with refused():
        refused_(ready, None)
    assert ready.answered(KEY) is None


def test_keys_of_verdicts_are_kept_apart(ready: Store) -> None:
    record = ready.record_verdict(verdict("v1"), KEY)
    assert ready.answered(KEY) is None
    ready.withdraw(withdrawal("done"), once=once())
    assert ready.idempotent(KEY) == record

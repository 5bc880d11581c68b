"""What a release held is for ever the same, whatever comes later; and the same in every store."""

from __future__ import annotations

import datetime
import random
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.store.contract.adapters import Adapter
from tests.store.entries import accepted, differ, draft, model, overrule, rejection, release, verify, withdrawal
from tests.store.samples import DRUM, NOON, ROTOR, publish, revision
from turnrule.store.errors import NothingToPublishError
from turnrule.store.limit_records import LimitQuery, LimitRevision
from turnrule.store.port import Store

RECORDS = 12
CHANGES = 1000
HOUR = datetime.timedelta(hours=1)


def _bytes(store: Store, number: int) -> str:
    """Everything that a store can say of a release, written out."""
    whole = LimitQuery(release=number)
    queries = [whole, *(replace(whole, model=model(one).model, year=2022, on=NOON.date()) for one in range(3))]
    limits = [store.limits(query, limit=1000) for query in queries]
    held = store.held(replace(whole, withdrawn=0), limit=1000)
    return repr((store.release(number), limits, held, store.changes(number - 1, number, limit=10**6)))


def _step(store: Store, chance: random.Random) -> str:
    """One later change to a record, of any kind; what it was."""
    limits_id = f"L{chance.randrange(RECORDS):02}"
    open_, rows = store.open_draft(limits_id), store.history(limits_id, limit=10**6)
    newest = max((row.revision.revision for row in rows if row.revision.verified_by), default=0)
    what = chance.choice(["enter", "enter", "differ", "verify", "verify", "overrule", "reject", "withdraw", "bring"])
    fits = model(int(limits_id[1:]))
    limits = replace(ROTOR, discard=Decimal(chance.randrange(200, 240)) / 10)
    if what == "bring":
        bring = revision(limits_id, max((row.revision.revision for row in rows), default=0) + 1, fits=fits)
        if open_ is None:
            publish(store, replace(bring, limits=limits))
    elif what == "withdraw":
        if newest and rows[newest - 1].withdrawal is None:
            store.withdraw(withdrawal(limits_id, newest))
    elif open_ is None:
        store.enter(draft(limits_id, fits=fits, limits=limits), corrects=newest or None if rows else None)
    elif what == "differ":
        differ(store, limits_id, by=f"reader {len(open_.mismatches)}")
    elif what == "overrule" and len(open_.mismatches) > 1:
        entered = replace(open_.revision, entered_by="reader 1", limits=ROTOR)
        overrule(store, limits_id, entered=entered, by="the last reader")
    elif what == "reject" and newest:
        store.reject(limits_id, rejection())
    else:
        verify(store, limits_id, by="the last reader")
        what = "verify"
    return what


def test_any_past_release_answers_the_same_after_a_thousand_later_changes(store: Store) -> None:
    chance = random.Random(20260302)
    was: list[str] = []
    done: list[str] = []
    while len(done) < CHANGES:
        done.append(_step(store, chance))
        if chance.random() < 0.05:
            try:
                release(store, at=NOON + len(done) * HOUR)
            except NothingToPublishError:
                continue
        published = len(store.releases(limit=10**6))
        was += [_bytes(store, number) for number in range(len(was) + 1, published + 1)]
    assert min(done.count(what) for what in ("differ", "verify", "overrule", "reject", "withdraw", "bring")) > 5
    assert len(was) > 30
    assert [_bytes(store, number) for number in range(1, len(was) + 1)] == was


def _some() -> Sequence[LimitRevision]:
    return [
        revision("L1", limits=ROTOR),
        revision("L2", limits=DRUM, printed={"b": "1", "a": "2"}),
        revision("l1", fits=model(1)),
        revision("L10", fits=model(2), note="\u00b5"),
    ]


def test_the_same_limits_have_the_same_digest_in_any_order_and_revision(store: Store) -> None:
    first = publish(store, *_some())
    second = publish(store, *(replace(row, revision=row.revision + 4) for row in reversed(_some())))
    assert (first.number, second.number) == (1, 2)
    assert first.digest == second.digest


def test_a_digest_does_not_tell_in_which_store_or_how_a_release_came_about(
    adapter: Adapter, store: Store, tmp_path_factory: pytest.TempPathFactory
) -> None:
    brought = publish(store, *_some())
    _, other = adapter.migrated(tmp_path_factory.mktemp("other"))
    for row in reversed(_some()):
        entered = replace(row, fits=model(len(row.limits_id) + ord(row.limits_id[0])), entered_by="somebody else")
        accepted(other, entered)
    wrong = release(other, at=NOON + HOUR, notes="for other vehicles")
    for row in _some():
        accepted(other, replace(row, reason="a digit", entered_by="another"), corrects=1)
    made = release(other, at=NOON + 2 * HOUR, notes="by hand")
    assert wrong.digest != brought.digest
    assert made.digest == brought.digest
    other.close()

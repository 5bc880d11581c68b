"""Which site has which policy; what happened, in order; several verdicts at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.store.contract.refusing import refused
from tests.store.entries import accepted, draft, model, release, withdrawal
from tests.store.samples import NOON, SECOND, axle, lathe, policy, site, verdict
from turnrule.store.port import (
    Event,
    EventKind,
    Idempotency,
    IdempotencyConflictError,
    Kept,
    NameTakenError,
    SiteRevision,
    Store,
    StoreError,
    VerdictQuery,
    VerdictRecord,
)

ALL = VerdictQuery()


def _key(value: str, body: str = "body") -> Idempotency:
    return Idempotency("counter", value, body)


def test_sites_keep_every_revision(store: Store) -> None:
    first = site("north depot", 1)
    second = site("north depot", 2, policy="brisk", written_at=NOON + SECOND)
    other = site("east depot", 4)
    for one in (first, second, other):
        store.save_site(one)
    assert store.site("north depot", 1) == first
    assert store.site("north depot") == second
    assert store.site("north depot", 3) is None
    assert store.site("nobody") is None
    assert store.sites() == [other, second]


@pytest.mark.parametrize(("number", "error"), [(2, NameTakenError), (3, StoreError), (4, NameTakenError)])
def test_a_site_revision_that_is_stored_or_not_newer_is_refused(
    store: Store, number: int, error: type[StoreError]
) -> None:
    rows = [site("north depot", 2), site("north depot", 4)]
    for row in rows:
        store.save_site(row)
    with pytest.raises(error):
        store.save_site(site("north depot", number, written_by="somebody else"))
    assert store.sites() == [rows[1]]
    assert len(store.events()) == 2


@pytest.mark.parametrize("bad", [site(""), site(number=0), site(policy=""), site(written_by="")])
def test_a_site_without_name_policy_or_author_is_refused(store: Store, bad: SiteRevision) -> None:
    with refused():
        store.save_site(bad)
    assert (store.sites(), store.events()) == ([], [])


def test_everything_that_happens_is_told_in_order(store: Store) -> None:
    store.save_policy(policy("careful", 1))
    store.save_lathe(lathe("bench_2", 1))
    store.save_site(site("north depot", 1))
    store.record_verdict(verdict("v1", site=None))
    store.record_axle(axle("a1", "l1", "r1"), [verdict("l1"), verdict("r1", side="right")])
    accepted(store, draft("L1", fits=model(1)))
    published = release(store, at=NOON)
    gone = withdrawal("L1")
    store.withdraw(gone)
    store.save_policy(policy("careful", 2, written_at=NOON + SECOND))
    told = store.events()
    assert [event.sequence for event in told] == list(range(1, 11))
    assert [(event.kind, event.subject, event.revision, event.by, event.at) for event in told] == [
        (EventKind.POLICY, "careful", 1, "fleet office", NOON),
        (EventKind.LATHE, "bench_2", 1, "workshop", NOON),
        (EventKind.SITE, "north depot", 1, "fleet office", NOON),
        (EventKind.VERDICT, "v1", None, "counter", NOON),
        (EventKind.VERDICT, "l1", None, "counter", NOON),
        (EventKind.VERDICT, "r1", None, "counter", NOON),
        (EventKind.AXLE_VERDICT, "a1", None, "counter", NOON),
        (EventKind.RELEASE, "1", None, published.published_by, NOON),
        (EventKind.WITHDRAWAL, "L1", 1, gone.withdrawn_by, gone.withdrawn_at),
        (EventKind.POLICY, "careful", 2, "fleet office", NOON + SECOND),
    ]
    about = {event.subject: (event.site, event.ruling, event.digest) for event in told}
    assert about["v1"] == (None, verdict("v1").ruling, "sha256:v1")
    assert about["a1"] == ("north depot", axle("a1").ruling, "sha256:a1")
    assert about["1"] == (None, None, published.digest)
    assert about["north depot"] == ("north depot", None, None)
    assert about["L1"] == about["careful"] == about["bench_2"] == (None, None, None)


def test_events_are_read_on_from_any_place_and_none_twice(store: Store) -> None:
    for number in range(7):
        store.record_verdict(verdict(f"v{number}"))
    seen: list[Event] = []
    while page := store.events(after=seen[-1].sequence if seen else 0, limit=3):
        assert len(page) <= 3
        seen += page
    assert [event.subject for event in seen] == [f"v{number}" for number in range(7)]
    assert store.events(after=7) == []
    assert store.events(limit=0) == []


def test_what_is_refused_or_was_stored_before_happens_once(store: Store) -> None:
    store.record_verdict(verdict("v1"), _key("k"))
    store.record_verdict(verdict("v2"), _key("k"))
    with pytest.raises(NameTakenError):
        store.record_verdict(verdict("v1"))
    assert [event.subject for event in store.events()] == ["v1"]


def test_several_verdicts_are_kept_in_their_order(store: Store) -> None:
    store.record_verdict(verdict("before"), _key("b"))
    rows = [(verdict(f"v{number}"), _key(f"k{number}") if number % 2 else None) for number in range(5)]
    kept = store.record_verdicts(rows)
    assert kept == [Kept(record.id, place) for place, (record, _) in enumerate(rows, start=2)]
    assert store.verdicts(ALL, after=1) == [replace(row, sequence=at) for at, (row, _) in enumerate(rows, start=2)]
    assert [event.subject for event in store.events(after=1)] == [record.id for record, _ in rows]
    assert store.idempotent(_key("k3")) == replace(rows[3][0], sequence=5)
    assert store.record_verdicts([]) == []


def test_those_that_were_kept_before_are_handed_back_and_conflicts_hold_up_nobody(store: Store) -> None:
    first = store.record_verdict(verdict("v1"), _key("k1"))
    kept = store.record_verdicts(
        [
            (verdict("x1"), _key("k1")),
            (verdict("x2"), _key("k1", "another body")),
            (verdict("x3"), _key("k3")),
            (verdict("x4"), _key("k3")),
        ]
    )
    assert kept[0] == Kept(first.id, 1)
    assert isinstance(kept[1], IdempotencyConflictError)
    assert kept[2] == kept[3] == Kept("x3", 2)
    assert [one.id for one in store.verdicts(ALL)] == ["v1", "x3"]


def test_verdicts_that_are_kept_together_are_all_kept_or_none(store: Store) -> None:
    first = store.record_verdict(verdict("v1"), _key("k1"))
    rows = [(verdict("x1"), _key("k2")), (verdict("x2"), _key("k1", "another body"))]
    with pytest.raises(IdempotencyConflictError):
        store.record_verdicts(rows, together=True)
    assert store.verdicts(ALL) == [first]
    again = store.record_verdicts([(verdict("x1"), _key("k2")), (verdict("x2"), _key("k1"))], together=True)
    assert again == [Kept("x1", 2), Kept("v1", 1)]


def test_verdicts_that_break_off_while_they_are_handed_over_are_not_kept(store: Store) -> None:
    def broken() -> Iterator[tuple[VerdictRecord, Idempotency | None]]:
        yield verdict("x1"), None
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        store.record_verdicts(broken())
    assert (store.verdicts(ALL), store.events()) == ([], [])
    assert store.record_verdict(verdict("next")).sequence == 1


@pytest.mark.parametrize("bad", [verdict("v1"), verdict("x2", digest=""), verdict("x2", release=9)])
def test_one_verdict_that_cannot_be_kept_keeps_out_all_of_them(store: Store, bad: VerdictRecord) -> None:
    store.record_verdict(verdict("v1"))
    with pytest.raises(StoreError):
        store.record_verdicts([(verdict("x1"), _key("k1")), (bad, None), (verdict("x3"), None)])
    assert [one.id for one in store.verdicts(ALL)] == ["v1"]
    assert store.idempotent(_key("k1")) is None
    assert len(store.events()) == 1

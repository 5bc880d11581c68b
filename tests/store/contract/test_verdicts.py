"""Verdicts and idempotency keys: kept once, whole, in order."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.store.contract.refusing import refused
from tests.store.samples import NOON, SECOND, publish, revision, verdict
from turnrule.judging.words import Axle, Kind, Ruling, Side
from turnrule.store.port import (
    Idempotency,
    IdempotencyConflictError,
    NameTakenError,
    Store,
    VerdictQuery,
    VerdictRecord,
)

ALL = VerdictQuery()


def _ids(store: Store, query: VerdictQuery) -> list[str]:
    return [record.id for record in store.verdicts(query)]


def test_a_verdict_comes_back_as_it_was_given_with_its_sequence(store: Store) -> None:
    publish(store, revision("L1"))
    full = verdict("v1", release=1, limits_id="L1", limits_revision=1)
    bare = verdict(
        "v2",
        site=None,
        make=None,
        model=None,
        year=None,
        axle=None,
        side=None,
        vehicle=None,
        odometer_km=None,
        reference=None,
    )
    assert store.record_verdict(full) == replace(full, sequence=1)
    assert store.record_verdict(replace(bare, sequence=77)) == replace(bare, sequence=2)
    assert store.verdict("v1") == replace(full, sequence=1)
    assert store.verdict("v2") == replace(bare, sequence=2)
    assert store.verdict("v3") is None


def test_request_and_answer_are_kept_byte_by_byte(store: Store) -> None:
    request, rest = bytes(range(256)), b' { "digest" :"sha256:v1"}\n'
    store.record_verdict(verdict("v1", request=request, answer=rest))
    found = store.verdict("v1")
    assert found is not None
    assert (found.request, found.answer) == (request, rest)


@pytest.mark.parametrize("ruling", Ruling)
@pytest.mark.parametrize("kind", Kind)
def test_every_ruling_and_kind_can_be_kept(store: Store, ruling: Ruling, kind: Kind) -> None:
    for axle in Axle:
        for side in Side:
            kept = store.record_verdict(verdict(f"{axle} {side}", ruling=ruling, kind=kind, axle=axle, side=side))
            assert store.verdict(kept.id) == kept


def test_a_second_verdict_of_the_same_id_is_refused_and_the_first_one_stays(store: Store) -> None:
    first = store.record_verdict(verdict("v1"))
    with pytest.raises(NameTakenError):
        store.record_verdict(verdict("v1", ruling=Ruling.REPLACE), Idempotency("counter", "k", "body"))
    assert store.verdicts(ALL) == [first]
    assert store.idempotent(Idempotency("counter", "k", "body")) is None
    assert store.record_verdict(verdict("v2")).sequence == 2


@pytest.mark.parametrize(
    "bad",
    [
        verdict(""),
        verdict(key_name=""),
        verdict(side="middle"),
        verdict(year=0),
        verdict(odometer_km=Decimal(-1)),
        verdict(odometer_km=Decimal("NaN")),
        verdict(odometer_km=Decimal("1E+90")),
        verdict(judged_at=NOON.replace(tzinfo=None)),
        verdict(release=1),
        verdict(limits_id="L1"),
        verdict(limits_id="L1", limits_revision=1),
        verdict(request=b""),
        verdict(answer=b""),
        verdict(engine=""),
        verdict(digest=""),
        verdict(policy_revision=2**63),
        verdict(vehicle="a lone surrogate \udfff"),
    ],
)
def test_a_verdict_that_cannot_be_kept_whole_is_refused_with_its_key(store: Store, bad: VerdictRecord) -> None:
    idempotency = Idempotency("counter", "k", "body")
    with refused():
        store.record_verdict(bad, idempotency)
    assert store.verdicts(ALL) == []
    assert store.idempotent(idempotency) is None
    assert store.record_verdict(verdict("v1"), idempotency).sequence == 1


@given(text=st.text(st.characters(exclude_categories=["Cs"]), min_size=1), number=st.decimals(0, 10**9, places=6))
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_and_any_distance_come_back_equal(store: Store, text: str, number: Decimal) -> None:
    name = f"v{len(store.verdicts(ALL, limit=1000))}"
    if text.startswith("\x00"):
        # Text that begins with NUL is nothing to a database that counts up to one; it is refused or kept whole.
        text = f"-{text}"
    kept = store.record_verdict(verdict(name, vehicle=text, reference=text, site=text, odometer_km=number))
    assert store.verdict(name) == kept
    assert kept.odometer_km == number
    assert kept.id in {record.id for record in store.verdicts(VerdictQuery(vehicle=text), limit=1000)}


def test_the_same_key_and_body_answer_with_the_first_record_and_write_nothing(store: Store) -> None:
    idempotency = Idempotency("counter", "k", "body")
    first = store.record_verdict(verdict("v1"), idempotency)
    again = store.record_verdict(verdict("v2", ruling=Ruling.REPLACE), idempotency)
    assert again == first
    assert store.idempotent(idempotency) == first
    assert store.verdicts(ALL) == [first]
    assert store.record_verdict(verdict("v3")).sequence == 2


def test_the_same_key_with_another_body_is_a_conflict_and_writes_nothing(store: Store) -> None:
    first = store.record_verdict(verdict("v1"), Idempotency("counter", "k", "body"))
    other = Idempotency("counter", "k", "another body")
    with pytest.raises(IdempotencyConflictError):
        store.record_verdict(verdict("v2"), other)
    with pytest.raises(IdempotencyConflictError):
        store.idempotent(other)
    assert store.verdicts(ALL) == [first]


def test_an_idempotency_key_belongs_to_the_api_key_that_sent_it(store: Store) -> None:
    first = store.record_verdict(verdict("v1"), Idempotency("counter", "k", "body"))
    second = store.record_verdict(verdict("v2"), Idempotency("office", "k", "another body"))
    assert store.idempotent(Idempotency("counter", "k", "body")) == first
    assert store.idempotent(Idempotency("office", "k", "another body")) == second
    assert store.idempotent(Idempotency("nobody", "k", "body")) is None
    assert store.idempotent(Idempotency("counter", "K", "body")) is None


def test_a_query_matches_each_field_that_it_names(store: Store) -> None:
    for record in (
        verdict("base"),
        verdict("site", site="south depot"),
        verdict("ruling", ruling=Ruling.REPLACE),
        verdict("kind", kind=Kind.DRUM),
        verdict("make", make="Tarn"),
        verdict("model", model="Pell"),
        verdict("vehicle", vehicle="unit 7"),
        verdict("reference", reference="job 8"),
        verdict("none", site=None, make=None, model=None, vehicle=None, reference=None),
    ):
        store.record_verdict(record)
    assert _ids(store, VerdictQuery(site="south depot")) == ["site"]
    assert _ids(store, VerdictQuery(ruling=Ruling.REPLACE)) == ["ruling"]
    assert _ids(store, VerdictQuery(kind=Kind.DRUM)) == ["kind"]
    assert _ids(store, VerdictQuery(make=" tARN ")) == ["make"]
    assert _ids(store, VerdictQuery(model="pell")) == ["model"]
    assert _ids(store, VerdictQuery(vehicle="unit 7")) == ["vehicle"]
    assert _ids(store, VerdictQuery(reference="job 8")) == ["reference"]
    assert _ids(store, VerdictQuery(make="Corvane", model="Ostrel", site="south depot")) == ["site"]
    assert _ids(store, VerdictQuery(make="Tarn", model="Pell")) == []
    assert len(_ids(store, ALL)) == 9


def test_since_is_included_and_until_is_not(store: Store) -> None:
    for number in (3, 0, 1, 2):  # a clock that was set back does not change the order of commit
        store.record_verdict(verdict(f"at {number}", judged_at=NOON + number * SECOND))
    assert _ids(store, ALL) == ["at 3", "at 0", "at 1", "at 2"]
    assert _ids(store, VerdictQuery(since=NOON + SECOND)) == ["at 3", "at 1", "at 2"]
    assert _ids(store, VerdictQuery(until=NOON + SECOND)) == ["at 0"]
    assert _ids(store, VerdictQuery(since=NOON + SECOND, until=NOON + 3 * SECOND)) == ["at 1", "at 2"]
    assert _ids(store, VerdictQuery(since=NOON + 4 * SECOND)) == []
    page = store.verdicts(VerdictQuery(since=NOON + SECOND), after=1, limit=1)
    assert [record.id for record in page] == ["at 1"]


def test_pages_of_verdicts_meet_without_a_gap_while_more_are_recorded(store: Store) -> None:
    for number in range(10):
        store.record_verdict(verdict(f"v{number}", site="north depot" if number % 2 else "south depot"))
    seen: list[VerdictRecord] = []
    while page := store.verdicts(VerdictQuery(site="north depot"), after=seen[-1].sequence if seen else 0, limit=2):
        seen += page
        if len(seen) < 8:
            store.record_verdict(verdict(f"later {len(seen)}"))
    assert [record.id for record in seen] == ["v1", "v3", "v5", "v7", "v9", "later 2", "later 4", "later 6"]
    assert store.verdicts(ALL, limit=0) == []
    assert store.verdicts(ALL, limit=-1) == []

"""Lathes, kept revision by revision; axle verdicts, kept with their sides or not at all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.store.contract.refusing import refused
from tests.store.entries import once
from tests.store.samples import NOON, SECOND, axle, lathe, verdict
from turnrule.judging.words import Kind, Ruling
from turnrule.store.errors import IdempotencyConflictError
from turnrule.store.port import AxleRecord, LatheRevision, NameTakenError, Store, StoreError, VerdictQuery
from turnrule.store.reference_port import AnsweredBeforeError, Idempotency

ALL = VerdictQuery()
LEFT, RIGHT = verdict("l1"), verdict("r1", side="right")


def test_lathes_keep_every_revision_byte_by_byte(store: Store) -> None:
    first = lathe("bench_2", 1, document=b'{ "unit":"mm",\n "nose_radius": 0.40 }')
    second = lathe("bench_2", 2, written_at=NOON + SECOND)
    other = lathe("at_the_wheel", 4)
    for one in (first, second, other):
        store.save_lathe(one)
    assert store.lathe("bench_2", 1) == first
    assert store.lathe("bench_2", 2) == second
    assert store.lathe("bench_2") == second
    assert store.lathe("bench_2", 3) is None
    assert store.lathe("nobody") is None
    assert store.lathes() == [other, second]


@pytest.mark.parametrize(("number", "error"), [(2, NameTakenError), (3, StoreError), (4, NameTakenError)])
def test_a_lathe_revision_that_is_stored_or_not_newer_is_refused(
    store: Store, number: int, error: type[StoreError]
) -> None:
    rows = [lathe("bench_2", 2), lathe("bench_2", 4)]
    for row in rows:
        store.save_lathe(row)
    with pytest.raises(error):
        store.save_lathe(lathe("bench_2", number, written_by="somebody else"))
    assert store.lathes() == [rows[1]]
    assert store.lathe("bench_2", 2) == rows[0]


@pytest.mark.parametrize(
    "bad", [lathe(""), lathe(number=0), lathe(document=b""), lathe(document=b"{"), lathe(written_by="")]
)
def test_a_lathe_that_is_no_document_or_has_no_author_is_refused(store: Store, bad: LatheRevision) -> None:
    with refused():
        store.save_lathe(bad)
    assert store.lathes() == []


def test_a_verdict_keeps_its_lathe_and_the_readings_that_were_drawn(store: Store) -> None:
    store.save_lathe(lathe("bench_2", 1))
    full = verdict("v1", lathe_name="bench_2", lathe_revision=1, drawn=b'[{"size": "25.10"}]')
    assert store.record_verdict(full) == replace(full, sequence=1)
    assert store.verdict("v1") == replace(full, sequence=1)
    for unknown in (("bench_2", 2), ("nobody", 1)):
        with refused():
            store.record_verdict(verdict("v2", lathe_name=unknown[0], lathe_revision=unknown[1]))
    with refused():
        store.record_verdict(verdict("v2", axle_id="never stored"))
    assert [one.id for one in store.verdicts(ALL)] == ["v1"]


def test_an_axle_comes_back_with_its_sides_which_name_it(store: Store) -> None:
    store.record_verdict(verdict("before"))
    kept = store.record_axle(axle("a1"), [LEFT, RIGHT])
    assert kept == axle("a1", sequence=1)
    assert store.axle("a1") == kept
    assert store.axle("a2") is None
    sides = store.verdicts(VerdictQuery(axle_id="a1"))
    assert sides == [replace(LEFT, axle_id="a1", sequence=2), replace(RIGHT, axle_id="a1", sequence=3)]
    assert store.verdicts(VerdictQuery(side="right")) == sides[1:]
    assert store.record_axle(axle("a2", None, "r2"), [replace(RIGHT, id="r2")]).sequence == 2
    assert store.record_axle(axle("a3", "l3", None), [replace(LEFT, id="l3")]).sequence == 3


@pytest.mark.parametrize(
    ("bad", "sides"),
    [
        (axle("a1", None, None), []),
        (axle("a1", None, None), [LEFT]),
        (axle("a1", "l1", "l1"), [LEFT]),
        (axle("a1", "l1", "r1"), [LEFT]),
        (axle("a1", "r1", "l1"), [LEFT, RIGHT]),
        (axle("a1", "l1", None), [replace(LEFT, digest="")]),
        (axle(""), [LEFT, RIGHT]),
        (axle(site=""), [LEFT, RIGHT]),
        (axle(digest=""), [LEFT, RIGHT]),
        (axle(answer=b""), [LEFT, RIGHT]),
        (axle(judged_at=NOON.replace(tzinfo=None)), [LEFT, RIGHT]),
    ],
)
def test_an_axle_that_does_not_fit_its_sides_leaves_nothing_behind(
    store: Store, bad: AxleRecord, sides: list[object]
) -> None:
    with refused():
        store.record_axle(bad, sides, once("k"))  # type: ignore[arg-type]  # verdicts, mixed with axles by the list
    assert (store.axles(), store.verdicts(ALL)) == ([], [])
    assert store.answered(Idempotency("counter", "k", "body")) is None
    assert store.record_verdict(verdict("next")).sequence == 1


@pytest.mark.parametrize("taken", ["a1", "l1", "r1"])
def test_an_id_that_is_taken_leaves_everything_as_it_was(store: Store, taken: str) -> None:
    kept = store.record_axle(axle("a1"), [LEFT, RIGHT])
    names = {"a1": "a2", "l1": "l2", "r1": "r2"} | {taken: taken}
    sides = [replace(LEFT, id=names["l1"]), replace(RIGHT, id=names["r1"])]
    with pytest.raises(NameTakenError):
        store.record_axle(axle(names["a1"], names["l1"], names["r1"]), sides)
    assert store.axles() == [kept]
    assert len(store.verdicts(ALL)) == 2


def test_an_axle_that_was_asked_for_before_is_answered_as_before(store: Store) -> None:
    store.record_axle(axle("a1"), [LEFT, RIGHT], once("k"))
    with pytest.raises(AnsweredBeforeError) as caught:
        store.record_axle(axle("a2", "l2", None), [replace(LEFT, id="l2")], once("k"))
    assert caught.value.kept == store.answered(Idempotency("counter", "k", "body"))
    with pytest.raises(IdempotencyConflictError):
        store.answered(Idempotency("counter", "k", "another body"))
    assert [one.id for one in store.axles()] == ["a1"]


def test_axles_are_listed_in_order_by_site_and_vehicle(store: Store) -> None:
    for number, (site, vehicle) in enumerate([("north depot", "u1"), (None, "u2"), ("south", "u1"), ("south", None)]):
        side = verdict(f"l{number}", site=site, vehicle=vehicle)
        about = axle(f"a{number}", side.id, None, site=site, vehicle=vehicle, ruling=Ruling.REPLACE, kind=Kind.DRUM)
        store.record_axle(about, [side])
    asked = {
        "all": store.axles(),
        "south": store.axles(site="south"),
        "u1": store.axles(vehicle="u1"),
        "both": store.axles(site="south", vehicle="u1"),
        "page": store.axles(after=1, limit=2),
        "none": store.axles(limit=0),
    }
    assert {name: [one.id for one in found] for name, found in asked.items()} == {
        "all": ["a0", "a1", "a2", "a3"],
        "south": ["a2", "a3"],
        "u1": ["a0", "a2"],
        "both": ["a2"],
        "page": ["a1", "a2"],
        "none": [],
    }

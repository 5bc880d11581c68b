"""What the first page of the README promises, on the real service and the real store."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.callers import Caller
from tests.api.conftest import Joining
from tests.api.entering import BREN, Person
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.store.port import VerdictQuery

BRENNOR = {"make": "Brennor", "model": "Tavik", "year": 2018, "axle": "front"}


def test_a_verdict_that_cannot_be_stored_is_not_answered(shop: Caller, desk: Desk, tmp_path: Path) -> None:
    """Another process holds the store's only write lock for longer than the service waits."""
    holder = sqlite3.connect(tmp_path / "store.sqlite", isolation_level=None)
    try:
        holder.execute("BEGIN IMMEDIATE")
        refused = shop.post("/v1/verdicts", EXAMPLE)
        assert refused.status_code == 503
        assert refused.mimetype == "application/problem+json"
        assert refused.headers["Retry-After"]
        assert "verdict" not in refused.get_json()
        assert not desk.store.verdicts(VerdictQuery())
        holder.execute("ROLLBACK")
    finally:
        holder.close()
    assert not desk.store.verdicts(VerdictQuery())
    assert shop.post("/v1/verdicts", EXAMPLE).status_code == 201


def test_a_verdict_is_stored_before_it_is_answered(shop: Caller, tmp_path: Path) -> None:
    """What was answered is there for another connection at once, byte for byte."""
    answered = shop.post("/v1/verdicts", EXAMPLE)
    other = sqlite3.connect(tmp_path / "store.sqlite")
    try:
        [(kept,)] = other.execute("SELECT answer FROM verdicts WHERE id = ?", (answered.get_json()["id"],))
    finally:
        other.close()
    assert kept == answered.data


@pytest.mark.parametrize(
    ("field", "value", "status"),
    [
        ("unit", None, 422),
        ("thickness", ["25.02"], 422),
        ("thickness", [], 422),
        ("application", {"make": "Nobody", "model": "Ostrel", "year": 2022, "axle": "front"}, 422),
    ],
)
def test_a_missing_unit_or_record_or_an_unreadable_number_never_passes(
    shop: Caller, desk: Desk, field: str, value: object, status: int
) -> None:
    body = json.loads(EXAMPLE)
    body[field] = value
    if value is None:
        del body[field]
    assert shop.post("/v1/verdicts", json.dumps(body)).status_code == status
    assert not desk.store.verdicts(VerdictQuery())


def test_a_missing_reading_leaves_the_verdict_open(shop: Caller) -> None:
    body = json.loads(EXAMPLE)
    del body["thickness"]
    assert shop.post("/v1/verdicts", json.dumps(body)).get_json()["verdict"] == "inconclusive"


def test_every_limit_leads_to_its_document_two_entries_and_a_release(join: Joining) -> None:
    """From the request to the page of the document, through the service alone; no key makes both entries."""
    first = Person(join("limits:write", "limits:verify", "admin"))
    second, shop = Person(join("limits:verify", "releases:publish")), join("verdicts")
    limits_id = first.enter().get_json()["limits_id"]
    alone = first.verify(limits_id)
    assert (alone.status_code, alone.get_json()["type"]) == (403, "/problems/second_person_needed")
    assert second.publish().status_code == 409
    assert second.verify(limits_id).status_code == 201
    release = second.publish().get_json()["number"]

    judged = shop.post("/v1/verdicts", write_exact(json.loads(EXAMPLE) | {"application": BRENNOR})).get_json()
    assert judged["release"] == release
    limits = judged["limits"]
    assert (limits["limits_id"], limits["revision"]) == (limits_id, 1)
    assert limits["source"] == BREN["source"]
    record = shop.get(f"/v1/limits/{limits_id}?revision=1").get_json()
    assert record["source"] == BREN["source"]
    assert record["entered_by"] != record["verified_by"]
    assert release in {one["number"] for one in shop.get("/v1/releases").get_json()["items"]}


def test_a_withdrawn_limit_serves_no_more_and_its_verdicts_are_listed(shop: Caller, join: Joining) -> None:
    """At once, without a release, and for those who ask under an older one too."""
    before = shop.post("/v1/verdicts", EXAMPLE).get_json()
    limits_id = before["limits"]["limits_id"]
    withdrawn = Person(join("limits:verify")).withdraw(limits_id, "read in the table of the rear axle")
    assert withdrawn.status_code == 201
    for release in ({}, {"release": before["release"]}):
        after = shop.post("/v1/verdicts", write_exact(json.loads(EXAMPLE) | release)).get_json()
        assert after["verdict"] == "inconclusive"
        assert "limits_record" in after["missing"]
        assert "read in the table of the rear axle" in str(after["cautions"])
    touched = shop.get(f"/v1/verdicts?limits_id={limits_id}").get_json()["items"]
    assert [one["id"] for one in touched] == [before["id"]]

"""What the first page of the README promises, on the real service and the real store."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller
from turnrule.actions.desk import Desk
from turnrule.store.port import VerdictQuery


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

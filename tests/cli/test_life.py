"""The life that is left, without a server: by the readings of the request and by those that a store holds."""

from __future__ import annotations

import json
from pathlib import Path

from tests.api.bodies import EXAMPLE_LIMITS, exact
from tests.api.callers import START
from tests.cli.running import turnrule
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.actions.publishing import as_revisions
from turnrule.api.impact import read_stored
from turnrule.api.limits_schemas import read_limits
from turnrule.pack import load_pack
from turnrule.store.port import Key
from turnrule.store.sqlite import open_sqlite

KEY = Key("caller", "", frozenset({"verdicts"}), None, START)


def asking(thickness: float, odometer: int, **more: object) -> bytes:
    """A request about the left front rotor of an invented unit."""
    body = {
        "unit": "mm",
        "kind": "rotor",
        "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
        "side": "left",
        "thickness": [thickness] * 4,
        "lateral_runout": 0,
        "vehicle": {"label": "unit 114", "odometer": {"value": odometer, "unit": "km"}},
    }
    return json.dumps(body | more).encode()


def test_stored_history_is_drawn_from_the_store_that_there_is(tmp_path: Path) -> None:
    """0.4 mm in 10,000 km, and 0.6 mm left above discard."""
    store = open_sqlite(tmp_path / "turnrule.sqlite")
    store.migrate()
    rows = as_revisions([read_limits(exact(EXAMPLE_LIMITS))], entered_by="anna", verified_by="bert")
    store.publish(rows, published_at=START, published_by="office", notes="")
    desk = Desk(store, load_pack(), lambda: START, new_id)
    for thickness, odometer in ((25.4, 10_000), (25.0, 20_000)):
        body = asking(thickness, odometer)
        judge_part(desk, read_stored(body), Sent(KEY, body))
    store.close()
    (tmp_path / "part.json").write_bytes(asking(24.6, 30_000, stored_history=True))
    ran = turnrule("judge", "part.json", folder=tmp_path)
    assert ran.code == 0, ran.err
    life = json.loads(ran.out)["life"]
    assert life["remaining_distance"] == {"value": 15_000, "unit": "km"}
    assert len(life["history"]) == 3


def test_without_a_store_there_is_nothing_to_draw_and_the_requests_own_readings_serve(tmp_path: Path) -> None:
    told = [{"thickness": 25.4, "odometer": {"value": 10_000, "unit": "km"}}]
    (tmp_path / "part.json").write_bytes(asking(24.6, 30_000, stored_history=True, history=told))
    ran = turnrule("judge", "--table", "part.json", folder=tmp_path)
    assert ran.code == 0, ran.err
    assert "distance left: 15000 km; at least, with 95 %: not told" in ran.out
    assert "request" in ran.out

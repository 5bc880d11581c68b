"""The life that is left, over HTTP: readings of the request and of stored verdicts, kept for ever as they were used."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS, changed
from tests.api.conftest import Caller, Clock, Joining
from turnrule.actions.answers import document_of
from turnrule.actions.desk import Desk
from turnrule.actions.drawing_history import MOST_DRAWN, as_kept, with_drawn
from turnrule.actions.impact import Differ, ImpactLine, impact
from turnrule.actions.judging_parts import reach
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.actions.publishing import as_revisions
from turnrule.actions.requests import ReadRequest
from turnrule.api.impact import read_stored
from turnrule.api.limits_schemas import read_limits
from turnrule.store.port import VerdictRecord

D = Decimal
GOOD: dict[str, Any] = {"lateral_runout": 0, "groove_depth": {"inboard": 0, "outboard": 0}, "findings": []}


def asking(thickness: str, odometer: int, *, unit: str = "mm", label: str = "unit 114", **more: object) -> bytes:
    """A request about the left front rotor of a unit, of one thickness all round; nothing asks for a cut."""
    vehicle = {"label": label, "odometer": {"value": odometer, "unit": "km"}}
    scale = D(1) if unit == "mm" else D("25.4")
    body = changed(EXAMPLE, unit=unit, thickness=[D(thickness)] * 4, vehicle=vehicle, **(GOOD | more))
    del body["cut"]
    body["marking"] = D("25.4") / scale if unit == "in" else D(24)
    body["instrument"] = {}
    if unit == "in":
        del body["marking"]
    return write_exact(body)


def judged(caller: Caller, *asked: Any, **more: Any) -> dict[str, Any]:  # noqa: ANN401 - as `asking` takes them
    """The answer to such a request."""
    response = caller.post("/v1/verdicts", asking(*asked, **more))
    assert response.status_code == 201, response.get_json()
    answer: dict[str, Any] = read_exact(response.data)
    return answer


def faults(response: TestResponse) -> set[tuple[str, str]]:
    """Pointer and code of every fault."""
    return {(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]}


def record_of(desk: Desk, answer: dict[str, Any]) -> VerdictRecord:
    """The record of an answer."""
    record = desk.store.verdict(answer["id"])
    assert record is not None
    return record


def origins(answer: dict[str, Any]) -> list[tuple[str, str | None]]:
    """Where each reading comes from, and why it is left out."""
    return [(one["origin"], one["left_out"]) for one in answer["life"]["history"]]


def test_a_request_that_gives_nothing_for_it_gets_no_life(shop: Caller, desk: Desk) -> None:
    answer = judged(shop, "25.5", 30_000)
    assert answer["life"] is None
    assert record_of(desk, answer).drawn is None


def test_earlier_verdicts_on_the_same_part_tell_its_life(shop: Caller) -> None:
    """0.4 mm in 10,000 km; 1 mm above discard is 25,000 km, exactly, whatever the unit was."""
    first = judged(shop, "25.8", 10_000)
    second = judged(shop, "1", 20_000, unit="in")
    answer = judged(shop, "25", 30_000, stored_history=True, services={"interval": {"value": 15000, "unit": "km"}})
    life = answer["life"]
    assert [(one["origin"], one["thickness"]) for one in life["history"]] == [
        (first["id"], D("25.8")),
        (second["id"], D("25.4")),
        ("today", D(25)),
    ]
    assert life["wear_per_1000_km"] == D("0.04")
    assert life["remaining_distance"] == life["remaining_distance_at_least"] == {"value": D(25_000), "unit": "km"}
    assert answer["figures"]["remaining_distance"] == life["remaining_distance"]
    assert life["services"]["count"] == 1
    assert life["services"]["last_reached"] == {"value": D(45_000), "unit": "km"}


def test_only_records_of_the_very_same_part_are_drawn(shop: Caller) -> None:
    drawn = judged(shop, "25.8", 10_000)
    judged(shop, "25.1", 10_000, side="right")
    judged(shop, "25.1", 10_000, label="unit 115")
    judged(shop, "25.1", 40_000)
    other = changed(EXAMPLE, application={"make": "Corvane", "model": "Tarn", "year": 2022, "axle": "front"})
    other["limits"] = {"discard_thickness": 24}
    assert shop.post("/v1/verdicts", write_exact(other)).status_code == 201
    unread = changed(EXAMPLE)
    del unread["thickness"]
    assert shop.post("/v1/verdicts", write_exact(unread)).status_code == 201
    answer = judged(shop, "25", 30_000, stored_history=True)
    assert origins(answer) == [(drawn["id"], None), ("today", None)]


def test_a_key_that_is_bound_to_a_site_draws_from_that_site_alone(join: Joining) -> None:
    north, south, office = join("verdicts", site="north"), join("verdicts", site="south"), join("verdicts")
    seen, hidden = judged(north, "25.8", 10_000), judged(south, "25.6", 15_000)
    assert origins(judged(north, "25", 30_000, stored_history=True)) == [(seen["id"], None), ("today", None)]
    everything = origins(judged(office, "25", 31_000, stored_history=True))
    assert [origin for origin, _ in everything[:2]] == [seen["id"], hidden["id"]]


def test_what_was_read_before_the_last_machining_is_another_line(shop: Caller) -> None:
    """The finished rotor lost metal to the lathe, not to the road: 0.2 mm in 10,000 km since."""
    before = [judged(shop, "25.9", 5_000), judged(shop, "25.8", 10_000)]
    finished = judged(shop, "25.4", 10_000, stage="after_machining")
    since = judged(shop, "25.2", 20_000)
    told = {"thickness": 26, "odometer": {"value": 1000, "unit": "km"}}
    answer = judged(shop, "25", 30_000, stored_history=True, history=[told])
    assert origins(answer) == [
        *((one["id"], "machined_since") for one in before),
        (finished["id"], None),
        (since["id"], None),
        ("request", "machined_since"),
        ("today", None),
    ]
    assert answer["life"]["wear_per_1000_km"] == D("0.02")
    assert answer["life"]["readings_used"] == 3


def test_readings_of_the_request_and_of_the_store_are_fitted_together(shop: Caller) -> None:
    stored = judged(shop, "25.4", 20_000)
    told = {"thickness": D("25.8"), "odometer": {"value": 10_000, "unit": "km"}, "date": "2025-01-31"}
    answer = judged(shop, "25", 30_000, stored_history=True, history=[told])
    assert origins(answer) == [(stored["id"], None), ("request", None), ("today", None)]
    assert answer["life"]["history"][1]["date"] == "2025-01-31"
    assert answer["life"]["readings_used"] == 3


def test_the_newest_hundred_are_drawn(shop: Caller) -> None:
    first = judged(shop, "25.9", 1)
    for odometer in range(2, 2 + MOST_DRAWN):
        judged(shop, "25.5", odometer)
    history = judged(shop, "25.5", 30_000, stored_history=True)["life"]["history"]
    assert len(history) == MOST_DRAWN + 1
    assert first["id"] not in {one["origin"] for one in history}


def test_what_was_drawn_is_kept_and_judging_again_gives_the_same_bytes(shop: Caller, desk: Desk) -> None:
    first = judged(shop, "25.8", 10_000)
    answer = judged(shop, "25", 30_000, stored_history=True)
    judged(shop, "25.7", 15_000)
    record = record_of(desk, answer)
    assert record.drawn is not None
    assert [one["verdict"] for one in read_exact(record.drawn)] == [first["id"]]
    request = read_stored(record.request)
    again = reach(desk, request, record.judged_at, drawn=record.drawn)
    document = document_of(again.verdict, request.part, again.source, again.basis)
    assert write_exact(document)[1:-1] in record.answer
    anew = reach(desk, request, record.judged_at)
    assert len(anew.drawn or ()) == 3
    assert as_kept(with_drawn(request, record.drawn).part.drawn) == record.drawn


def test_a_replay_uses_what_was_drawn_then(shop: Caller) -> None:
    judged(shop, "25.8", 10_000)
    answer = judged(shop, "25", 30_000, stored_history=True)
    judged(shop, "25.2", 12_000)
    replayed = shop.post(f"/v1/verdicts/{answer['id']}/replays", "{}")
    assert replayed.status_code == 200
    assert replayed.get_json()["identical"] is True


def test_what_was_asked_for_and_not_found_is_kept_as_nothing(shop: Caller, desk: Desk) -> None:
    answer = judged(shop, "25", 30_000, stored_history=True)
    assert record_of(desk, answer).drawn == b"[]"
    assert answer["life"]["untold"] == ["too_few_readings"]
    judged(shop, "25.8", 10_000)
    again = reach(desk, read_stored(record_of(desk, answer).request), START_OF_DAY, drawn=b"[]")
    assert again.drawn == ()


START_OF_DAY = datetime.datetime(2026, 11, 2, tzinfo=datetime.UTC)


def test_the_impact_of_a_release_uses_what_was_drawn_then(shop: Caller, desk: Desk, clock: Clock) -> None:
    """A later record of an earlier odometer would change the line; the verdict that did not know it is not touched."""
    judged(shop, "25.8", 10_000)
    asked = judged(shop, "25", 30_000, stored_history=True)
    judged(shop, "25.2", 12_000)
    clock.move(days=1)
    wider = as_revisions(
        [read_limits(changed(EXAMPLE_LIMITS, maximum_lateral_runout=D("0.06")))], entered_by="anna", verified_by="bert"
    )
    limits_id = record_of(desk, asked).limits_id
    assert limits_id is not None
    rows = [replace(row, limits_id=limits_id, revision=2) for row in wider]
    release = desk.store.publish(rows, published_at=desk.clock(), published_by="test", notes="")
    walked = impact(desk, read_stored, release.number, 0, differ=Differ.ANYTHING)
    differs = {line.verdict.id: line.differs for line in walked if isinstance(line, ImpactLine)}
    assert set(differs[asked["id"]]) == {"checks", "limits"}


def test_everything_that_stored_history_needs_is_asked_for_at_once(shop: Caller) -> None:
    body = changed(EXAMPLE, stored_history=True)
    del body["application"], body["side"], body["vehicle"]
    response = shop.post("/v1/verdicts", write_exact(body))
    assert response.status_code == 422
    assert {
        ("/vehicle/label", "missing"),
        ("/vehicle/odometer", "missing"),
        ("/application", "missing"),
        ("/side", "missing"),
    } <= faults(response)


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"services": {}}, ("/services", "interval_or_odometers")),
        ({"services": {"interval": {"value": 0, "unit": "km"}}}, ("/services/interval/value", "out_of_range")),
        (
            {"services": {"interval": {"value": 9, "unit": "km"}, "last": {"value": 30_001, "unit": "km"}}},
            ("/services/last", "out_of_range"),
        ),
        (
            {"services": {"at": [{"value": 40_000, "unit": "km"}], "last": {"value": 1, "unit": "km"}}},
            ("/services/last", "last_without_interval"),
        ),
        (
            {"when_new": {"thickness": 26, "odometer": {"value": 30_001, "unit": "km"}}},
            ("/when_new/odometer", "out_of_range"),
        ),
        (
            {"when_new": {"thickness": 1, "odometer": {"value": 0, "unit": "km"}}},
            ("/when_new/thickness", "unit_mismatch"),
        ),
        ({"when_new": {"diameter": 260, "odometer": {"value": 0, "unit": "km"}}}, ("/when_new/diameter", "")),
        ({"stored_history": "yes"}, ("/stored_history", "wrong_type")),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(shop: Caller, more: dict[str, Any], fault: tuple[str, str]) -> None:
    response = shop.post("/v1/verdicts", asking("25", 30_000, **more))
    assert response.status_code == 422
    pointer, code = fault
    assert any(one[0] == pointer and code in {"", one[1]} for one in faults(response)), faults(response)


@pytest.mark.parametrize(
    "more",
    [
        {"services": {"interval": {"value": 15_000, "unit": "km"}}},
        {"when_new": {"thickness": 26, "odometer": {"value": 0, "unit": "km"}}},
    ],
)
def test_life_needs_todays_odometer(shop: Caller, more: dict[str, Any]) -> None:
    body = changed(EXAMPLE, vehicle={"label": "unit 114"}, **more)
    response = shop.post("/v1/verdicts", write_exact(body))
    assert faults(response) == {("/vehicle/odometer", "missing")}


def test_a_part_that_was_new_at_a_known_size_needs_one_reading(shop: Caller) -> None:
    new = {"thickness": 26, "odometer": {"value": 5_000, "unit": "km"}}
    life = judged(shop, "25.5", 30_000, when_new=new)["life"]
    assert life["remaining_distance"] == {"value": D(75_000), "unit": "km"}
    assert (life["remaining_distance_at_least"], life["untold"]) == (None, ["too_few_for_bound"])


def test_a_request_read_without_a_vehicle_draws_nothing(shop: Caller, desk: Desk) -> None:
    """Whoever builds a request without the reader gets what can be told, and no other vehicle's readings."""
    judged(shop, "25.8", 10_000)
    request = read_stored(asking("25", 30_000, stored_history=True))
    nobody: ReadRequest = replace(request, vehicle=None)
    assert reach(desk, nobody, START_OF_DAY).drawn == ()

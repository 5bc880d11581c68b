"""Checks of quotes over the API: stored verdicts and new ones, every fault at once, either unit, nothing stored."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS, changed, exact
from tests.api.callers import Clock
from tests.api.conftest import Caller, Joining, People
from tests.api.entering import verified
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.actions.sites import give_policy
from turnrule.store.port import VerdictQuery

D = Decimal
PATH = "/v1/quote-checks"
ROTOR_ID = "corvane-ostrel-2021-front-rotor-b16"
LEFT: dict[str, Any] = {**exact(EXAMPLE), "side": "left"}
RIGHT: dict[str, Any] = {**exact(EXAMPLE), "side": "right"}
BOTH = {"operation": "machine", "axle": "front", "side": "both", "kind": "rotor", "price": D(60)}


def sent(caller: Caller, body: object, **headers: str) -> TestResponse:
    """The response to a check."""
    return caller.post(PATH, write_exact(body), **headers)


def told(caller: Caller, body: object) -> Any:  # noqa: ANN401 - a document of any shape
    """The answer to a check, its numbers exact."""
    response = sent(caller, body)
    assert response.status_code == 200, response.get_data(as_text=True)
    return exact(response.get_data(as_text=True))


def codes(answer: Any) -> list[str]:  # noqa: ANN401 - a document of any shape
    """The codes of what was found."""
    return [one["code"] for one in answer["findings"]]


def faults(response: TestResponse) -> set[tuple[str, str]]:
    """Pointer and code of every fault."""
    assert response.status_code == 422, response.get_data(as_text=True)
    return {(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]}


def quote(*parts: object, lines: list[Any] | None = None, **more: object) -> dict[str, object]:
    """A quote that machines both front rotors."""
    return {"unit": "mm", "parts": list(parts), "lines": [BOTH] if lines is None else lines, **more}


def part(name: str, request: object = None, **more: object) -> dict[str, object]:
    """A part of a quote."""
    return {"name": name, **({} if request is None else {"request": request}), **more}


def judged(caller: Caller, request: object) -> str:
    """The id of a verdict that was stored."""
    response = caller.post("/v1/verdicts", write_exact(request))
    assert response.status_code == 201, response.get_data(as_text=True)
    return str(response.get_json()["id"])


def test_a_stored_verdict_says_what_one_made_now_says(shop: Caller) -> None:
    left, right = judged(shop, LEFT), judged(shop, RIGHT)
    by_id = told(shop, quote(part("fl", verdict_id=left), part("fr", verdict_id=right)))
    made = told(shop, quote(part("fl", LEFT), part("fr", RIGHT)))
    for stored, now in zip(by_id["parts"], made["parts"], strict=True):
        assert stored["verdict_id"] in {left, right}
        assert {**stored, "verdict_id": None} == now
    assert codes(by_id) == codes(made)
    assert by_id["agrees"] is True


def test_findings_name_the_stored_verdict_that_they_rest_on(shop: Caller) -> None:
    stored = judged(shop, {**LEFT, "thickness": [D("23.9")] * 4})
    answer = told(shop, quote(part("fl", verdict_id=stored), part("fr", RIGHT)))
    assert answer["findings"][0]["code"] == "machining_of_part_to_replace"
    assert answer["findings"][0]["evidence"]["verdict_id"] == stored


def test_nothing_is_stored_and_nothing_is_counted_as_missing(shop: Caller, desk: Desk) -> None:
    before = desk.store.count_verdicts(VerdictQuery())
    first = sent(shop, quote(part("fl", LEFT)), Idempotency_Key="k")
    again = sent(shop, quote(part("fr", RIGHT)), Idempotency_Key="k")
    assert (first.status_code, again.status_code) == (200, 200)
    unknown = {**LEFT, "application": {**LEFT["application"], "model": "Nowhere"}}
    assert faults(sent(shop, quote(part("fl", unknown)))) == {("/parts/0/request/application", "application_not_found")}
    assert desk.store.count_verdicts(VerdictQuery()) == before
    assert not desk.store.misses()


def test_a_withdrawn_record_takes_the_ground_from_a_quote(shop: Caller, people: People) -> None:
    stored = judged(shop, LEFT)
    assert people.office.withdraw(ROTOR_ID).status_code == 201
    answer = told(shop, quote(part("fl", verdict_id=stored)))
    assert "limits_withdrawn" in codes(answer)
    assert answer["parts"][0]["outdated"] == "withdrawn"
    assert answer["agrees"] is False


def test_a_correction_of_the_limits_takes_the_ground_from_a_quote(shop: Caller, people: People) -> None:
    stored = judged(shop, LEFT)
    reason = "the first entry was read from the row below"
    corrects = {"limits_id": ROTOR_ID, "revision": 1}
    body = changed(EXAMPLE_LIMITS, discard_thickness=D("23.9"), corrects=corrects, reason=reason)
    verified(people.anna, people.bert, body)
    assert told(shop, quote(part("fl", verdict_id=stored)))["parts"][0]["outdated"] is None
    assert people.office.publish().status_code == 201
    answer = told(shop, quote(part("fl", verdict_id=stored)))
    assert "limits_changed" in codes(answer)
    assert answer["parts"][0]["outdated"] == "changed"
    assert answer["parts"][0]["release"] == 1


def test_a_verdict_from_before_the_first_limits_is_outdated_once_there_are_some(shop: Caller, people: People) -> None:
    unknown = {**LEFT, "application": {**LEFT["application"], "make": "Brennor", "model": "Tavik", "year": 2017}}
    unknown["application"].pop("brake_option")
    limits = {"minimum_machining_thickness": D("24.6"), "discard_thickness": D(24), "machining": "permitted"}
    stored = judged(shop, {**unknown, "limits": limits})
    assert told(shop, quote(part("fl", verdict_id=stored)))["parts"][0]["outdated"] is None
    verified(people.anna, people.bert)
    people.office.publish()
    assert told(shop, quote(part("fl", verdict_id=stored)))["parts"][0]["outdated"] == "changed"


def test_a_verdict_by_the_callers_own_limits_is_never_outdated(shop: Caller, people: People) -> None:
    limits = {"minimum_machining_thickness": D("24.6"), "discard_thickness": D(24), "machining": "permitted"}
    own = {name: value for name, value in LEFT.items() if name != "application"} | {"limits": limits}
    stored = judged(shop, own)
    people.office.withdraw(ROTOR_ID)
    answer = told(shop, quote(part("fl", verdict_id=stored, axle="front")))
    assert answer["parts"][0]["outdated"] is None


def test_a_verdict_of_another_site_is_not_there(join: Joining) -> None:
    north, harbour = join("verdicts", site="North"), join("verdicts", site="Harbour")
    stored = judged(north, LEFT)
    body = quote(part("fl", verdict_id=stored))
    assert told(north, body)["parts"][0]["verdict"] == "machine"
    assert faults(sent(harbour, body)) == {("/parts/0/verdict_id", "verdict_not_found")}


def test_a_key_without_the_scope_is_refused(join: Joining) -> None:
    assert sent(join("reports"), quote()).status_code == 403


def test_inches_and_millimetres_find_the_same(shop: Caller) -> None:
    parts = part("fl", {**LEFT, "thickness": [D("23.9")] * 4}), part("fr", RIGHT)
    metric = told(shop, quote(*parts))
    imperial = told(shop, {**quote(*parts), "unit": "in"})
    assert codes(metric) == codes(imperial)
    held = imperial["findings"][0]["evidence"]
    assert (held["unit"], held["limit"]) == ("in", D("0.9448819"))
    assert "0.94094 in" in imperial["findings"][0]["sentence"]
    assert " mm" not in str(imperial)


def test_every_fault_of_a_quote_in_one_answer(shop: Caller) -> None:
    bad = {**LEFT, "thickness": [D(25), D(-1)], "findings": ["nonesuch"]}
    body = {
        "unit": "mm",
        "curency": "EUR",
        "policy": "nonesuch",
        "parts": [part("fl", bad), part("fl"), part("fr", RIGHT, verdict_id="0" * 26), part("x", verdict_id="1" * 26)],
        "lines": [
            {"operation": "machine", "part": "fx"},
            {"operation": "replace", "price": D(1)},
            {"operation": "replace", "side": "left", "cut": {"depth": D(1)}},
            {"operation": "mend"},
            {"operation": "machine", "part": "fr", "cut": {"depth": D(1)}},
        ],
    }
    assert faults(sent(shop, body)) == {
        ("/curency", "unknown_field"),
        ("/lines/0/part", "unknown_part"),
        ("/lines/1/part", "missing"),
        ("/lines/2/axle", "missing"),
        ("/lines/2/cut", "cut_without_machining"),
        ("/lines/2/kind", "missing"),
        ("/lines/3/operation", "invalid_choice"),
        ("/parts/0/request/findings/0", "unknown_finding"),
        ("/parts/0/request/thickness/1", "out_of_range"),
        ("/parts/1/name", "name_twice"),
        ("/parts/2", "verdict_or_request"),
        ("/parts/3/verdict_id", "verdict_not_found"),
        ("/policy", "policy_not_found"),
    }


def test_faults_of_the_parts_and_of_the_policy_are_told_together(shop: Caller) -> None:
    body = quote(part("fl", {**LEFT, "release": 99}), part("x", verdict_id="1" * 26), policy="nonesuch")
    assert faults(sent(shop, body)) == {
        ("/parts/0/request/release", "release_not_found"),
        ("/parts/1/verdict_id", "verdict_not_found"),
        ("/policy", "policy_not_found"),
    }


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ({"part": "fl", "cut": {"depth": D(1)}}, {"cut/inboard", "cut/outboard", "cut/depth"}),
        ({"part": "fl", "cut": {"inboard": D(1)}}, {"cut/outboard"}),
        ({"axle": "rear", "side": "left", "kind": "drum", "cut": {"inboard": D(1), "outboard": D(1)}},
         {"cut/depth", "cut/inboard", "cut/outboard"}),
        ({"part": "any", "cut": {"depth": D(1)}}, set()),
        ({"part": "any", "cut": {"inboard": D(1), "depth": D(1)}}, {"cut/depth", "cut/outboard"}),
    ],
)  # fmt: skip
def test_a_cut_has_the_faces_of_its_part(shop: Caller, line: dict[str, object], found: set[str]) -> None:
    response = sent(shop, quote(part("fl", LEFT), part("any"), lines=[{"operation": "machine", **line}]))
    if not found:
        assert response.status_code == 200
        return
    assert {pointer for pointer, _ in faults(response)} == {f"/lines/0/{name}" for name in found}


def test_a_request_takes_the_policy_of_the_quote_unless_it_names_one(shop: Caller) -> None:
    plain = {name: value for name, value in LEFT.items() if name != "policy"}
    answer = told(shop, quote(part("fl", plain), part("fr", {**RIGHT, "policy": "default"}), policy="fleet_reserve"))
    assert [one["policy"]["name"] for one in answer["parts"]] == ["fleet_reserve", "default"]
    assert answer["policy"]["name"] == "fleet_reserve"


def test_prices_are_kept_to_the_last_digit(shop: Caller) -> None:
    lines = [{"operation": "other", "price": D("0.1")}, {"operation": "other", "price": D("0.2")}]
    answer = told(shop, quote(lines=lines, total=D("0.3")))
    assert (answer["sum"], answer["agrees"]) == (D("0.3"), True)


def test_a_site_is_held_to_its_own_policy(join: Joining, desk: Desk) -> None:
    caller = join("verdicts", site="North", name="north")
    key = next(one for one in desk.store.keys() if one.name == "north")  # noqa: SIM118 - no dictionary
    give_policy(desk, "North", "fleet_reserve", key, over=None)
    plain = {name: value for name, value in LEFT.items() if name != "policy"}
    answer = told(caller, quote(part("fl", plain)))
    assert answer["policy"]["name"] == answer["parts"][0]["policy"]["name"] == "fleet_reserve"
    assert faults(sent(caller, quote(policy="default"))) == {("/policy", "policy_not_for_site")}


@pytest.mark.parametrize(
    "body", [b"[]", b"{}", b'{"unit": "mm", "lines": []}', b'{"unit": "mm", "lines": [1], "parts": 3}']
)
def test_what_is_no_quote_is_refused_with_its_faults(shop: Caller, body: bytes) -> None:
    assert shop.post(PATH, body).status_code == 422


def test_the_clock_tells_when_it_was_checked(shop: Caller, clock: Clock) -> None:
    assert told(shop, quote(lines=[{"operation": "other"}]))["checked_at"].startswith(clock.now.strftime("%Y-%m-%d"))

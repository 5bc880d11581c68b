"""Finished parts over HTTP: the cut that was made, the verdict before machining, and the certificate."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import orjson
import pytest

from tests.api.bodies import EXAMPLE
from tests.api.callers import Caller
from turnrule.actions.answers import document_of
from turnrule.actions.certificates import STATEMENT
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import reach
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import canonical, digest_of
from turnrule.api.application import build_api
from turnrule.api.json_reading import read_json
from turnrule.api.verdict_schemas import read_request

BEFORE: dict[str, Any] = json.loads(EXAMPLE)
FINISHED: dict[str, Any] = {
    **{name: value for name, value in BEFORE.items() if name not in {"cut", "groove_depth", "findings"}},
    "stage": "after_machining",
    "thickness": [24.74, 24.741, 24.74, 24.742],
    "lateral_runout": 0.02,
    "surface_roughness": {"value": 1.6, "unit": "um"},
    "cut_made": {"inboard": 0.10, "outboard": 0.10},
    "reference": "job 7 " + "very long " * 7,
}
"""The example's rotor, cut as its verdict said: 25.01 - 0.07 - 0.20 = 24.74 mm."""


def finished(shop: Caller, **changes: object) -> Any:  # noqa: ANN401 - an answer of any shape
    """What the service answers on the finished part; a field of None is left out."""
    body = {name: value for name, value in {**FINISHED, **changes}.items() if value is not None}
    return shop.post("/v1/verdicts", json.dumps(body)).get_json()


def before(shop: Caller, **changes: object) -> str:
    """The id of the verdict before machining."""
    body = {name: value for name, value in {**BEFORE, **changes}.items() if value is not None}
    return str(shop.post("/v1/verdicts", json.dumps(body)).get_json()["id"])


def faults(answer: Any) -> set[tuple[str, str]]:  # noqa: ANN401 - an answer of any shape
    """Pointer and code of every fault."""
    return {(fault["pointer"], fault["code"]) for fault in answer["errors"]}


def test_the_metal_taken_is_told_with_the_figures_that_were_used(shop: Caller) -> None:
    first = shop.post("/v1/verdicts", EXAMPLE).get_json()
    answer = finished(shop, before=first["id"])
    assert answer["verdict"] == "serviceable"
    metal = answer["metal_taken"]
    assert metal["before"] == {
        "id": first["id"],
        "digest": first["digest"],
        "verdict": "machine",
        "least_thickness": 25.01,
        "mean_thickness": 25.0225,
        "clean_up_thickness": 24.94,
        "guard_band": first["margins"]["guard_band"],
    }
    assert (metal["told"], metal["by_least_thickness"], metal["truing"]) == (0.2, 0.27, 0.07)
    assert (metal["agrees"], metal["grew"]) == (True, False)
    assert not {one["code"] for one in answer["cautions"]} & {"cut_made_disagrees", "part_grew"}


def test_the_verdict_before_may_be_in_the_other_unit(shop: Caller) -> None:
    inches = {
        "unit": "in",
        "thickness": [1.0] * 4,
        "lateral_runout": None,
        "groove_depth": None,
        "marking": None,
        "cut": None,
        "findings": None,
        "instrument": None,
    }
    metal = finished(shop, before=before(shop, **inches), cut_made={"inboard": 0.33, "outboard": 0.33})["metal_taken"]
    assert (metal["before"]["least_thickness"], metal["by_least_thickness"]) == (25.4, 0.66)
    assert metal["agrees"] is True


def test_a_part_that_grew_is_named_as_suspect(shop: Caller) -> None:
    answer = finished(shop, before=before(shop), thickness=[25.2] * 4)
    assert answer["metal_taken"]["grew"] is True
    [caution] = [one for one in answer["cautions"] if one["code"] == "part_grew"]
    assert (caution["level"], "0.19 mm" in caution["text"]) == ("danger", True)


@pytest.mark.parametrize("field", ["cut_made", "before"])
def test_before_machining_the_fields_of_a_finished_part_are_refused(shop: Caller, field: str) -> None:
    given = {"cut_made": {"inboard": 0.1, "outboard": 0.1}, "before": before(shop)}[field]
    response = shop.post("/v1/verdicts", json.dumps({**BEFORE, field: given}))
    assert response.status_code == 422
    assert faults(response.get_json()) == {(f"/{field}", "not_machined_yet")}


def test_every_fault_of_both_fields_comes_in_one_answer(shop: Caller) -> None:
    body = {**BEFORE, "before": before(shop), "cut_made": {"inboard": 0.1, "outboard": 0.1}, "findings": ["nonsense"]}
    told = faults(shop.post("/v1/verdicts", json.dumps(body)).get_json())
    assert told == {
        ("/before", "not_machined_yet"),
        ("/cut_made", "not_machined_yet"),
        ("/findings/0", "unknown_finding"),
    }


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"side": "right"}, "/side"),
        ({"vehicle": {"label": "unit 115"}}, "/vehicle/label"),
        ({"application": {**BEFORE["application"], "year": 2023}}, "/application/year"),
        ({"application": {**BEFORE["application"], "make": "Dravender"}, "marking": None}, "/application/make"),
    ],
)
def test_a_verdict_on_another_part_is_refused(shop: Caller, changes: dict[str, object], pointer: str) -> None:
    limits = {"minimum_machining_thickness": 24.6, "discard_thickness": 24}
    answer = finished(shop, before=before(shop), limits=limits, **changes)
    assert (pointer, "not_the_same_part") in faults(answer)


def test_names_that_only_one_of_both_gives_and_other_spelling_do_not_count(shop: Caller) -> None:
    spelled = {**BEFORE["application"], "make": "CORVANE", "model": "ostrel "[:6]}
    assert finished(shop, before=before(shop, side=None, vehicle=None), application=spelled)["verdict"] == "serviceable"


def test_a_verdict_on_another_kind_or_on_a_finished_part_is_refused(shop: Caller) -> None:
    done = finished(shop)["id"]
    assert faults(finished(shop, before=done)) == {("/before", "not_before_machining")}
    drum = {"unit": "mm", "kind": "drum", "diameter": [229] * 4, "marking": 231}
    other = shop.post("/v1/verdicts", json.dumps(drum)).get_json()["id"]
    assert faults(finished(shop, before=other)) == {("/kind", "not_the_same_part")}


def test_a_verdict_that_the_key_may_not_see_is_as_one_that_is_not_there(desk: Desk, shop: Caller) -> None:
    bound = Caller(build_api(desk).test_client(), create_key(desk, "south", ["verdicts"], site="south").secret)
    unseen = finished(bound, before=before(shop))
    nowhere = finished(bound, before="01m7q5st00000000000000000z")
    assert faults(unseen) == faults(nowhere) == {("/before", "verdict_not_found")}
    assert unseen["errors"][0]["detail"] == nowhere["errors"][0]["detail"]


def test_it_is_judged_again_to_the_same_digest_from_its_record(desk: Desk, shop: Caller) -> None:
    answer = finished(shop, before=before(shop))
    record = desk.store.verdict(answer["id"])
    assert record is not None
    request = read_request(read_json(record.request))
    again = reach(desk, request, record.judged_at)
    document = document_of(again.verdict, request.part, again.source, again.basis, again.work)
    assert digest_of(canonical(document)) == record.digest


def test_the_certificate_states_what_was_measured_and_decided(shop: Caller) -> None:
    first = before(shop)
    raw = json.dumps({**FINISHED, "before": first}).replace("24.741", "24.7410")
    answer = shop.post("/v1/verdicts", raw).get_json()
    response = shop.get(f"/v1/verdicts/{answer['id']}/certificate")
    assert response.status_code == 200
    assert "immutable" in response.headers["Cache-Control"]
    told = response.get_json()
    assert (told["statement"], told["passed"], told["kind"]) == (STATEMENT, True, "rotor")
    assert told["verdict"]["digest"] == answer["digest"]
    assert told["part"]["vehicle"] == "unit 114"
    assert told["measured"]["points"] == {"thickness": 4}
    assert b"24.7410" in response.data
    assert told["instrument"]["taken"]["resolution"] == {"value": 0.01, "origin": "request"}
    assert told["instrument"]["taken"]["repeatability"] == {"value": 0, "origin": "policy"}
    assert told["instrument"]["calibration_due"] == "2027-03-01"
    assert told["limits"]["source"]["edition"] == "2023-04"
    assert [one["outcome"] for one in told["surface_finish"]] == ["pass"]
    assert [one["quantity"] for one in told["cut"]] == ["total_cut_made", "face_balance_made"]
    assert told["metal_taken"]["before"]["id"] == first
    assert told["cautions"] == answer["cautions"]
    assert {name: told[name] for name in ("release", "policy", "pack", "engine")} == {
        name: answer[name] for name in ("release", "policy", "pack", "engine")
    }
    again = shop.get(f"/v1/verdicts/{answer['id']}/certificate", If_None_Match=response.headers["ETag"])
    assert again.status_code == 304


def test_the_digest_of_the_certificate_is_over_everything_else(shop: Caller) -> None:
    content = shop.get(f"/v1/verdicts/{finished(shop)['id']}/certificate").data
    document = json.loads(content, parse_float=orjson.Fragment, parse_int=orjson.Fragment)
    digest = document.pop("digest")
    plain = orjson.dumps(document, option=orjson.OPT_SORT_KEYS)
    assert digest == f"sha256:{hashlib.sha256(plain).hexdigest()}"


def test_what_did_not_pass_says_so(shop: Caller) -> None:
    worn = finished(shop, thickness=[24.5] * 4)
    assert shop.get(f"/v1/verdicts/{worn['id']}/certificate").get_json()["passed"] is False
    again = finished(shop, lateral_runout=0.07, setup_runout=0, thickness=[24.9] * 4)
    told = shop.get(f"/v1/verdicts/{again['id']}/certificate").get_json()
    assert (told["verdict"]["verdict"], told["passed"]) == ("machine", False)


def test_a_part_that_was_not_machined_has_no_certificate(shop: Caller) -> None:
    response = shop.get(f"/v1/verdicts/{before(shop)}/certificate")
    assert response.status_code == 409
    assert response.get_json()["type"].endswith("not_a_finished_part")
    assert "after_machining" in response.get_json()["detail"]


def test_unknown_ids_other_sites_and_parameters_are_refused(desk: Desk, shop: Caller) -> None:
    done = finished(shop)["id"]
    bound = Caller(build_api(desk).test_client(), create_key(desk, "east", ["verdicts"], site="east").secret)
    assert bound.get(f"/v1/verdicts/{done}/certificate").status_code == 404
    assert shop.get("/v1/verdicts/01m7q5st00000000000000000z/certificate").status_code == 404
    assert shop.get(f"/v1/verdicts/{done}/certificate?pretty=1").status_code == 400

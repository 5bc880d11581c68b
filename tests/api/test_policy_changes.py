"""Policies over HTTP: listed, compared in words, refused field by field, and with places whose laws are turned on."""

from __future__ import annotations

import json

import pytest
from werkzeug.test import TestResponse

from tests.api.conftest import Caller, Joining
from turnrule.pack.policies import FIELDS

PARENT = {
    "unit": "mm",
    "decision_rule": "guarded",
    "instrument": {"resolution": 0.02, "expanded_uncertainty": 0.01, "repeatability": 0.002},
    "minimum_points": 6,
    "require": ["marking"],
    "discard_margin": 0.1,
    "machining_margin": 0.1,
    "wear_allowance": 0.1,
    "accept_caller_limits": False,
    "maximum_runout": 0.05,
    "maximum_thickness_variation": 0.02,
    "maximum_out_of_round": 0.1,
    "maximum_taper": 0.1,
    "groove_limit": 0.3,
    "minimum_cut": 0.06,
    "total_cut": 1,
    "face_balance": 0.2,
    "axle_difference": 0.3,
    "pair_rule": "machine_both",
    "remaining_distance": {"value": 10000, "unit": "km"},
    "findings": {"heat_checking": "measure"},
    "regulations": ["maryland_marking"],
    "jurisdictions": ["massachusetts"],
    "limits_review_due": "inconclusive",
    "calibration_overdue": "inconclusive",
}
LOOSER: dict[str, tuple[object, str, str]] = {
    "decision_rule": ("simple", "simple", "guarded"),
    "instrument/resolution": ({"resolution": 0.01}, "0.01 mm", "0.02 mm"),
    "instrument/expanded_uncertainty": ({"expanded_uncertainty": 0.009}, "0.009 mm", "0.01 mm"),
    "instrument/repeatability": ({"repeatability": 0}, "0 mm", "0.002 mm"),
    "minimum_points": (5, "5", "6"),
    "discard_margin": (0.09, "0.09 mm", "0.1 mm"),
    "machining_margin": (0.09, "0.09 mm", "0.1 mm"),
    "wear_allowance": (0.09, "0.09 mm", "0.1 mm"),
    "derive_machining_limit": (True, "true", "false"),
    "accept_caller_limits": (True, "true", "false"),
    "maximum_runout": (0.06, "0.06 mm", "0.05 mm"),
    "maximum_thickness_variation": (0.03, "0.03 mm", "0.02 mm"),
    "maximum_out_of_round": (0.2, "0.2 mm", "0.1 mm"),
    "maximum_taper": (0.2, "0.2 mm", "0.1 mm"),
    "groove_limit": (0.31, "0.31 mm", "0.3 mm"),
    "minimum_cut": (0.05, "0.05 mm", "0.06 mm"),
    "total_cut": (2, "2 mm", "1 mm"),
    "face_balance": (0.3, "0.3 mm", "0.2 mm"),
    "axle_difference": (0.4, "0.4 mm", "0.3 mm"),
    "pair_rule": ("advise", "advise", "machine_both"),
    "remaining_distance": ({"value": 9999, "unit": "km"}, "9999 km", "10000 km"),
    "findings/heat_checking": ({"heat_checking": "caution"}, "caution", "measure"),
    "limits_review_due": ("caution", "caution", "inconclusive"),
    "calibration_overdue": ("caution", "caution", "inconclusive"),
}
ADDING = {"require", "regulations", "jurisdictions"}


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may write policies and ask for verdicts."""
    return join("policies:write", "verdicts")


def put(office: Caller, name: str, body: dict[str, object], etag: str | None = None) -> TestResponse:
    """Write a policy that is not there yet, or the next revision after the one that was read."""
    headers = {"If_None_Match": "*"} if etag is None else {"If_Match": etag}
    return office.put(f"/v1/policies/{name}", json.dumps(body), **headers)


def changes(office: Caller, name: str, query: str = "") -> dict[str, dict[str, object]]:
    """What changed, by field and entry."""
    answer = office.get(f"/v1/policies/{name}/changes{query}").get_json()
    return {
        f"{one['field']} {one['new'] if one['field'][1:] in ADDING else ''}".strip(): one for one in answer["changes"]
    }


def test_every_field_is_tried() -> None:
    assert {name.partition("/")[0] for name in LOOSER} | ADDING == FIELDS


@pytest.mark.parametrize("field", sorted(LOOSER))
def test_a_field_that_would_loosen_is_refused_naming_it_and_the_limit(office: Caller, field: str) -> None:
    assert put(office, "parent", PARENT).status_code == 201
    value, wrong, inherited = LOOSER[field]
    refused = put(office, "child", {"unit": "mm", "inherits": "parent", field.partition("/")[0]: value})
    assert (refused.status_code, refused.get_json()["type"]) == (422, "/problems/invalid_policy")
    [fault] = [one for one in refused.get_json()["errors"] if one["detail"].startswith(wrong)]
    assert (fault["pointer"], fault["code"]) == (f"/{field}", "policy_loosens")
    assert f"looser than the {inherited} that it inherits" in fault["detail"]
    assert office.get("/v1/policies/child").status_code == 404


def test_what_is_listed_only_adds_whatever_a_child_leaves_out(office: Caller) -> None:
    put(office, "parent", PARENT)
    child = put(office, "child", {"unit": "mm", "inherits": "parent", **{name: [] for name in ADDING}})
    effective = child.get_json()["effective"]
    assert effective["require"] == ["marking"]
    assert effective["jurisdictions"] == ["massachusetts"]
    assert effective["regulations"] == ["maryland_marking", "massachusetts_drum_oversize", "massachusetts_marking"]


@pytest.mark.parametrize(
    ("field", "code", "fault", "near"),
    [
        ("jurisdictions", "masachusetts", "unknown_jurisdiction", "massachusetts"),
        ("regulations", "maryland_markings", "unknown_regulation", "maryland_marking"),
    ],
)
def test_an_unknown_place_or_law_is_refused_with_the_nearest(
    office: Caller, field: str, code: str, fault: str, near: str
) -> None:
    [told] = put(office, "north", {"unit": "mm", field: [code]}).get_json()["errors"]
    assert (told["pointer"], told["code"]) == (f"/{field}", fault)
    assert told["detail"].endswith(f"there is {near}")


def test_policies_are_listed_by_name_page_by_page(office: Caller) -> None:
    put(office, "north", {"unit": "mm", "why": "Steep roads."})
    seen, query = [], "?limit=2"
    while query:
        page = office.get(f"/v1/policies{query}").get_json()
        assert len(page["items"]) <= 2
        seen += page["items"]
        query = f"?limit=2&after={page['next']}" if page["next"] else ""
    names = [one["name"] for one in seen]
    assert names == sorted({"default", "careful_bench", "fleet_reserve", "derived_limit", "simple_rule", "north"})
    [north] = [one for one in seen if one["name"] == "north"]
    assert (north["origin"], north["why"], north["inherits"]["name"]) == ("store", "Steep roads.", "default")
    assert {one["origin"] for one in seen if one["name"] != "north"} == {"pack"}


def test_what_changed_is_told_in_words_with_what_is_inherited(office: Caller) -> None:
    etag = put(office, "parent", {"unit": "mm", "wear_allowance": 0.4}).headers["ETag"]
    child = put(office, "child", {"unit": "mm", "inherits": "parent", "groove_limit": 0.25}).headers["ETag"]
    put(office, "parent", {"unit": "mm", "wear_allowance": 0.6, "require": ["marking"]}, etag)
    put(office, "child", {"unit": "mm", "inherits": "parent", "groove_limit": 0.3}, child)
    told = changes(office, "child")
    wear = told["/wear_allowance"]
    assert (wear["old"], wear["new"], wear["unit"], wear["direction"]) == (0.4, 0.6, "mm", "stricter")
    assert wear["set_by"] == {"name": "parent", "revision": 2}
    assert wear["sentence"] == (
        "Left to wear above the discard limit after a cut: 0.6 mm; before, 0.4 mm. This is stricter."
    )
    groove = told["/groove_limit"]
    assert (groove["direction"], groove["set_by"]) == ("looser", {"name": "child", "revision": 2})
    assert told["/require marking"]["sentence"] == "The marking must have been read. This is stricter."
    assert told["/inherits"]["direction"] == "other"
    answer = office.get("/v1/policies/child/changes").get_json()
    assert (answer["stricter"], answer["looser"], answer["other"]) == (2, 1, 1)
    assert answer["old"] == {"name": "child", "revision": 1}


def test_a_first_revision_is_compared_with_what_it_inherits_and_any_with_another_policy(office: Caller) -> None:
    put(office, "north", {"unit": "mm", "jurisdictions": ["massachusetts"], "findings": {"heat_checking": "replace"}})
    told = changes(office, "north")
    assert told.keys() == {
        "/jurisdictions massachusetts",
        "/regulations massachusetts_drum_oversize",
        "/regulations massachusetts_marking",
        "/findings/heat_checking",
    }
    assert str(told["/findings/heat_checking"]["sentence"]).endswith(
        "replaces the part; before, it is told as a caution. This is stricter."
    )
    beside = changes(office, "north", "?against=fleet_reserve")
    assert beside["/wear_allowance"]["direction"] == "looser"
    assert changes(office, "careful_bench", "?against=careful_bench") == changes(office, "careful_bench")


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("default/changes", 400),
        ("careful_bench/changes?since=1", 400),
        ("careful_bench/changes?revision=2", 404),
        ("careful_bench/changes?against=none", 404),
        ("none/changes", 404),
        ("careful_bench/changes?since=0", 400),
        ("careful_bench/changes?until=1", 400),
    ],
)
def test_what_cannot_be_compared_is_a_problem(office: Caller, address: str, status: int) -> None:
    assert office.get(f"/v1/policies/{address}").status_code == status


def test_a_policy_with_a_place_judges_by_its_laws_and_is_not_kept_for_ever(office: Caller) -> None:
    put(office, "north", {"unit": "mm", "jurisdictions": ["massachusetts"]})
    body = {"unit": "mm", "kind": "drum", "diameter": [229.1] * 4, "marking": 230.6, "policy": "north"}
    answer = office.post("/v1/verdicts", json.dumps(body)).get_json()
    laws = [one for one in answer["cautions"] if one["code"] == "regulation_applies"]
    assert len(laws) == 2
    kept = office.get("/v1/policies/north?revision=1").headers["Cache-Control"]
    assert "immutable" not in kept
    put(office, "plain", {"unit": "mm"})
    assert "immutable" in office.get("/v1/policies/plain?revision=1").headers["Cache-Control"]

"""Policies over HTTP: read with what they inherit, changed only by who has read the last, only to the stricter side."""

from __future__ import annotations

import json
import threading

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller, Joining
from turnrule.actions.desk import Desk

FLEET = json.dumps({"unit": "mm", "why": "Kept for the long routes.", "machining_margin": 0.1, "require": ["marking"]})


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller who may write policies and ask for verdicts."""
    return join("policies:write", "verdicts")


def made(office: Caller, name: str = "long_routes", body: str = FLEET) -> TestResponse:
    """The answer to making a policy."""
    return office.put(f"/v1/policies/{name}", body, If_None_Match="*")


def faults(response: TestResponse) -> list[tuple[str, str]]:
    """Pointer and code of every fault."""
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def test_a_policy_of_the_pack_is_read_with_everything_that_holds(shop: Caller) -> None:
    policy = shop.get("/v1/policies/default").get_json()
    assert (policy["origin"], policy["revision"], policy["inherits"], policy["written_at"]) == ("pack", 1, None, None)
    effective = policy["effective"]
    assert (effective["decision_rule"], effective["minimum_points"], effective["groove_limit"]) == ("guarded", 4, 0.38)
    assert effective["total_cut"] is None
    other = shop.get("/v1/policies/careful_bench").get_json()
    assert other["inherits"] == {"name": "default", "revision": 1}


def test_a_policy_is_made_once_read_back_and_judged_by(office: Caller) -> None:
    response = made(office)
    assert response.status_code == 201
    policy = response.get_json()
    assert (policy["name"], policy["revision"], policy["origin"]) == ("long_routes", 1, "store")
    assert policy["inherits"] == {"name": "default", "revision": 1}
    assert policy["document"] == {**json.loads(FLEET), "inherits": "default"}
    assert policy["effective"]["machining_margin"] == 0.1
    assert policy["written_by"] == "caller-1"
    read = office.get("/v1/policies/long_routes")
    assert (read.data, read.headers["ETag"]) == (response.data, response.headers["ETag"])
    verdict = office.post("/v1/verdicts", EXAMPLE.replace('"default"', '"long_routes"')).get_json()
    assert verdict["policy"] == {"name": "long_routes", "revision": 1}
    assert verdict["limits"]["machining"]["value"] == 24.7


def test_a_change_says_what_it_is_based_on(office: Caller) -> None:
    assert office.put("/v1/policies/long_routes", FLEET).status_code == 428
    assert office.put("/v1/policies/long_routes", FLEET, If_Match='"x"').status_code == 412
    first = made(office)
    assert made(office).status_code == 412
    assert office.put("/v1/policies/long_routes", FLEET).status_code == 428
    assert office.put("/v1/policies/long_routes", FLEET, If_Match='"x"').status_code == 412
    assert office.put("/v1/policies/long_routes", FLEET, If_Match=f"W/{first.headers['ETag']}").status_code == 412
    second = office.put("/v1/policies/long_routes", FLEET, If_Match=first.headers["ETag"])
    assert (second.status_code, second.get_json()["revision"]) == (200, 2)
    assert office.put("/v1/policies/long_routes", FLEET, If_Match=first.headers["ETag"]).status_code == 412


def test_every_revision_stays_readable(office: Caller) -> None:
    etag = made(office).headers["ETag"]
    for margin in ("0.2", "0.3"):
        body = FLEET.replace("0.1", margin)
        etag = office.put("/v1/policies/long_routes", body, If_Match=etag).headers["ETag"]
    page = office.get("/v1/policies/long_routes/revisions?limit=2").get_json()
    rest = office.get(f"/v1/policies/long_routes/revisions?after={page['next']}").get_json()
    margins = [item["effective"]["machining_margin"] for item in [*page["items"], *rest["items"]]]
    assert margins == [0.1, 0.2, 0.3]
    assert office.get("/v1/policies/long_routes?revision=1").get_json()["effective"]["machining_margin"] == 0.1
    assert office.get("/v1/policies/long_routes?revision=4").status_code == 404
    assert [item["revision"] for item in office.get("/v1/policies/default/revisions").get_json()["items"]] == [1]
    assert office.get("/v1/policies/default?revision=2").status_code == 404
    assert office.get("/v1/policies/none/revisions").status_code == 404


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({"groove_limit": 0.39}, ("/groove_limit", "policy_loosens")),
        ({"decision_rule": "simple"}, ("/decision_rule", "policy_loosens")),
        ({"minimum_points": 3}, ("/minimum_points", "policy_loosens")),
        ({"derive_machining_limit": True}, ("/derive_machining_limit", "policy_loosens")),
        ({"minimum_cut": 0.01}, ("/minimum_cut", "policy_loosens")),
        ({"instrument": {"resolution": 0.001}}, ("/instrument/resolution", "policy_loosens")),
        ({"findings": {"no_such": "replace"}}, ("/findings/no_such", "unknown_finding")),
        ({"regulations": ["no_such"]}, ("/regulations", "unknown_regulation")),
    ],
)
def test_a_policy_only_tightens_what_it_inherits_and_names_what_there_is(
    office: Caller, body: dict[str, object], fault: tuple[str, str]
) -> None:
    response = made(office, body=json.dumps({"unit": "mm", **body}))
    assert (response.status_code, response.get_json()["type"]) == (422, "/problems/invalid_policy")
    assert faults(response) == [fault]
    assert office.get("/v1/policies/long_routes").status_code == 404


def test_an_effect_of_the_catalogue_is_never_lowered(office: Caller, desk: Desk) -> None:
    code = next(code for code, rule in desk.pack.catalogue.findings.items() if rule.effect == "replace")
    assert faults(made(office, body=json.dumps({"unit": "mm", "findings": {code: "caution"}}))) == [
        (f"/findings/{code}", "policy_loosens")
    ]


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ({"unit": None}, ("/unit", "missing")),
        ({"groove_limt": 0.1}, ("/groove_limt", "unknown_field")),
        ({"name": "long_routes"}, ("/name", "unknown_field")),
        ({"revision": 9}, ("/revision", "unknown_field")),
        ({"inherits_revision": 9}, ("/inherits_revision", "unknown_field")),
        ({"groove_limit": "0,2"}, ("/groove_limit", "invalid_number")),
        ({"groove_limit": -0.2}, ("/groove_limit", "out_of_range")),
        ({"accept_caller_limits": "no"}, ("/accept_caller_limits", "wrong_type")),
        ({"accept_caller_limits": 0}, ("/accept_caller_limits", "wrong_type")),
        ({"require": ["markings"]}, ("/require/0", "invalid_choice")),
        ({"findings": {"pit": "repair"}}, ("/findings/pit", "invalid_choice")),
        ({"findings": {"P": "replace"}}, ("/findings/P", "invalid_text")),
        ({"minimum_points": 4.5}, ("/minimum_points", "invalid_number")),
        ({"remaining_distance": {"value": 1}}, ("/remaining_distance/unit", "missing")),
        ({"inherits": 5}, ("/inherits", "wrong_type")),
    ],
)
def test_a_policy_body_is_read_as_strictly_as_a_request(
    office: Caller, body: dict[str, object], fault: tuple[str, str]
) -> None:
    document = {name: value for name, value in {"unit": "mm", **body}.items() if value is not None}
    response = made(office, body=json.dumps(document))
    assert response.status_code == 422
    assert faults(response) == [fault]


def test_a_policy_inherits_from_a_policy_that_there_is(office: Caller) -> None:
    for parent in ("none", "long_routes"):
        response = made(office, body=json.dumps({"unit": "mm", "inherits": parent}))
        assert faults(response) == [("/inherits", "policy_not_found")]


def test_a_child_keeps_the_revision_of_its_parent_that_it_was_written_over(office: Caller, desk: Desk) -> None:
    etag = made(office, "parent").headers["ETag"]
    child = made(office, "child", json.dumps({"unit": "mm", "inherits": "parent", "groove_limit": 0.2})).get_json()
    assert child["inherits"] == {"name": "parent", "revision": 1}
    assert child["effective"]["machining_margin"] == 0.1
    office.put("/v1/policies/parent", FLEET.replace("0.1", "0.5"), If_Match=etag)
    desk.shelf.clear()  # as in a process that starts now
    before = office.get("/v1/policies/child")
    assert before.get_json()["effective"]["machining_margin"] == 0.1
    body = json.dumps({"unit": "mm", "inherits": "parent", "groove_limit": 0.2})
    after = office.put("/v1/policies/child", body, If_Match=before.headers["ETag"]).get_json()
    assert after["inherits"] == {"name": "parent", "revision": 2}
    assert after["effective"]["machining_margin"] == 0.5


def test_policies_inherit_in_lines_of_some_length_at_most(office: Caller) -> None:
    parent = "default"
    for number in range(20):
        response = made(office, f"line_{number}", json.dumps({"unit": "mm", "inherits": parent}))
        if response.status_code != 201:
            break
        parent = f"line_{number}"
    assert faults(response) == [("/inherits", "inherits_too_deep")]
    assert parent == "line_15"


def test_a_policy_of_the_pack_is_not_written_over(office: Caller) -> None:
    etag = office.get("/v1/policies/default").headers["ETag"]
    response = office.put("/v1/policies/default", FLEET, If_Match=etag)
    assert (response.status_code, response.get_json()["type"]) == (409, "/problems/pack_policy")


def test_writing_needs_its_scope_and_is_checked_before_the_body(shop: Caller) -> None:
    response = shop.put("/v1/policies/long_routes", "not json", If_None_Match="*")
    assert response.status_code == 403
    assert "policies:write" in response.get_json()["detail"]


@pytest.mark.parametrize("name", ["Long", "1st", "a-b", "a.b", "a" * 64, "%00"])
def test_a_policys_name_is_a_plain_word(office: Caller, name: str) -> None:
    assert made(office, name).status_code == 404


def test_of_two_who_change_the_same_revision_one_wins(office: Caller) -> None:
    etag = made(office).headers["ETag"]
    for _ in range(10):
        answers: list[TestResponse] = []
        start = threading.Barrier(2)

        def change(
            margin: str, answers: list[TestResponse] = answers, start: threading.Barrier = start, etag: str = etag
        ) -> None:
            caller = Caller(office.client.application.test_client(), office.secret)
            start.wait()
            answers.append(caller.put("/v1/policies/long_routes", FLEET.replace("0.1", margin), If_Match=etag))

        writers = [threading.Thread(target=change, args=(margin,)) for margin in ("0.3", "0.4")]
        for writer in writers:
            writer.start()
        for writer in writers:
            writer.join()
        assert sorted(answer.status_code for answer in answers) == [200, 412]
        etag = next(answer.headers["ETag"] for answer in answers if answer.status_code == 200)

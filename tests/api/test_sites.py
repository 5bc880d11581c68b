"""Sites over HTTP: given policies, and judged under them whatever a request would rather have."""

from __future__ import annotations

import json
import threading

import pytest
from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller, Joining
from turnrule.actions.numbers import read_exact, write_exact

UNNAMED = write_exact(
    {name: value for name, value in read_exact(EXAMPLE.encode()).items() if name != "policy"}
).decode()
NAMED = UNNAMED[:-1] + ',"policy":"%s"}'
_SETUP = {
    "unit": "mm",
    "kind": "rotor",
    "thickness": [25.02, 25.01, 25.03, 25.04],
    "readings": [
        {"scratch": {"depth": 0.05, "arcs": [{"start": 45, "end": 225}]}},
        {"turned": 180, "scratch": {"depth": 0.05, "arcs": [{"start": 200, "end": 70}]}},
    ],
}


@pytest.fixture
def office(join: Joining) -> Caller:
    """A caller of no site who may write policies."""
    return join("policies:write")


@pytest.fixture
def north(join: Joining) -> Caller:
    """The counter of the site North."""
    return join("verdicts", "policies:write", site="North")


def policy(office: Caller, name: str, body: dict[str, object], **headers: str) -> TestResponse:
    """Write a policy."""
    response = office.put(
        f"/v1/policies/{name}", json.dumps({"unit": "mm", **body}), **(headers or {"If_None_Match": "*"})
    )
    assert response.status_code in {200, 201}
    return response


def give(office: Caller, policy: str, site: str = "North", etag: str | None = None) -> TestResponse:
    """Give a site a policy."""
    headers = {"If_None_Match": "*"} if etag is None else {"If_Match": etag}
    return office.put(f"/v1/sites/{site}", json.dumps({"policy": policy}), **headers)


def judged(counter: Caller, body: str) -> tuple[str, int]:
    """The policy that a verdict was judged under."""
    answer = counter.post("/v1/verdicts", body).get_json()
    return answer["policy"]["name"], answer["policy"]["revision"]


def refusal(response: TestResponse) -> tuple[int, str, str, str]:
    """The status, type and only fault of a problem."""
    problem = response.get_json()
    [fault] = problem["errors"]
    return response.status_code, problem["type"], fault["pointer"], fault["detail"]


def test_a_site_is_given_a_policy_and_another_and_both_stay_readable(office: Caller) -> None:
    assert office.get("/v1/sites/North").status_code == 404
    assert office.put("/v1/sites/North", '{"policy": "default"}').status_code == 428
    first = give(office, "careful_bench")
    assert (first.status_code, first.headers["Location"]) == (201, "/v1/sites/North")
    assert give(office, "default").status_code == 412
    second = give(office, "fleet_reserve", etag=first.headers["ETag"])
    assert (second.status_code, second.get_json()["revision"]) == (200, 2)
    assert give(office, "default", etag=first.headers["ETag"]).status_code == 412
    read = office.get("/v1/sites/North")
    assert (read.data, read.headers["ETag"]) == (second.data, second.headers["ETag"])
    assert office.get("/v1/sites/North?revision=1").get_json()["policy"] == "careful_bench"
    page = office.get("/v1/sites/North/revisions?limit=1").get_json()
    rest = office.get(f"/v1/sites/North/revisions?after={page['next']}").get_json()
    assert [one["policy"] for one in page["items"] + rest["items"]] == ["careful_bench", "fleet_reserve"]
    assert give(office, "default", "Harbour Road").headers["Location"] == "/v1/sites/Harbour%20Road"
    sites = office.get("/v1/sites?limit=1").get_json()
    more = office.get(f"/v1/sites?after={sites['next']}").get_json()
    assert [one["site"] for one in sites["items"] + more["items"]] == ["Harbour Road", "North"]


def test_a_policy_that_there_is_none_of_and_a_name_that_no_site_has_are_refused(office: Caller) -> None:
    status, kind, pointer, detail = refusal(give(office, "careful_bensh"))
    assert (status, kind, pointer) == (422, "/problems/policy_not_found", "/policy")
    assert detail.endswith("there is careful_bench")
    for name in ("%20North", "a" * 64, "-", "North%0A"):
        assert give(office, "default", name).status_code == 404
    assert office.put("/v1/sites/North", '{"policy": "default", "x": 1}', If_None_Match="*").status_code == 422
    assert office.get("/v1/sites").get_json()["items"] == []


def test_a_key_that_is_bound_to_a_site_sees_and_changes_that_one_only(office: Caller, north: Caller) -> None:
    give(office, "careful_bench")
    give(office, "careful_bench", "South")
    assert [one["site"] for one in north.get("/v1/sites").get_json()["items"]] == ["North"]
    assert north.get("/v1/sites/North").status_code == 200
    for response in (
        north.get("/v1/sites/South"),
        north.get("/v1/sites/South/revisions"),
        give(north, "default", "South"),
    ):
        assert response.status_code == 404


def test_giving_needs_its_scope(shop: Caller) -> None:
    assert give(shop, "default").status_code == 403


def test_where_a_request_names_no_policy_that_of_the_site_judges_it(
    office: Caller, north: Caller, shop: Caller
) -> None:
    assert judged(north, UNNAMED) == ("default", 1)
    policy(office, "long_routes", {"machining_margin": 0.1})
    give(office, "long_routes")
    assert judged(north, UNNAMED) == ("long_routes", 1)
    assert judged(shop, UNNAMED) == ("default", 1)
    etag = office.get("/v1/policies/long_routes").headers["ETag"]
    policy(office, "long_routes", {"machining_margin": 0.2}, If_Match=etag)
    assert judged(north, UNNAMED) == ("long_routes", 2)
    assert judged(north, NAMED % "long_routes") == ("long_routes", 2)


def test_another_policy_is_taken_where_it_inherits_from_that_of_the_site_and_no_other(
    office: Caller, north: Caller
) -> None:
    give(office, "careful_bench")
    policy(office, "stricter", {"inherits": "careful_bench", "groove_limit": 0.2})
    policy(office, "strictest", {"inherits": "stricter", "groove_limit": 0.1})
    for name in ("stricter", "strictest", "fleet_reserve"):
        assert judged(north, NAMED % name) == (name, 1)
    for name in ("default", "simple_rule"):
        status, kind, pointer, detail = refusal(north.post("/v1/verdicts", NAMED % name))
        assert (status, kind, pointer) == (422, "/problems/policy_not_for_site", "/policy")
        assert "'North'" in detail
        assert "'careful_bench'" in detail
        assert repr(name) in detail
    assert refusal(north.post("/v1/verdicts", NAMED % "nobody"))[1] == "/problems/policy_not_found"


def test_a_policy_over_an_earlier_revision_of_the_sites_is_not_taken_where_it_is_looser_now(
    office: Caller, north: Caller
) -> None:
    etag = policy(office, "site_rule", {"machining_margin": 0.1}).headers["ETag"]
    child = policy(office, "night_shift", {"inherits": "site_rule", "groove_limit": 0.2})
    give(office, "site_rule")
    assert judged(north, NAMED % "night_shift") == ("night_shift", 1)
    policy(office, "site_rule", {"machining_margin": 0.2, "require": ["marking"]}, If_Match=etag)
    _, kind, _, detail = refusal(north.post("/v1/verdicts", NAMED % "night_shift"))
    assert kind == "/problems/policy_not_for_site"
    assert "looser in machining_margin, require" in detail
    policy(office, "night_shift", {"inherits": "site_rule", "groove_limit": 0.2}, If_Match=child.headers["ETag"])
    assert judged(north, NAMED % "night_shift") == ("night_shift", 2)


def test_axles_set_ups_and_batches_are_judged_under_the_sites_policy_too(office: Caller, north: Caller) -> None:
    give(office, "careful_bench")
    body = read_exact(UNNAMED.encode())
    side = {name: body.pop(name) for name in ("thickness", "marking", "instrument", "lateral_runout") if name in body}
    shared = {name: body[name] for name in ("unit", "kind", "application", "vehicle")}
    axle = write_exact({**shared, "left": side, "right": side}).decode()
    assert north.post("/v1/axle-verdicts", axle).get_json()["policy"] == {"name": "careful_bench", "revision": 1}
    refused = write_exact({**shared, "policy": "default", "left": side, "right": side}).decode()
    assert refusal(north.post("/v1/axle-verdicts", refused))[1] == "/problems/policy_not_for_site"
    batch = north.post("/v1/verdict-batches", f"[{UNNAMED},{NAMED % 'default'}]").get_json()
    assert batch[0]["verdict"]["policy"]["name"] == "careful_bench"
    assert batch[1]["problem"]["type"] == "/problems/policy_not_for_site"
    setup = {**_SETUP, "marking": 24}
    assert north.post("/v1/setup-checks", json.dumps(setup)).get_json()["policy"]["name"] == "careful_bench"
    refused = json.dumps({**setup, "policy": "default"})
    assert refusal(north.post("/v1/setup-checks", refused))[1] == "/problems/policy_not_for_site"


def test_of_two_who_give_the_same_site_a_policy_one_wins(office: Caller) -> None:
    etag = give(office, "default").headers["ETag"]
    for _ in range(10):
        answers: list[TestResponse] = []
        start = threading.Barrier(2)

        def change(
            name: str, answers: list[TestResponse] = answers, start: threading.Barrier = start, etag: str = etag
        ) -> None:
            caller = Caller(office.client.application.test_client(), office.secret)
            start.wait()
            answers.append(give(caller, name, etag=etag))

        writers = [threading.Thread(target=change, args=(name,)) for name in ("careful_bench", "fleet_reserve")]
        for writer in writers:
            writer.start()
        for writer in writers:
            writer.join()
        assert sorted(answer.status_code for answer in answers) == [200, 412]
        etag = next(answer.headers["ETag"] for answer in answers if answer.status_code == 200)

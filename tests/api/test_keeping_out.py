"""Keys: who comes in, what each may do, how often, and that nothing is read before that is known."""

from __future__ import annotations

import pytest
from flask import Flask

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller, Joining
from turnrule.actions.desk import Desk
from turnrule.actions.keys import SCOPES, create_key, revoke_key
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.keeping_out import NEEDED_SCOPES, RateLimiter
from turnrule.api.problems import ProblemError

OPEN = {
    "/", "/docs", "/docs/style.css", "/healthz", "/metrics", "/openapi.json", "/problems", "/problems/<code>",
    "/readyz",
}  # fmt: skip
"""What is open to everybody."""


@pytest.mark.parametrize(
    "header",
    [
        "", "Bearer", "Bearer ", "Basic dHI6eA==", "Bearer tr_" + "A" * 43, "tr_" + "A" * 43, "Bearer \u00e9",
        "Bearer " + "A" * 8000,
    ],
)  # fmt: skip
def test_without_a_working_key_nothing_is_open(app: Flask, header: str) -> None:
    headers = {"Authorization": header} if header else {}
    response = app.test_client().post("/v1/verdicts", data="not even json", headers=headers)
    assert (response.status_code, response.mimetype) == (401, "application/problem+json")
    assert response.headers["WWW-Authenticate"].startswith('Bearer realm="turnrule"')
    assert ("invalid_token" in response.headers["WWW-Authenticate"]) == bool(header)


def test_the_scheme_is_read_without_regard_to_case(app: Flask, desk: Desk) -> None:
    secret = create_key(desk, "k", ["reports"]).secret
    for scheme in ("bearer", "BEARER", "Bearer"):
        assert app.test_client().get("/v1/limits", headers={"Authorization": f"{scheme} {secret}"}).status_code == 200


def test_every_address_needs_a_key_but_the_ones_that_say_so(app: Flask) -> None:
    client = app.test_client()
    for rule in app.url_map.iter_rules():
        path = rule.rule.replace("<int:number>", "1").replace("<code>", "stale")
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            status = client.open(path, method=method).status_code
            assert (status == 401) == (rule.rule not in OPEN), (method, rule.rule, status)


def test_each_scope_opens_what_it_names_and_admin_opens_all(app: Flask, join: Joining) -> None:
    for rule in app.url_map.iter_rules():
        needed = getattr(app.view_functions[rule.endpoint], NEEDED_SCOPES, None)
        if needed is None:
            continue
        path = rule.rule.replace("<int:number>", "1")
        method = next(iter((rule.methods or set()) - {"HEAD", "OPTIONS"}))
        for scope in SCOPES:
            status = join(scope).send(method, path).status_code
            assert (status == 403) == (bool(needed) and scope not in {*needed, "admin"}), (method, path, scope)


def test_a_refusal_names_the_missing_scope(join: Joining) -> None:
    response = join("reports").post("/v1/verdicts", EXAMPLE)
    assert response.status_code == 403
    assert "'caller-1' lacks the scope verdicts" in response.get_json()["detail"]
    assert "verdicts or reports" in join("limits:write").get("/v1/verdicts").get_json()["detail"]


def test_a_revoked_key_works_no_longer_at_once(shop: Caller, desk: Desk) -> None:
    assert shop.get("/v1/limits").status_code == 200
    revoke_key(desk, "caller-1")
    assert shop.get("/v1/limits").status_code == 401


def test_a_key_may_ask_as_often_as_the_operator_says(desk: Desk) -> None:
    client = build_api(desk, ApiSettings(requests_per_minute=60, burst=3)).test_client()
    one, other = (Caller(client, create_key(desk, name, ["reports"]).secret) for name in ("one", "other"))
    assert [one.get("/v1/limits").status_code for _ in range(4)] == [200, 200, 200, 429]
    refused = one.get("/v1/limits")
    assert refused.headers["Retry-After"] == "1"
    assert refused.get_json()["type"] == "/problems/too_many_requests"
    assert other.get("/v1/limits").status_code == 200
    assert client.get("/healthz").status_code == 200


def test_the_bucket_fills_with_time_and_never_beyond_its_size() -> None:
    now = 0.0
    limiter = RateLimiter(30, 2, clock=lambda: now)

    def taken() -> int:
        count = 0
        try:
            while count < 100:
                limiter.take("k")
                count += 1
        except ProblemError:
            pass
        return count

    assert taken() == 2
    now = 2.0
    assert taken() == 1
    now = 5.9
    assert taken() == 1
    now = 1000.0
    assert taken() == 2


@pytest.mark.parametrize("per_minute", [None, 0])
def test_no_limit_is_no_limit(per_minute: int | None) -> None:
    limiter = RateLimiter(per_minute, 1)
    for _ in range(1000):
        limiter.take("k")

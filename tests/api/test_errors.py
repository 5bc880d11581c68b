"""Every problem and every fault code of the contract, reached for real, in the one shape that there is for them."""

from __future__ import annotations

import contextlib
import datetime
import json
import sqlite3
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from werkzeug.test import EnvironBuilder, TestResponse

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS, changed
from tests.api.conftest import publish
from tests.api.counter import Counter
from tests.api.demo_service import NOON, demo_service, steady_ids
from tests.api.entry_errors import ENTRY_FAULTS, ENTRY_PROBLEMS
from tests.api.lathe_errors import ELSEWHERE, LATHE_FAULTS, LATHE_PROBLEMS
from tests.api.serving import connected, serving
from tests.api.test_contract import faults_of
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.problems import PROBLEMS
from turnrule.pack import Pack
from turnrule.store.sqlite import open_sqlite

D = Decimal
SMALL = {"unit": "mm", "kind": "rotor", "thickness": [D("25.02")] * 4, "marking": D(24)}
DRUM = {"unit": "mm", "kind": "drum", "diameter": [D("229.1")] * 4, "marking": D("230.6")}
POLICY = {"unit": "mm", "inherits": "fleet_reserve"}


@pytest.fixture
def counter(tmp_path: Path, pack: Pack) -> Iterator[Counter]:
    """The service over the demo's limits."""
    with demo_service(tmp_path, pack) as service:
        yield Counter(service.desk, tmp_path)


def example(**changes: object) -> dict[str, Any]:
    """The contract's example with some fields changed, without those that name limits of the store."""
    return changed(EXAMPLE, **changes)


def chain(counter: Counter) -> TestResponse:
    """One policy too many in a line."""
    response = counter.write({"unit": "mm"}, "link_0")
    for number in range(1, 20):
        if response.status_code != 201:
            break
        response = counter.write({"unit": "mm", "inherits": f"link_{number - 1}"}, f"link_{number}")
    return response


def at_a_site(counter: Counter) -> TestResponse:
    """A policy that the site of the key does not allow."""
    counter.send("PUT", "/v1/sites/North", {"policy": "careful_bench"}, If_None_Match="*")
    secret = create_key(counter.desk, "at the site", ["verdicts"], "North").secret
    return counter.judge(example(policy="default"), Authorization=f"Bearer {secret}")


def after_another(counter: Counter) -> TestResponse:
    """The same idempotency key for two bodies."""
    assert counter.judge(Idempotency_Key="one").status_code == 201
    return counter.judge(SMALL, Idempotency_Key="one")


def again(counter: Counter, **headers: str) -> TestResponse:
    """A second revision of a policy."""
    name = f"north_{len(headers)}"
    assert counter.write(POLICY, name).status_code == 201
    return counter.send("PUT", f"/v1/policies/{name}", POLICY, **headers)


def twice_entered(counter: Counter) -> TestResponse:
    """A part that two records are for."""
    publish(counter.desk, EXAMPLE_LIMITS.replace("Corvane", "Brennor"), EXAMPLE_LIMITS.replace("Corvane", "Brennor"))
    vehicle = {"make": "Brennor", "model": "Ostrel", "year": D(2022), "axle": "front", "brake_option": "B16"}
    return counter.judge(example(application=vehicle))


def broken_off(counter: Counter) -> TestResponse:
    """A body that ends before its length."""
    return counter.client.open(
        EnvironBuilder(
            path="/v1/verdicts",
            method="POST",
            data=EXAMPLE,
            environ_overrides={"CONTENT_LENGTH": "5000"},
            content_type="application/json",
            headers=[("Authorization", f"Bearer {counter.key}")],
        )
    )


def under_another_key(counter: Counter) -> TestResponse:
    """A request under a key without the scope."""
    secret = create_key(counter.desk, "reader", ["reports"]).secret
    return counter.judge(Authorization=f"Bearer {secret}")


def too_often(counter: Counter) -> TestResponse:
    """One request more than a key may send."""
    limited = build_api(counter.desk, ApiSettings(requests_per_minute=1, burst=1)).test_client()
    headers = {"Authorization": f"Bearer {counter.key}"}
    assert limited.get("/v1/limits", headers=headers).status_code == 200
    return limited.get("/v1/limits", headers=headers)


def with_a_clock_that_fails(counter: Counter) -> TestResponse:
    """A request while the machine cannot tell the time."""

    def stopped() -> datetime.datetime:
        raise OSError("no clock in /secret/place")

    desk = Desk(counter.desk.store, counter.desk.pack, stopped, counter.desk.make_id)
    headers = {"Authorization": f"Bearer {counter.key}"}
    client = build_api(desk).test_client()
    return client.post("/v1/verdicts", data=EXAMPLE, content_type="application/json", headers=headers)


def on_a_store_that_another_program_holds(counter: Counter) -> TestResponse:
    """A request while another program has locked the store's file."""
    impatient = open_sqlite(counter.place / "demo.sqlite", wait=0.05)
    client = build_api(Desk(impatient, counter.desk.pack, lambda: NOON, steady_ids())).test_client()
    headers = {"Authorization": f"Bearer {counter.key}"}
    with contextlib.closing(sqlite3.connect(counter.place / "demo.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        response = client.post("/v1/verdicts", data=EXAMPLE, content_type="application/json", headers=headers)
        other.execute("ROLLBACK")
    impatient.close()
    return response


def on_a_store_without_tables(counter: Counter) -> TestResponse:
    """A request over a store that was never migrated."""
    store = open_sqlite(counter.place / "fresh.sqlite")
    client = build_api(Desk(store, counter.desk.pack, lambda: NOON, steady_ids())).test_client()
    response = client.get("/readyz")
    store.close()
    return response


def batch(counter: Counter, body: str, kind: str = "text/csv", query: str = "", **headers: str) -> TestResponse:
    """A batch of verdicts."""
    return counter.send("POST", f"/v1/verdict-batches{query}", body, Content_Type=kind, **headers)


def batch_after_another(counter: Counter) -> TestResponse:
    """An atomic batch under the key of another one."""
    line = EXAMPLE.replace("\n", " ")
    assert batch(counter, line, "application/x-ndjson", Idempotency_Key="one").status_code == 200
    other = line.replace("25.02", "25.03", 1)
    return batch(counter, other, "application/x-ndjson", "?atomic=true", Idempotency_Key="one")


def certified_before_machining(counter: Counter) -> TestResponse:
    """The certificate of a part that was not machined yet."""
    verdict_id = json.loads(counter.judge().data)["id"]
    return counter.send("GET", f"/v1/verdicts/{verdict_id}/certificate")


Trigger = Callable[[Counter], TestResponse]

PROBLEM_TRIGGERS: dict[str, Trigger] = {
    "malformed_body": lambda counter: counter.judge("{"),
    "invalid_parameters": lambda counter: counter.send("GET", "/v1/limits?axel=front"),
    "invalid_header": lambda counter: counter.judge(Idempotency_Key="two words"),
    "bad_request": broken_off,
    "unauthorized": lambda counter: counter.judge(Authorization="Bearer nobody"),
    "forbidden": under_another_key,
    "not_found": lambda counter: counter.send("GET", "/v1/nothing"),
    "method_not_allowed": lambda counter: counter.send("DELETE", "/v1/verdicts"),
    "pack_policy": lambda counter: counter.write(POLICY, "default"),
    "stale": lambda counter: again(counter, If_Match='"0123"'),
    "body_too_large": lambda counter: counter.judge(" " * 300_000),
    "address_too_long": lambda counter: counter.send("GET", f"/v1/limits?make={'a' * 4000}"),
    "unsupported_media_type": lambda counter: counter.judge(Content_Type="text/plain"),
    "invalid_request": lambda counter: counter.judge({}),
    "application_not_found": lambda counter: counter.judge(EXAMPLE.replace('"Ostrel"', '"Ostrell"')),
    "application_ambiguous": twice_entered,
    "brake_option_needed": lambda counter: counter.judge(EXAMPLE.replace(', "brake_option": "B16"', "")),
    "policy_not_found": lambda counter: counter.judge(example(policy="defualt")),
    "policy_not_for_site": at_a_site,
    "release_not_found": lambda counter: counter.judge(example(release=D(9))),
    "idempotency_key_reused": after_another,
    "invalid_policy": lambda counter: counter.write({**POLICY, "discard_margin": D(0)}),
    "precondition_required": again,
    "too_many_requests": too_often,
    "internal_error": with_a_clock_that_fails,
    "not_acceptable": lambda counter: batch(counter, "", Accept="text/html"),
    "batch_refused": lambda counter: batch(counter, "{", "application/x-ndjson", "?atomic=true"),
    "too_many_items": lambda counter: batch(counter, "x\n" * 10_001, "application/x-ndjson", "?atomic=true"),
    **LATHE_PROBLEMS,
    "not_a_finished_part": certified_before_machining,
    "store_unavailable": on_a_store_that_another_program_holds,
    "store_not_migrated": on_a_store_without_tables,
    **ENTRY_PROBLEMS,
}
"""How each problem comes about; what only the server itself refuses has a test of its own."""


def quote(line: dict[str, object] | None = None, **more: object) -> dict[str, object]:
    """A quote of one line."""
    return {"unit": "mm", "lines": [line or {"operation": "other"}], **more}


FAULT_TRIGGERS: dict[str, Trigger] = {
    "not_utf8": lambda counter: counter.judge(EXAMPLE.encode("utf-16")),
    "invalid_json": lambda counter: counter.judge("{'unit': 'mm'}"),
    "too_deep": lambda counter: counter.judge("[" * 40),
    "duplicate_key": lambda counter: counter.judge('{"unit": "mm", "unit": "in"}'),
    "forbidden_character": lambda counter: counter.judge('{"unit": "mm\\u202e"}'),
    "non_finite_number": lambda counter: counter.judge('{"marking": NaN}'),
    "number_too_long": lambda counter: counter.judge(f'{{"marking": {"1" * 33}}}'),
    "number_out_of_range": lambda counter: counter.judge('{"marking": 1e13}'),
    "missing": lambda counter: counter.judge({"kind": "rotor"}),
    "unknown_field": lambda counter: counter.judge({**SMALL, "thikness": D(1)}),
    "field_of_another_kind": lambda counter: counter.judge({**SMALL, "diameter": [D(1)]}),
    "misplaced_field": lambda counter: counter.send("POST", "/v1/axle-verdicts", {**SMALL, "left": {"unit": "mm"}}),
    "unknown_part": lambda counter: counter.send(
        "POST", "/v1/quote-checks", quote({"operation": "inspect", "part": "x"})
    ),
    "name_twice": lambda counter: counter.send("POST", "/v1/quote-checks", quote(parts=[{"name": "a"}] * 2)),
    "verdict_or_request": lambda counter: counter.send(
        "POST", "/v1/quote-checks", quote(parts=[{"name": "a", "verdict_id": "0" * 26, "request": SMALL}])
    ),
    "cut_without_machining": lambda counter: counter.send(
        "POST", "/v1/quote-checks", quote({"operation": "other", "cut": {"depth": D(1)}})
    ),
    "wrong_type": lambda counter: counter.judge({**SMALL, "thickness": D(25)}),
    "invalid_number": lambda counter: counter.judge({**SMALL, "marking": "24"}),
    "invalid_choice": lambda counter: counter.judge({**SMALL, "unit": "cm"}),
    "invalid_date": lambda counter: counter.judge({**SMALL, "instrument": {"calibration_due": "2026-02-30"}}),
    "invalid_text": lambda counter: counter.judge({**SMALL, "reference": "two\nlines"}),
    "out_of_range": lambda counter: counter.judge({**SMALL, "marking": D(-24)}),
    "too_short": lambda counter: counter.judge({**SMALL, "reference": ""}),
    "too_long": lambda counter: counter.judge({**SMALL, "reference": "x" * 81}),
    "too_few": lambda counter: counter.judge({**SMALL, "thickness": []}),
    "too_many": lambda counter: counter.judge({**SMALL, "thickness": [D(25)] * 1001}),
    "unit_mismatch": lambda counter: counter.judge({**SMALL, "thickness": [D("0.985")]}),
    "past_nominal_size": lambda counter: counter.judge(example(thickness=[D("52.02")])),
    "machining_past_discard": lambda counter: counter.judge(
        {**SMALL, "limits": {"minimum_machining_thickness": D(20), "discard_thickness": D(21)}}
    ),
    "discard_past_nominal": lambda counter: counter.judge(
        {**SMALL, "limits": {"nominal_thickness": D(26), "discard_thickness": D(27)}}
    ),
    "machining_past_nominal": lambda counter: counter.judge(
        {**SMALL, "limits": {"nominal_thickness": D(26), "minimum_machining_thickness": D(27)}}
    ),
    "application_not_found": PROBLEM_TRIGGERS["application_not_found"],
    "application_ambiguous": twice_entered,
    "brake_option_needed": PROBLEM_TRIGGERS["brake_option_needed"],
    "policy_not_found": PROBLEM_TRIGGERS["policy_not_found"],
    "release_not_found": PROBLEM_TRIGGERS["release_not_found"],
    "caller_limits_refused": lambda counter: counter.judge(
        {**SMALL, "policy": "careful_bench", "limits": {"discard_thickness": D(24)}}
    ),
    "unknown_finding": lambda counter: counter.judge({**SMALL, "findings": ["surface_rust"]}),
    "finding_of_another_kind": lambda counter: counter.judge({**SMALL, "findings": ["bell_mouth"]}),
    "face_of_another_kind": lambda counter: counter.judge(
        {**DRUM, "findings": [{"finding": "heat_checking", "face": "inboard"}]}
    ),
    "unknown_regulation": lambda counter: counter.write({**POLICY, "regulations": ["law_of_nowhere"]}),
    "unknown_jurisdiction": lambda counter: counter.write({**POLICY, "jurisdictions": ["nowhere"]}),
    "policy_not_for_site": at_a_site,
    "one_candidate": lambda counter: counter.send("POST", "/v1/policies/default/trials", {"name_parts": False}),
    "setting_mismatch": lambda counter: counter.send(
        "POST", "/v1/policies/default/trials", {"setting": {"field": "wear_allowance", "values": [1]}}
    ),
    "policy_loosens": PROBLEM_TRIGGERS["invalid_policy"],
    "inherits_too_deep": chain,
    "pack_policy": PROBLEM_TRIGGERS["pack_policy"],
    "doubled_parameter": lambda counter: counter.send("GET", "/v1/limits?make=a&make=b"),
    "invalid_cursor": lambda counter: counter.send("GET", "/v1/limits?after=WzFd"),
    "no_header": lambda counter: batch(counter, "a,b\n1,2\n"),
    "idempotency_key_reused": batch_after_another,
    "body_too_large": lambda counter: batch(counter, "x" * 300_000, "application/x-ndjson", "?atomic=true"),
    "no_such_column": lambda counter: batch(counter, "unit,kind,thicknes\nmm,rotor,25\n"),
    "column_twice": lambda counter: batch(counter, "unit,kind,unit\nmm,rotor,mm\n"),
    "empty_file": lambda counter: batch(counter, "\n"),
    "ragged_row": lambda counter: batch(counter, "unit,kind\nmm,rotor,25\n", query="?atomic=true"),
    "row_too_long": lambda counter: batch(counter, f"unit,kind\n{'m' * 100_001},rotor\n", query="?atomic=true"),
    "invalid_quotes": lambda counter: batch(counter, 'unit,kind\n"m"m,rotor\n', query="?atomic=true"),
    "lathe_not_found": PROBLEM_TRIGGERS["lathe_not_found"],
    **ENTRY_FAULTS,
    **LATHE_FAULTS,
}


def seen_as_problem(response: TestResponse) -> dict[str, Any]:
    """The problem of an answer, in the shape that the contract describes and in no other."""
    assert response.headers["Content-Type"] == "application/problem+json"
    document: dict[str, Any] = json.loads(response.data)
    assert faults_of("Problem", document) == []
    code = document["type"].removeprefix("/problems/")
    assert document["status"] == response.status_code == PROBLEMS[code].status
    assert document["title"] == PROBLEMS[code].title
    assert document["request_id"] == response.headers["X-Request-ID"]
    assert response.headers["Cache-Control"] == "no-store"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    for hidden in (b"<html", b"Traceback", b"/secret/", b".py", b"sqlite3", b".sqlite"):
        assert hidden not in response.data
    return document


@pytest.mark.parametrize("code", PROBLEM_TRIGGERS)
def test_the_problem_comes_about_and_its_type_leads_to_its_meaning(counter: Counter, code: str) -> None:
    document = seen_as_problem(PROBLEM_TRIGGERS[code](counter))
    assert document["type"] == f"/problems/{code}"
    meaning = counter.client.get(document["type"])
    assert meaning.status_code == 200
    assert meaning.get_json()["title"] == document["title"]
    assert meaning.get_json()["remedy"] == PROBLEMS[code].remedy


@pytest.mark.parametrize("code", FAULT_TRIGGERS)
def test_the_fault_comes_about_and_says_where_it_is(counter: Counter, code: str) -> None:
    document = seen_as_problem(FAULT_TRIGGERS[code](counter))
    faults = [fault for fault in document["errors"] if fault["code"] == code]
    assert faults
    assert all(fault["detail"] for fault in faults)


def test_no_problem_of_the_table_and_no_fault_of_the_list_is_left_out() -> None:
    assert PROBLEM_TRIGGERS.keys() | {"headers_too_large"} == PROBLEMS.keys()
    assert FAULT_TRIGGERS.keys() | ELSEWHERE.keys() == FAULT_CODES.keys()
    assert not FAULT_TRIGGERS.keys() & ELSEWHERE.keys()


def test_what_the_server_refuses_itself_has_the_same_shape(tmp_path: Path, pack: Pack) -> None:
    with demo_service(tmp_path, pack) as service:
        service.secret(("verdicts",))
    with serving(tmp_path / "demo.sqlite") as port, connected(port) as connection:
        connection.putrequest("GET", "/healthz")
        for index in range(120):
            connection.putheader(f"X-{index}", "1")
        connection.endheaders()
        response = connection.getresponse()
        document = json.loads(response.read())
    assert response.status == document["status"] == PROBLEMS["headers_too_large"].status
    assert document["type"] == "/problems/headers_too_large"
    assert faults_of("Problem", document) == []
    assert document["request_id"] == response.headers["X-Request-ID"]


def test_every_status_that_the_contract_speaks_of_is_reached() -> None:
    assert {problem.status for problem in PROBLEMS.values()} == {
        400, 401, 403, 404, 405, 406, 409, 412, 413, 414, 415, 422, 428, 429, 431, 500, 503,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("code", "header", "value"),
    [
        ("unauthorized", "WWW-Authenticate", 'Bearer realm="turnrule", error="invalid_token"'),
        ("method_not_allowed", "Allow", "GET, HEAD, POST"),
        ("too_many_requests", "Retry-After", "60"),
        ("store_unavailable", "Retry-After", "5"),
        ("store_not_migrated", "Retry-After", "5"),
    ],
)
def test_a_problem_comes_with_the_headers_that_help(counter: Counter, code: str, header: str, value: str) -> None:
    assert PROBLEM_TRIGGERS[code](counter).headers[header] == value


def test_the_key_is_looked_at_before_the_body(counter: Counter) -> None:
    response = counter.judge(" " * 300_000, Authorization="Bearer nobody", Content_Type="text/plain")
    assert seen_as_problem(response)["status"] == 401


def test_a_request_that_names_its_id_finds_it_in_the_problem(counter: Counter) -> None:
    document = seen_as_problem(counter.judge({}, X_Request_ID="job-5521.a"))
    assert document["request_id"] == "job-5521.a"


def test_nothing_is_recorded_of_a_request_that_was_refused(counter: Counter) -> None:
    for code, trigger in PROBLEM_TRIGGERS.items():
        if code not in {"idempotency_key_reused", "not_a_finished_part"}:  # these come of one that was recorded
            trigger(counter)
            listed = counter.send("GET", "/v1/verdicts").get_json()
            assert listed["items"] == [], code

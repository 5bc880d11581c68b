"""The contract is the service: written from it, complete, bounded, and true of every answer of the demo scenario."""

from __future__ import annotations

import copy
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from tests.api.demo_service import DemoService, demo_service
from turnrule.actions.numbers import write_exact
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.contract_document import contract, contract_yaml
from turnrule.api.contract_examples import examples
from turnrule.api.contract_operations import OPERATIONS
from turnrule.api.contract_problems import RESPONSES
from turnrule.api.keeping_out import NEEDED_SCOPES
from turnrule.api.problems import PROBLEMS
from turnrule.pack import Pack, load_pack

ROOT = Path(__file__).resolve().parent.parent.parent
KEPT = ROOT / "openapi" / "openapi.yaml"
INSPECTIONS = load_pack().demo.inspections
TOLD_BY_THE_FIELDS_TOGETHER = {("/vehicle/odometer", "missing"), ("/history/0/odometer", "out_of_range")}
"""Faults with a code of the schema, at places where only several fields together show them."""


def walk(value: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:  # noqa: ANN401 - a document of any shape
    """Every object of a document, with its place."""
    if isinstance(value, dict):
        yield path, value
        for name, inner in value.items():
            yield from walk(inner, f"{path}/{name}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from walk(inner, f"{path}/{index}")


def closed(document: Mapping[str, Any]) -> dict[str, Any]:
    """The contract with the objects of its answers shut: what is not described is not there."""
    shut: dict[str, Any] = copy.deepcopy(dict(document))
    for name, schema in shut["components"]["schemas"].items():
        for _, part in walk(schema):
            if part.get("type") == "object" and "properties" in part and name != "Contract":
                part.setdefault("unevaluatedProperties", False)
    for verdict in ("Verdict", "AxleVerdict"):
        schemas = shut["components"]["schemas"]
        for kind in (f"{part}{verdict}" for part in ("Rotor", "Drum")):
            schemas[kind].pop("unevaluatedProperties")
            record = schemas[f"Recorded{kind}"]
            assert record["allOf"][0] == {"$ref": f"#/components/schemas/{kind}"}
            record["allOf"][1].pop("unevaluatedProperties")
            record["unevaluatedProperties"] = False
        schemas[verdict]["unevaluatedProperties"] = False
    return shut


CLOSED = closed(contract())


def faults_of(schema: str, value: object, document: Mapping[str, Any] = CLOSED) -> list[str]:
    """What is wrong with a value by one schema of the contract, formats included."""
    whole = {"$ref": f"#/components/schemas/{schema}", "components": document["components"]}
    validator = Draft202012Validator(whole, format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{error.json_path}: {error.message[:300]}" for error in validator.iter_errors(value)]


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, pack: Pack) -> Iterator[DemoService]:
    """The service over the demo's limits."""
    with demo_service(tmp_path_factory.mktemp("contract"), pack) as ready:
        yield ready


def test_the_kept_document_is_what_the_service_writes_now() -> None:
    assert KEPT.read_text(encoding="utf-8") == contract_yaml()


def test_the_document_is_the_same_in_another_process() -> None:
    code = "from turnrule.api.contract_document import contract_yaml; import sys; sys.stdout.write(contract_yaml())"
    run = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONHASHSEED": "7", "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        timeout=60,
        check=True,
    )
    assert run.stdout == KEPT.read_bytes()


def test_yaml_and_json_say_the_same() -> None:
    assert yaml.safe_load(contract_yaml()) == json.loads(json.dumps(contract()))


def test_a_caller_of_contract_may_change_what_it_got() -> None:
    contract()["paths"].clear()
    assert contract()["paths"]


def test_it_is_a_valid_document_of_openapi_3_1() -> None:
    document = contract()
    assert document["openapi"] == "3.1.0"
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_every_reference_leads_somewhere_and_every_component_is_used() -> None:
    document = contract()
    pointers = {part["$ref"] for _, part in walk(document) if "$ref" in part}
    named = {
        f"#/components/{kind}/{name}"
        for kind, entries in document["components"].items()
        for name in entries
        if kind != "securitySchemes"
    }
    assert pointers == named


def test_every_operation_says_what_it_is_and_who_may_call_it() -> None:
    document = contract()
    operations = [
        operation
        for methods in document["paths"].values()
        for name, operation in methods.items()
        if name != "parameters"
    ]
    assert len({operation["operationId"] for operation in operations}) == len(operations) == len(OPERATIONS)
    tags = {tag["name"] for tag in document["tags"]}
    for operation in operations:
        assert operation["summary"]
        assert operation["description"].endswith(".")
        assert set(operation["tags"]) <= tags
        assert operation["security"] in ([], [{"key": []}])
        assert {"405", "414", "500"} <= operation["responses"].keys()
        assert operation["security"] == [] or {"401", "429", "503"} <= operation["responses"].keys()


def test_the_scopes_of_the_contract_are_those_that_open_the_views(service: DemoService) -> None:
    app = service.app
    for operation in OPERATIONS:
        path = re.sub(r"\{\w+\}", "1", operation.path)
        endpoint, _ = app.url_map.bind("localhost").match(path, method=operation.method.upper())
        assert getattr(app.view_functions[endpoint], NEEDED_SCOPES, None) == operation.scopes, operation.id


def test_every_answer_has_its_headers_described() -> None:
    document = contract()
    for path, methods in document["paths"].items():
        for name, operation in methods.items():
            for status, response in operation["responses"].items() if name != "parameters" else ():
                found = response
                if "$ref" in response:
                    found = document["components"]["responses"][response["$ref"].rsplit("/", 1)[1]]
                assert "X-Request-ID" in found["headers"], (path, name, status)


def test_every_field_of_a_request_has_bounds_and_nothing_beside_them_is_read() -> None:
    schemas = contract()["components"]["schemas"]
    sent = ["RotorRequest", "DrumRequest", "PolicyBody", "RotorLimitsBody", "DrumLimitsBody", "RotorSecondEntry"]
    sent += ["RotorAxleRequest", "DrumAxleRequest", "QuoteBody", "RotorSetupRequest", "DrumSetupRequest"]
    sent += ["DrumSecondEntry", "WithdrawalBody", "ReleaseBody", "SiteBody", "TrialBody"]
    seen: set[str] = set()
    while sent:
        name = sent.pop()
        if name in seen:
            continue
        seen.add(name)
        # A choice between kinds has no fields of its own: each of the kinds is looked at.
        assert "discriminator" in schemas[name] or schemas[name]["additionalProperties"] is False, name
        for place, part in walk(schemas[name], name):
            assert is_bounded(part), place
            if "$ref" in part:
                sent.append(part["$ref"].rsplit("/", 1)[1])
    assert len(seen) > 25


def is_bounded(schema: Mapping[str, Any]) -> bool:
    """True where a schema of a simple type says how far its values go."""
    match schema.get("type"):
        case "string":
            return "enum" in schema or "maxLength" in schema or "format" in schema
        case "number" | "integer":
            return "maximum" in schema and ("minimum" in schema or "exclusiveMinimum" in schema)
        case "array":
            return "maxItems" in schema
        case "object":
            return schema.get("additionalProperties") is False or "maxProperties" in schema
        case _:
            return True


def test_every_parameter_has_an_example_that_its_schema_takes() -> None:
    for name, parameter in contract()["components"]["parameters"].items():
        validator = Draft202012Validator(parameter["schema"])
        assert validator.is_valid(parameter["example"]), name


def test_every_pattern_compiles() -> None:
    patterns = [part["pattern"] for _, part in walk(contract()) if isinstance(part.get("pattern"), str)]
    assert len(patterns) > 10
    for pattern in patterns:
        re.compile(pattern)


def test_every_problem_of_the_table_is_told_by_some_operation() -> None:
    told = {code for operation in OPERATIONS for name in operation.all_problems for code in RESPONSES[name].codes}
    assert told == PROBLEMS.keys()


def test_every_link_names_an_operation_and_its_parameters() -> None:
    document = contract()
    known = {operation.id for operation in OPERATIONS}
    links = [link for place, link in walk(document) if re.search(r"/links/\w+$", place)]
    assert len(links) > 10
    for link in links:
        assert link["operationId"] in known
        assert link["parameters"]


@pytest.mark.parametrize("example", examples().values(), ids=lambda example: example.name)
def test_the_schema_of_an_answer_describes_the_whole_of_its_example(example: Any) -> None:  # noqa: ANN401
    if example.is_problem:
        schema = "Problem"
    else:
        [operation] = [one for one in OPERATIONS if one.id == example.operation]
        schema = str(operation.answers[0].schema)
    assert faults_of(schema, example.answered) == []


@pytest.mark.parametrize("inspection", INSPECTIONS, ids=lambda inspection: inspection.name)
def test_schema_and_service_agree_on_an_inspection_and_the_answer_is_described(
    service: DemoService,
    inspection: Any,  # noqa: ANN401 - a record of the pack
) -> None:
    body = write_exact(inspection.request)
    key = {"Authorization": f"Bearer {service.secret(('verdicts',))}"}
    response = service.client.post("/v1/verdicts", data=body, content_type="application/json", headers=key)
    by_schema = faults_of("VerdictRequest", json.loads(body))
    if response.status_code == 201:
        assert by_schema == []
        assert faults_of("Verdict", response.get_json()) == []
        record = service.client.get(response.headers["Location"], headers=key)
        assert faults_of("RecordedVerdict", record.get_json()) == []
        return
    assert faults_of("Problem", response.get_json()) == []
    told = [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]
    seen = [
        fault for fault in told if FAULT_CODES[fault[1]].seen_in_schema and fault not in TOLD_BY_THE_FIELDS_TOGETHER
    ]
    assert bool(by_schema) is bool(seen), (told, by_schema)


@pytest.mark.parametrize("limits", load_pack().demo.limits, ids=lambda limits: str(limits["source"]["section"]))
def test_the_limits_of_the_demo_are_bodies_of_the_contract_first_and_second(limits: dict[str, Any]) -> None:
    body = json.loads(write_exact(limits))
    assert faults_of("LimitsBody", body) == []
    assert faults_of("SecondEntryBody", body) == []
    short = {name: value for name, value in body.items() if name not in {"source", "effective_from"}}
    assert faults_of("LimitsBody", short)
    assert faults_of("SecondEntryBody", short) == []


def test_a_body_says_why_it_corrects_and_repeats_something_in_the_other_unit() -> None:
    body = json.loads(write_exact(load_pack().demo.limits[0]))
    corrects = {"limits_id": "a", "revision": 1}
    for more in ({"corrects": corrects}, {"reason": "read from another row"}, {"also": {"unit": "in"}}):
        assert faults_of("LimitsBody", {**body, **more})
    assert faults_of("LimitsBody", {**body, "corrects": corrects, "reason": "read from another row"}) == []


def test_a_hidden_draft_and_an_open_one_are_told_apart() -> None:
    hidden, draft, record = (
        examples()[name].answered for name in ("limits-hidden", "limits-entered", "limits-verified")
    )
    assert faults_of("HiddenDraft", hidden, contract()) == []
    for schema in ("LimitsDraft", "LimitsRecord"):
        assert faults_of(schema, hidden, contract())
    assert faults_of("HiddenDraft", draft, contract())
    assert faults_of("LimitsRecord", draft, contract())
    assert faults_of("LimitsDraft", record, contract())
    for one in (hidden, draft, record):
        assert faults_of("LimitsRevision", one, contract()) == []


def test_an_answer_with_a_field_that_is_not_described_would_be_seen() -> None:
    answer = dict(examples()["verdict-machine"].answered)  # type: ignore[call-overload]  # a document
    assert faults_of("Verdict", answer) == []
    assert faults_of("Verdict", answer | {"extra": 1})
    assert faults_of("Verdict", answer | {"figures": {**answer["figures"], "extra": 1}})
    assert faults_of("Verdict", {name: value for name, value in answer.items() if name != "room"})
    assert faults_of("Verdict", answer | {"extra": 1}, contract()) == []

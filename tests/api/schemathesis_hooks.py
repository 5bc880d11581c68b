"""What Schemathesis is told of this service: data that reaches its core, and checks that a schema cannot state.

It runs inside of the Schemathesis command; what it saw goes to the file that TURNRULE_TEST_CASES names.
"""

from __future__ import annotations

import contextlib
import hashlib
import http.client
import itertools
import json
import os
import re
from http import HTTPStatus
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import schemathesis
from schemathesis import Case, CheckContext, HookContext, Response

from turnrule.api.answering import cursor_for
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.contract_parameters import fixed_parameters
from turnrule.api.problems import PROBLEMS
from turnrule.api.queries import CoverageList

FINEST = 1e-7
WORN = {"rotor": (22.5, 25.9), "drum": (228.7, 231.5), "parking_drum": (190.1, 191.5)}
"""Sizes in mm that a used part of these vehicles may have."""


def _limits(kind: str) -> dict[str, Any]:
    """Limits of an invented vehicle that nobody would question."""
    sizes: dict[str, Any] = {
        "rotor": {"nominal_thickness": 26, "minimum_machining_thickness": 24.6, "discard_thickness": 24},
        "drum": {"nominal_diameter": 228.6, "maximum_machining_diameter": 230.1, "discard_diameter": 230.6},
        "parking_drum": {"nominal_diameter": 190, "maximum_machining_diameter": 190.8, "discard_diameter": 191},
    }
    return {
        "unit": "mm",
        "kind": kind,
        "application": {"make": "Brennor", "model": "Tavik", "year_from": 2016, "year_to": 2019, "axle": "rear"},
        **sizes[kind],
        "machining": "permitted",
        "source": {"document": "Tavik brake data", "publisher": "Brennor", "section": "4.2", "edition": "2016-02"},
        "effective_from": "2016-02-01",
    }


APPLICATIONS = {
    "rotor": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
    "drum": {"make": "Isvalt", "model": "Quorrel", "year": 2019, "axle": "rear"},
    "parking_drum": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "rear"},
}
EXAMPLE_KEY = str(fixed_parameters()["Idempotency-Key"]["example"])
EXAMPLE_NAME = str(fixed_parameters()["new_policy_name"]["example"])
MADE = "made_"
ENTERED = "entered"
"""The vehicle, and the record, of limits that are entered for the call."""

REFERENCE = {"enterLimits", "verifyLimits", "withdrawLimits", "publishRelease"}
CLERK, READER = "TURNRULE_TEST_CLERK", "TURNRULE_TEST_READER"
"""The variables that hold the keys of two people besides the callers."""

LIMITS: dict[str, dict[str, Any]] = {kind: _limits(kind) for kind in ("rotor", "drum", "parking_drum")}

COUNT = itertools.count(1)
"""Names are counted and not drawn: a body that comes again in a later round is to make a policy all the same."""

CURSORS = {
    CoverageList.NOT_FOUND.value: cursor_for(0),
    CoverageList.AWAITING_VERIFICATION.value: cursor_for("a"),
    CoverageList.REVIEW_DUE.value: cursor_for("2026-11-02", "a"),
}
"""A cursor of each of the lists that one address has."""

OFTEN = 0.85
SIZES = re.compile(r"thickness(_inner)?|diameter(_inner)?")
BEYOND = {code for code, fault in FAULT_CODES.items() if not fault.seen_in_schema}
TOGETHER = {
    ("missing", "/vehicle/odometer"),
    ("missing", "/inherits"),
    ("out_of_range", "/application/year_to"),
    ("out_of_range", "/effective_to"),
}
"""Codes of the schema that also tell what fields owe each other, where they do."""


def _chance(body: object, salt: str) -> float:
    """A number between 0 and 1 that hangs on the body alone."""
    digest = hashlib.sha256((salt + json.dumps(body, sort_keys=True, default=str)).encode()).digest()
    return int.from_bytes(digest[:4]) / 2**32


@schemathesis.hook
def map_case(_context: HookContext, case: Case[Any]) -> Case[Any]:
    """Give most of the well-formed bodies names, sizes and codes that exist.

    Everything else of them stays as it was made; without this, hardly one would get beyond the look-up.
    """
    operation = _operation_of(case)
    if not _is_positive(case):
        return case
    if operation == "listMisses" and "after" in case.query and _chance(case.query, "") < OFTEN:
        case.query["after"] = CURSORS[str(case.query.get("list", CoverageList.NOT_FOUND))]
    if not isinstance(case.body, dict):
        return case
    if _chance(case.body, "") < OFTEN and operation == "judgePart":
        case.body = _plausible_request(case.body)
    elif _chance(case.body, "") < OFTEN and operation == "writePolicy":
        case.path_parameters["name"] = MADE  # numbered when it is sent
        case.headers["If-None-Match"] = "*"
        case.headers.pop("If-Match", None)
        case.body = _tighter_policy(case.body)
    elif _chance(case.body, "") < OFTEN and operation in REFERENCE:
        case.body = _plausible_entry(operation, case.body)
        if operation in {"verifyLimits", "withdrawLimits"}:
            case.path_parameters["limits_id"] = ENTERED  # entered when it is sent
    return case


def _plausible_entry(operation: str, body: dict[str, Any]) -> dict[str, Any]:
    """Limits that go together, of a vehicle that is numbered when they are sent; the rest stays as it was made."""
    if operation in {"withdrawLimits", "publishRelease"}:
        return {name: value for name, value in body.items() if name not in {"revision", "follows"}}
    kept: dict[str, Any] = {
        name: body[name] for name in ("note", "review_due") if operation == "verifyLimits" and name in body
    }
    kind = body["kind"]
    vehicle = {**LIMITS[kind]["application"], "model": ENTERED}
    return {**LIMITS[kind], **kept, "application": vehicle}


def _plausible_request(body: dict[str, Any]) -> dict[str, Any]:
    least, greatest = WORN[body["kind"]]

    def sized(value: float) -> float:
        size = least + (greatest - least) * _chance(value, "size")
        return round(size if body["unit"] == "mm" else size / 25.4, 4)

    changed = {name: value for name, value in body.items() if name not in {"release", "limits", "history", "policy"}}
    for name in changed:
        if SIZES.fullmatch(name):
            changed[name] = [sized(value) for value in body[name]]
    if "marking" in body:
        changed["marking"] = sized(body["marking"])
    if "findings" in body:
        changed["findings"] = ["heat_checking", {"finding": "crack_to_edge", "length": 3}][: len(body["findings"])]
    whole = changed | {"application": APPLICATIONS[body["kind"]]}
    return {name: _readable(value) for name, value in whole.items()}


def _readable(value: Any) -> Any:  # noqa: ANN401 - a document of any shape
    """The same with numbers that are too near to 0 to be read moved to where they are."""
    if isinstance(value, dict):
        return {name: _readable(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_readable(inner) for inner in value]
    return 10 * FINEST if isinstance(value, float) and 0 < abs(value) < FINEST else value


def _tighter_policy(body: dict[str, Any]) -> dict[str, Any]:
    """The same policy, where it would loosen the default or name what is not there, without saying so."""
    loosening = {"inherits", "findings", "regulations", "instrument", "derive_machining_limit", "decision_rule"}
    changed = {name: value for name, value in body.items() if name not in loosening}
    if "minimum_points" in body:
        changed["minimum_points"] = max(body["minimum_points"], 4)
    if "minimum_cut" in body:
        changed["minimum_cut"] = max(body["minimum_cut"], 0.05)
    if "groove_limit" in body:
        changed["groove_limit"] = round(body["groove_limit"] / 10_000, 6)
    return changed


@schemathesis.hook
def before_call(_context: HookContext, case: Case[Any], _kwargs: dict[str, Any]) -> None:
    """Let what the examples name be new each time: a key is good for one body, a name for one first revision.

    Otherwise all but the first would be refused for that, and whatever else is wrong with them would not be seen.
    """
    _prepare_reference(case)
    if case.headers.get("Idempotency-Key") == EXAMPLE_KEY:
        told = [case.path_parameters, case.body]
        case.headers["Idempotency-Key"] = f"{EXAMPLE_KEY}-{_chance(told, 'key'):.9f}"
    elif _operation_of(case) in REFERENCE and _is_positive(case) and case.headers.get("Idempotency-Key"):
        case.headers["Idempotency-Key"] = f"{case.headers['Idempotency-Key'][:200]}-{next(COUNT)}"
    name = str(case.path_parameters.get("name"))
    if name.startswith((EXAMPLE_NAME, MADE)) and case.headers.get("If-None-Match") == "*":
        case.path_parameters["name"] = f"{MADE}{next(COUNT)}"
        case.headers.pop("If-Match", None)


def _prepare_reference(case: Case[Any]) -> None:
    """Let there be what the call is about: a vehicle of its own, a draft by somebody else, something to publish."""
    operation = _operation_of(case)
    if operation == "enterLimits" and isinstance(case.body, dict) and _model_of(case.body) == ENTERED:
        case.body = _numbered(case.body)
    elif operation in {"verifyLimits", "withdrawLimits"} and case.path_parameters.get("limits_id") == ENTERED:
        sent: Any = case.body
        body = _numbered(LIMITS[str(sent.get("kind", "rotor"))])
        case.path_parameters["limits_id"] = _sent(CLERK, "/v1/limits", body)["limits_id"]
        if operation == "verifyLimits":
            case.body = {**sent, "application": body["application"]}
    elif operation == "publishRelease" and _is_positive(case):
        body = _numbered(LIMITS["rotor"])
        limits_id = _sent(CLERK, "/v1/limits", body)["limits_id"]
        _sent(READER, f"/v1/limits/{limits_id}/verifications", body)


def _operation_of(case: Case[Any]) -> str:
    return str(case.operation.definition.raw["operationId"])


def _is_positive(case: Case[Any]) -> bool:
    return case.meta is not None and case.meta.generation.mode.is_positive


def _model_of(body: dict[str, Any]) -> object:
    application = body.get("application")
    return application.get("model") if isinstance(application, dict) else None


def _numbered(body: dict[str, Any]) -> dict[str, Any]:
    return {**body, "application": {**body["application"], "model": f"Tavik {next(COUNT)}"}}


def _sent(key: str, path: str, body: dict[str, Any]) -> dict[str, Any]:
    """What the service answers to somebody else, whose keys the test has made."""
    address = urlsplit(os.environ["TURNRULE_TEST_URL"])
    headers = {"Authorization": f"Bearer {os.environ[key]}", "Content-Type": "application/json"}
    with contextlib.closing(http.client.HTTPConnection(str(address.hostname), address.port, timeout=10)) as connection:
        connection.request("POST", path, json.dumps(body), headers)
        response = connection.getresponse()
        answer: dict[str, Any] = json.loads(response.read())
    assert response.status == HTTPStatus.CREATED, answer
    return answer


@schemathesis.deserializer("application/x-ndjson")
def lines_as_list(_context: Any, response: Response) -> list[Any]:  # noqa: ANN401 - the library's own
    """A stream of JSON lines as the list that the contract describes."""
    return [json.loads(line) for line in response.content.splitlines()]


@schemathesis.check
def only_rules_beyond_the_schema(_context: CheckContext, response: Response, case: Case[Any]) -> bool | None:
    """What the schema lets through is refused for what store, catalogue, policy or fields together say, only."""
    meta = case.meta
    if meta is None or not meta.generation.mode.is_positive or response.status_code not in {400, 422}:
        return None
    problem = response.json()
    if problem["type"] == "/problems/idempotency_key_reused":
        return None
    unseen = [fault for fault in problem["errors"] if not _beyond_schema(fault, case.body)]
    assert problem["errors"], f"refused without a reason: {problem}"
    assert not unseen, f"valid by the schema, and refused for: {unseen}"
    return None


def _beyond_schema(fault: dict[str, str], body: object) -> bool:
    code, pointer = fault["code"], fault["pointer"]
    if code in BEYOND or (code, pointer) in TOGETHER:
        return True
    if code == "out_of_range" and (
        re.fullmatch(r"/history/\d+/odometer", pointer) or fault.get("parameter") == "since"
    ):
        return True
    if code in {"out_of_range", "number_out_of_range", "number_too_long", "non_finite_number"}:
        value = _at(body, pointer)
        return isinstance(value, float) and 0 < abs(value) < FINEST
    return False


def _at(body: object, pointer: str) -> object:
    value: Any = body
    for part in pointer.split("/")[1:]:
        value = value[int(part)] if isinstance(value, list) else value[part]
    return value


@schemathesis.check
def every_problem_is_documented(_context: CheckContext, response: Response, _case: Case[Any]) -> bool | None:
    """An error is a problem of the table, its codes are of the list, and nothing of the machine shows in it."""
    if response.status_code < HTTPStatus.BAD_REQUEST:
        return None
    assert response.headers["content-type"] == ["application/problem+json"], response.headers
    problem = response.json()
    assert problem["type"].removeprefix("/problems/") in PROBLEMS, problem
    unknown = [fault["code"] for fault in problem["errors"] if fault["code"] not in FAULT_CODES]
    assert not unknown, unknown
    for secret in ("Traceback", ".py", "sqlite"):
        assert secret not in json.dumps({**problem, "instance": "", "errors": []}), problem
    return None


@schemathesis.hook
def after_call(_context: HookContext, case: Case[Any], response: Response) -> None:
    """Note what each case came to."""
    path = os.environ.get("TURNRULE_TEST_CASES")
    if path is None or case.meta is None:
        return
    seen = {
        "operation": case.operation.definition.raw["operationId"],
        "mode": case.meta.generation.mode.value,
        "phase": str(case.meta.phase.name.value),
        "status": response.status_code,
    }
    with Path(path).open("a", encoding="utf-8") as file:
        file.write(json.dumps(seen) + "\n")

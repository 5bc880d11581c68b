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
from collections.abc import Callable
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
LATHE_NAME = str(fixed_parameters()["lathe_name"]["example"])
MADE = "made_"
SITE = "North"
"""The site that the caller's key is bound to."""

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
    ("missing", "/vehicle/label"),
    ("missing", "/application"),
    ("missing", "/side"),
    ("out_of_range", "/when_new/odometer"),
    ("out_of_range", "/services/last"),
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
    _prepare_query(operation, case)
    if not isinstance(case.body, dict):
        return case
    if _chance(case.body, "") < OFTEN and operation in PLAUSIBLE:
        case.body = PLAUSIBLE[operation](case.body)
    elif _chance(case.body, "") < OFTEN and operation == "writePolicy":
        case.path_parameters["name"] = MADE  # numbered when it is sent
        case.headers["If-None-Match"] = "*"
        case.headers.pop("If-Match", None)
        case.body = _tighter_policy(case.body)
    elif _chance(case.body, "") < OFTEN and operation == "tryPolicy":
        case.path_parameters["name"] = MADE if "candidate" in case.body else "default"
        case.body = _plausible_trial(case.body)
    elif operation == "giveSitePolicy":  # no name that is drawn would ever be a policy's
        case.path_parameters["site"] = SITE  # what the change is based on is read when it is sent
        case.body = {"policy": "default"}
    elif _chance(case.body, "") < OFTEN and operation == "writeLathe":
        case.path_parameters["name"] = MADE  # numbered when it is sent
        case.headers["If-None-Match"] = "*"
        case.headers.pop("If-Match", None)
        case.body = _plausible_lathe(case.body)
    elif _chance(case.body, "") < OFTEN and operation in REFERENCE:
        case.body = _plausible_entry(operation, case.body)
        if operation in {"verifyLimits", "withdrawLimits"}:
            case.path_parameters["limits_id"] = ENTERED  # entered when it is sent
    return case


BY_NAME = {"listLathes", "listPolicies", "listSites"}
"""Lists whose cursor is a name."""


def _plausible_trial(body: dict[str, Any]) -> dict[str, Any]:
    """The same trial, its candidate one that there is, or that may be written."""
    candidates: dict[str, Any] = {
        "candidate": _tighter_policy(body.get("candidate", {})),
        "revision": 1,
        "setting": {"field": "wear_allowance", "values": [0.1, 0.2], "unit": "mm"},
    }
    return {name: candidates.get(name, _readable(value)) for name, value in body.items()}


def _prepare_query(operation: str, case: Case[Any]) -> None:
    """Let a cursor be one of the list that is asked for, and a second grouping another than the first."""
    if operation == "judgeBatch":
        case.body = _plausible_batch(case.body)
    if operation == "listMisses" and "after" in case.query and _chance(case.query, "") < OFTEN:
        case.query["after"] = CURSORS[str(case.query.get("list", CoverageList.NOT_FOUND))]
    if operation in BY_NAME and "after" in case.query and _chance(case.query, "") < OFTEN:
        case.query["after"] = cursor_for("a")
    if operation == "listPolicyChanges" and _chance(case.query, "") < OFTEN:
        case.path_parameters["name"] = "fleet_reserve"
        for name, value in (("revision", 1), ("since", 1), ("against", "careful_bench")):
            if name in case.query or (name == "against" and "since" in case.query):
                case.query[name] = value
    if operation == "countVerdicts" and "then_by" in case.query:
        then_by = case.query.pop("then_by")
        if case.query.setdefault("by", then_by) != then_by:
            case.query["then_by"] = then_by


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
    changed |= _plausible_life(body, sized)
    changed |= _plausible_work(body)
    if "findings" in body:
        changed["findings"] = ["heat_checking", {"finding": "crack_to_edge", "length": 3}][: len(body["findings"])]
    changed.pop("before", None)  # a verdict that is not there
    if "cut_made" in changed:
        changed["stage"] = "after_machining"
    whole = changed | {"application": APPLICATIONS[body["kind"]]}
    return {name: _readable(value) for name, value in whole.items()}


def _plausible_work(body: dict[str, Any]) -> dict[str, Any]:
    """A lathe that is there, where one is named, and dimensions that such a part may have."""
    lathe = body.get("lathe")
    told: dict[str, Any] = {}
    if isinstance(lathe, dict) and "profile" in lathe:
        told["lathe"] = {"profile": LATHE_NAME}
    if "dimensions" in body:
        rotor = {"outer_diameter": 280, "inner_diameter": 160}
        sizes = rotor if body["kind"] == "rotor" else {"width": 45, "outer_diameter": 260}
        told["dimensions"] = {
            name: round(value / (1 if body["unit"] == "mm" else 25.4), 3) for name, value in sizes.items()
        }
    return told


def _plausible_lathe(body: dict[str, Any]) -> dict[str, Any]:
    """The same lathe, its depths, feeds and speeds in their order."""
    least, finishing, greatest = sorted(body[f"{name}_depth"] for name in ("least", "finishing", "greatest"))
    changed = {**body, "least_depth": least, "finishing_depth": finishing, "greatest_depth": greatest}
    for name in ("finishing_feeds", "speeds", "surface_speed"):
        if isinstance(body[name], dict):
            ends = dict(
                zip(("least", "greatest"), sorted(body[name][end] for end in ("least", "greatest")), strict=True)
            )
            changed[name] = {**body[name], **ends}
    feeds = changed["finishing_feeds"]
    fastest = feeds["greatest"] if isinstance(feeds, dict) else max(feeds)
    changed["nose_radius"] = max(body["nose_radius"], fastest)
    return {name: _readable(value) for name, value in changed.items()}


def _plausible_life(body: dict[str, Any], sized: Callable[[float], float]) -> dict[str, Any]:
    """What a request gives for the life that is left, so that it goes together: all of it before today's odometer."""
    asked = {"when_new", "services", "stored_history"} & body.keys()
    if not asked:
        return {}
    name = "thickness" if body["kind"] == "rotor" else "diameter"
    whole: dict[str, Any] = {
        "vehicle": {"label": "unit 114", "odometer": {"value": 60000, "unit": "km"}},
        "side": body.get("side", "left"),
        "when_new": {name: sized(1), "odometer": {"value": 100, "unit": "mi"}},
        "services": {"interval": {"value": 15000, "unit": "km"}},
        "stored_history": body.get("stored_history"),
    }
    return {field: value for field, value in whole.items() if field in asked | {"vehicle", "side"}}


def _plausible_batch(body: Any) -> Any:  # noqa: ANN401 - a list, a document of its own line, or text
    """The same batch, most of its items with names and sizes that exist; text behind a row that can be read."""
    if isinstance(body, list):
        return [_plausible_batch(item) for item in body]
    if isinstance(body, str):
        return f"unit,kind,thickness,marking\nmm,rotor,25.0 25.1,24.0\n{body}"
    return _plausible_request(body) if isinstance(body, dict) and _chance(body, "") < OFTEN else body


def _plausible_axle(body: dict[str, Any]) -> dict[str, Any]:
    """The same for an axle: what the sides share, then each side as a request of its own without what is shared."""
    about = {name: body[name] for name in ("unit", "kind")}
    whole = _plausible_request({name: value for name, value in body.items() if name not in {"left", "right"}})
    size = "thickness" if body["kind"] == "rotor" else "diameter"
    new = LIMITS[body["kind"]][f"nominal_{size}"] / (1 if body["unit"] == "mm" else 25.4)
    for name in ("left", "right"):
        if name in body:
            side = _plausible_request({**about, **body[name]})
            if "new_part" in side:
                side["new_part"] = {size: round(new, 4)}
            whole |= {"vehicle": side["vehicle"]} if "vehicle" in side else {}
            shared = {*about, "application", "vehicle", "side"}
            whole[name] = {field: value for field, value in side.items() if field not in shared}
    whole.pop("side", None)
    return whole


def _plausible_setup(body: dict[str, Any]) -> dict[str, Any]:
    """What was read at the lathe, so that its parts go together: angles below a whole turn, faces of one length."""
    changed = _plausible_request({name: value for name, value in body.items() if name != "tracks"})
    changed.pop("application")
    for reading in changed.get("readings", ()):
        for arc in reading.get("scratch", {}).get("arcs", ())[:1]:
            reading["scratch"]["arcs"] = [{"start": arc["start"] % 180, "end": 180 + arc["end"] % 170}]
    for reading in changed.get("hub", {}).get("readings", ()):
        if "high_spot" in reading:
            reading["high_spot"] %= 360
    if "passes" in changed:
        changed["passes"] = dict(
            zip(("least_depth", "greatest_depth"), sorted(changed["passes"].values()), strict=True)
        )
    if "faces" in changed:
        faces = changed["faces"]
        count = min(len(readings) for name, readings in faces.items() if name != "thickness")
        changed["faces"] = {
            name: _worn(body, count) if name == "thickness" else readings[:count] for name, readings in faces.items()
        }
    if "tracks" in body:
        tracks = [{**track, "distance": place} for place, track in enumerate(body["tracks"])]
        changed["tracks"] = [
            _readable(
                {name: _worn(body, len(value)) if name == "diameters" else value for name, value in track.items()}
            )
            for track in tracks
        ]
        for track in changed["tracks"]:
            track.pop("place", None)
    return changed


def _plausible_quote(body: dict[str, Any]) -> dict[str, Any]:
    """The same quote, its lines about parts that are there, its parts with requests that can be judged."""
    parts: list[dict[str, Any]] = []
    for number, part in enumerate(body.get("parts", ())):
        changed = {**part, "name": f"{number} {part['name']}"[:80]}
        changed.pop("verdict_id", None)  # a verdict that is not there
        if "request" in part:
            changed["request"] = _plausible_request(part["request"])
        parts.append(changed)
    lines: list[dict[str, Any]] = []
    for line in body["lines"]:
        changed = {name: value for name, value in line.items() if name not in {"part", "cut"}}
        if "part" in line and parts:
            changed["part"] = parts[len(lines) % len(parts)]["name"]
        elif "part" in line:
            changed |= {"axle": "front", "side": "both", "kind": "rotor"}
        lines.append(changed)
    kept = {name: value for name, value in body.items() if name not in {"parts", "policy"}}
    told = kept | {"lines": lines} | ({"parts": parts} if "parts" in body else {})
    return {name: _readable(value) for name, value in told.items()}


def _worn(body: dict[str, Any], count: int) -> list[float]:
    """So many sizes that a used part of this kind may have."""
    name = "thickness" if body["kind"] == "rotor" else "diameter"
    sizes: list[float] = _plausible_request({"unit": body["unit"], "kind": body["kind"], name: [count] * count})[name]
    return sizes


def _readable(value: Any) -> Any:  # noqa: ANN401 - a document of any shape
    """The same with numbers that are too near to 0 to be read moved to where they are."""
    if isinstance(value, dict):
        return {name: _readable(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_readable(inner) for inner in value]
    return 10 * FINEST if isinstance(value, float) and 0 < abs(value) < FINEST else value


def _tighter_policy(body: dict[str, Any]) -> dict[str, Any]:
    """The same policy, where it would loosen the default or name what is not there, without saying so."""
    loosening = {
        "inherits",
        "findings",
        "regulations",
        "jurisdictions",
        "instrument",
        "derive_machining_limit",
        "decision_rule",
    }
    changed = {name: value for name, value in body.items() if name not in loosening}
    if "minimum_points" in body:
        changed["minimum_points"] = max(body["minimum_points"], 4)
    if "minimum_cut" in body:
        changed["minimum_cut"] = max(body["minimum_cut"], 0.05)
    if "groove_limit" in body:
        changed["groove_limit"] = round(body["groove_limit"] / 10_000, 6)
    return changed


PLAUSIBLE: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "judgePart": _plausible_request,
    "judgeAxle": _plausible_axle,
    "checkSetup": _plausible_setup,
    "checkQuote": _plausible_quote,
}
"""How the body of an operation is given names and sizes that exist, where that is all that it needs."""


@schemathesis.hook
def before_call(_context: HookContext, case: Case[Any], _kwargs: dict[str, Any]) -> None:
    """Let what the examples name be new each time: a key is good for one body, a name for one first revision.

    Otherwise all but the first would be refused for that, and whatever else is wrong with them would not be seen.
    """
    _prepare_reference(case)
    _prepare_site(case)
    if case.headers.get("Idempotency-Key") == EXAMPLE_KEY:
        told = [case.path_parameters, case.body]
        case.headers["Idempotency-Key"] = f"{EXAMPLE_KEY}-{_chance(told, 'key'):.9f}"
    elif _operation_of(case) in REFERENCE and _is_positive(case) and case.headers.get("Idempotency-Key"):
        case.headers["Idempotency-Key"] = f"{case.headers['Idempotency-Key'][:200]}-{next(COUNT)}"
    name = str(case.path_parameters.get("name"))
    if name.startswith((EXAMPLE_NAME, LATHE_NAME, MADE)) and case.headers.get("If-None-Match") == "*":
        case.path_parameters["name"] = f"{MADE}{next(COUNT)}"
        case.headers.pop("If-Match", None)


def _prepare_site(case: Case[Any]) -> None:
    """Let the change of a site say what it is based on."""
    if _operation_of(case) != "giveSitePolicy" or not _is_positive(case) or case.path_parameters.get("site") != SITE:
        return
    address = urlsplit(os.environ["TURNRULE_TEST_URL"])
    headers = {"Authorization": f"Bearer {os.environ[CLERK]}"}
    with contextlib.closing(http.client.HTTPConnection(str(address.hostname), address.port, timeout=10)) as connection:
        connection.request("GET", f"/v1/sites/{SITE}", headers=headers)
        response = connection.getresponse()
        response.read()
    case.body = {"policy": "default"}  # that of the example is not written here
    case.headers.pop("If-None-Match", None)
    case.headers["If-Match"] = str(response.headers["ETag"])


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
    code, pointer = fault["code"], re.sub(r"^(/parts/\d+/request|/\d+(?=/|$))", "", fault["pointer"])
    if code == "missing" and re.fullmatch(r"/lines/\d+/cut/(inboard|outboard|depth)", pointer):
        return True  # which faces a cut has depends on the part that the line names
    if code in BEYOND or (code, pointer) in TOGETHER:
        return True
    if code == "out_of_range" and (
        re.fullmatch(r"(/left|/right)?/history/\d+/odometer", pointer) or fault.get("parameter") == "since"
    ):
        return True
    if code in {"out_of_range", "number_out_of_range", "number_too_long", "non_finite_number"}:
        value = _at(body, fault["pointer"])
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

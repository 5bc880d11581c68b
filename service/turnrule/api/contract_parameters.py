"""The parameters of addresses and headers, each with its bounds and an example."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import fields

from turnrule.api import impact, queries, report_queries
from turnrule.api.contract_operation import Operation
from turnrule.api.contract_parts import GREATEST_NUMBER, LIMITS_ID, LONGEST_LIMITS_ID, VERDICT_ID, Schema
from turnrule.api.contract_schemas import query_schema
from turnrule.api.contract_sites import SITE_PATTERN as SITE
from turnrule.api.problems import PROBLEMS
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Shape

_EXAMPLES: Mapping[str, object] = {
    "answers": "after",
    "atomic": "false",
    "limit": 2,
    "make": "Corvane",
    "model": "Ostrel",
    "year": 2022,
    "axle": "front",
    "kind": "rotor",
    "brake_option": "B16",
    "release": 1,
    "on": "2026-11-02",
    "revision": 1,
    "site": "North",
    "verdict": "machine",
    "vehicle": "unit 114",
    "reference": "J-20417",
    "since": "2026-11-02T00:00:00Z",
    "until": "2026-12-01T00:00:00Z",
    "limits_id": "corvane-ostrel-2021-front-rotor-b16",
    "limits_revision": 1,
    "list": "awaiting_verification",
    "differ": "verdict",
    "unit": "mm",
    "by": "month",
    "then_by": "site",
    "pair_days": 7,
    "after_days": 14,
    "against": "careful_bench",
}
_OWN_EXAMPLES: Mapping[tuple[Shape, str], object] = {
    (queries.VERDICTS, "after"): "WzFd",
    (queries.PAGE, "after"): "WzFd",
    (queries.NAMES, "after"): "WyJhIl0",
    (report_queries.EVENTS, "after"): "WzBd",
    (queries.AXLES, "after"): "WzFd",
    (queries.COVERAGE, "after"): "WyJhIl0",
    (queries.CHANGES, "after"): "WzEsIiJd",
    (queries.LIMITS, "after"): "WzEsIjIwMjYtMTEtMDIiLDAsImNvcnZhbmUtb3N0cmVsLTIwMTUtZnJvbnQtcm90b3IiXQ",
    (queries.CHANGES, "since"): 0,
    (queries.POLICY_CHANGES, "since"): 1,
    (impact.IMPACT, "since"): 0,
    (impact.IMPACT, "after"): 0,
}
"""Examples of parameters that mean another thing in each list; what is in a cursor is nobody's business."""


def fixed_parameters() -> dict[str, Schema]:
    """The parameters of paths and headers, by their names among the components."""
    return {**_path_parameters(), **_header_parameters()}


def _path_parameters() -> dict[str, Schema]:
    return {
        "verdict_id": _in_path(
            "verdict_id", "The verdict's id.", {"type": "string", "pattern": VERDICT_ID}, "01m7q5st000000000000000001"
        ),
        "axle_id": _in_path(
            "axle_id",
            "The axle verdict's id.",
            {"type": "string", "pattern": VERDICT_ID},
            "01m7q5st000000000000000002",
        ),
        "limits_id": _in_path(
            "limits_id",
            "The record's id.",
            {"type": "string", "pattern": LIMITS_ID, "maxLength": LONGEST_LIMITS_ID},
            "corvane-ostrel-2021-front-rotor-b16",
        ),
        "number": _in_path(
            "number", "The release's number.", {"type": "integer", "minimum": 1, "maximum": GREATEST_NUMBER}, 1
        ),
        "policy_name": _in_path(
            "name", "The policy's name.", {"type": "string", "pattern": CODE.pattern, "maxLength": 63}, "careful_bench"
        ),
        "new_policy_name": _in_path(
            "name",
            "The policy's name; those of the reference pack are taken.",
            {"type": "string", "pattern": CODE.pattern, "maxLength": 63},
            "north_depot",
        ),
        "lathe_name": _in_path(
            "name", "The lathe's name.", {"type": "string", "pattern": CODE.pattern, "maxLength": 63}, "bench_one"
        ),
        "site_name": _in_path(
            "site", "The site, as keys are bound to it.", {"type": "string", "pattern": SITE}, "North"
        ),
        "problem_code": _in_path("code", "The problem's code.", {"type": "string", "enum": list(PROBLEMS)}, "stale"),
    }


def _header_parameters() -> dict[str, Schema]:
    anything = {"type": "string"}  # the server refuses a header that is longer than 8,190 bytes
    return {
        "X-Request-ID": _in_header(
            "X-Request-ID",
            "An id for this request: 1 to 64 of the characters A-Z a-z 0-9 . _ -. It is answered and logged. "
            "Anything else is passed over, and an id is made.",
            anything,
            "7f8a0c4e5b9d4d1e",
        ),
        "Idempotency-Key": _in_header(
            "Idempotency-Key",
            "Any 1 to 255 visible ASCII characters. Within one API key, the same key with the same body gets the first "
            "answer again, to the byte, and nothing is recorded twice; with another body it is refused.",
            {"type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[!-~]{1,255}$"},
            "5f0c0a52-8c0e-4a63-a1f8-0f6f3c8d4f11",
        ),
        "If-None-Match": _in_header(
            "If-None-Match", "The ETag of what the caller has; 304 where it still holds.", anything, f'"{"0" * 32}"'
        ),
        "If-None-Match-All": _in_header(
            "If-None-Match", "The star where what is written must not be there yet.", anything, "*"
        ),
        "If-Match": _in_header(
            "If-Match",
            "The ETag of the revision that was read and is to be followed by this one.",
            anything,
            f'"{"0" * 32}"',
        ),
    }


def _in_path(name: str, description: str, schema: Schema, example: object) -> Schema:
    return _parameter(name, "path", description, schema, example) | {"required": True}


def _in_header(name: str, description: str, schema: Schema, example: object) -> Schema:
    return _parameter(name, "header", description, schema, example)


def _parameter(name: str, where: str, description: str, schema: Schema, example: object) -> Schema:
    return {
        "name": name,
        "in": where,
        "description": description,
        "required": False,
        "schema": schema,
        "example": example,
    }


def query_parameters(plugin: MarshmallowPlugin, operations: tuple[Operation, ...]) -> dict[str, dict[str, Schema]]:
    """The query parameters of each operation: by operation, then by their names among the components."""
    known = fixed_parameters()
    named: dict[str, dict[str, Schema]] = {}
    for operation in operations:
        if operation.query is None:
            continue
        mine = named.setdefault(operation.id, {})
        for name, field in operation.query.fields.items():
            parameter = _in_query(plugin, name, field, operation.query)
            component = name if known.setdefault(name, parameter) == parameter else f"{operation.id}_{name}"
            mine[component] = parameter
    return named


def _in_query(plugin: MarshmallowPlugin, name: str, field: fields.Field[Any], query: Shape) -> Schema:
    schema = query_schema(plugin, field)
    description = str(schema.pop("description"))
    example = _OWN_EXAMPLES.get((query, name), _EXAMPLES.get(name))
    return _parameter(name, "query", description, schema, example) | {"required": bool(field.required)}

"""The contract: one OpenAPI 3.1 document, made through apispec from the shapes that read and the tables beside them.

It is the same to the byte whenever it is made: nothing of the clock, the store or the pack goes into it.
"""

from __future__ import annotations

import copy
import functools
from collections.abc import Mapping
from typing import Any

import yaml
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin

from turnrule.api.contract_axle import axle_schemas
from turnrule.api.contract_batch import batch_schemas
from turnrule.api.contract_certificates import certificate_schemas
from turnrule.api.contract_events import event_schemas
from turnrule.api.contract_examples import Example, examples, examples_of
from turnrule.api.contract_impact import impact_schemas
from turnrule.api.contract_lathes import lathe_schemas
from turnrule.api.contract_limits import limits_schemas
from turnrule.api.contract_lookups import lookup_schemas
from turnrule.api.contract_operation import TAGS, Operation, Success
from turnrule.api.contract_operations import OPERATIONS
from turnrule.api.contract_parameters import fixed_parameters, query_parameters
from turnrule.api.contract_parts import Schema, ref
from turnrule.api.contract_problems import (
    REQUEST_HEADERS,
    RESPONSES,
    header_components,
    header_refs,
    problem_response,
    problem_schemas,
)
from turnrule.api.contract_quote import quote_schemas
from turnrule.api.contract_records import record_schemas
from turnrule.api.contract_releases import release_schemas
from turnrule.api.contract_replay import replay_schemas
from turnrule.api.contract_reports import report_schemas
from turnrule.api.contract_schemas import add_requests, request_plugin
from turnrule.api.contract_setup import setup_schemas
from turnrule.api.contract_sites import site_schemas
from turnrule.api.contract_text import SUMMARY, TITLE, VERSION, description
from turnrule.api.contract_trials import trial_schemas
from turnrule.api.contract_verdict import verdict_schemas

SECURITY = "key"


def contract() -> dict[str, Any]:
    """The OpenAPI document; the caller may change what it got."""
    return copy.deepcopy(_built())


def contract_yaml() -> str:
    """The OpenAPI document as it is kept in the tree."""
    return yaml.dump(contract(), Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=120)


class _Dumper(yaml.SafeDumper):
    """Writes every value in its place, without anchors, paragraphs as they are, and short lists as rows."""

    def ignore_aliases(self, data: object) -> bool:
        """Never point from one place to another."""
        del data
        return True


def _as_block(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    style = "|" if "\n" in text else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


def _as_row(dumper: yaml.SafeDumper, values: list[object]) -> yaml.SequenceNode:
    plain = not any(isinstance(value, dict | list) for value in values)
    return dumper.represent_sequence("tag:yaml.org,2002:seq", values, flow_style=plain)


_Dumper.add_representer(str, _as_block)
_Dumper.add_representer(list, _as_row)


@functools.cache
def _built() -> dict[str, Any]:
    plugin = request_plugin()
    spec = APISpec(
        title=TITLE,
        version=VERSION,
        openapi_version="3.1.0",
        plugins=[plugin],
        info={
            "summary": SUMMARY,
            "description": description(),
            "contact": {"name": "The maintainers of turnrule"},
            "license": {"name": "Proprietary"},
        },
        servers=[{"url": "/", "description": "The service that this document came from."}],
        tags=[{"name": name, "description": text} for name, text in TAGS.items()],
        security=[{SECURITY: []}],
    )
    _add_schemas(spec, plugin)
    _add_components(spec)
    named = query_parameters(plugin, OPERATIONS)
    for parameters in named.values():
        for name, parameter in parameters.items():
            if name not in spec.components.parameters:
                spec.components.parameter(name, parameter["in"], parameter)
    for path in dict.fromkeys(operation.path for operation in OPERATIONS):
        methods = {
            operation.method: _operation(operation, list(named.get(operation.id, {})))
            for operation in OPERATIONS
            if operation.path == path
        }
        spec.path(path, operations=methods, parameters=list[Any](REQUEST_HEADERS))
    return _in_order(spec.to_dict())


def _add_schemas(spec: APISpec, plugin: MarshmallowPlugin) -> None:
    add_requests(spec, plugin)
    for schemas in (
        verdict_schemas(),
        certificate_schemas(),
        batch_schemas(),
        replay_schemas(),
        setup_schemas(),
        quote_schemas(),
        axle_schemas(),
        record_schemas(),
        limits_schemas(),
        release_schemas(),
        impact_schemas(),
        lookup_schemas(),
        lathe_schemas(),
        site_schemas(),
        trial_schemas(),
        report_schemas(),
        event_schemas(),
        problem_schemas(),
    ):
        for name, schema in schemas.items():
            spec.components.schema(name, component=schema)


def _add_components(spec: APISpec) -> None:
    for name, parameter in fixed_parameters().items():
        spec.components.parameter(name, parameter["in"], parameter)
    for name, header in header_components().items():
        spec.components.header(name, header)
    for name in RESPONSES:
        spec.components.response(name, problem_response(name))
    spec.components.response(
        "NotModified",
        {
            "description": "What the caller has still holds; there is no body.",
            "headers": header_refs((*REQUEST_HEADERS, "ETag", "Cache-Control")),
        },
    )
    for example in examples().values():
        if example.sent is not None and not example.is_problem:
            shown = {"summary": example.title, "value": example.sent}
            spec.components.example(_request_name(example), shown)
        spec.components.example(example.component, {"summary": example.title, "value": example.answered})
    spec.components.security_scheme(
        SECURITY,
        {
            "type": "http",
            "scheme": "bearer",
            "description": "A key made by the operator. `x-any-of-scopes` lists the scopes of which it needs one.",
        },
    )


def _request_name(example: Example) -> str:
    return f"{example.component}_request"


def _operation(operation: Operation, query: list[str]) -> Schema:
    fixed = [*operation.parameters, *(["If-None-Match"] if operation.is_kept else [])]
    described: Schema = {
        "operationId": operation.id,
        "summary": operation.summary,
        "description": _with_scopes(operation),
        "tags": [operation.tag],
        "parameters": [*fixed, *query],
        "security": _security(operation),
    }
    if operation.scopes:
        described["x-any-of-scopes"] = list(operation.scopes)
    if operation.body is not None:
        described["requestBody"] = _body(operation)
    described["responses"] = _responses(operation)
    return described


def _with_scopes(operation: Operation) -> str:
    if operation.scopes is None:
        return f"{operation.description} No key is asked for."
    if not operation.scopes:
        return f"{operation.description} Any key will do."
    named = " or ".join(f"`{scope}`" for scope in operation.scopes)
    return f"{operation.description} The key needs the scope {named}; `admin` stands for all."


def _security(operation: Operation) -> list[Mapping[str, list[str]]]:
    return [] if operation.scopes is None else [{SECURITY: []}]


def _body(operation: Operation) -> Schema:
    shown = {
        one.component: {"$ref": f"#/components/examples/{_request_name(one)}"} for one in examples_of(operation.id)
    }
    content: Schema = {"schema": ref(str(operation.body)), "examples": shown}
    others = {media: _schema_of(name) for media, name in operation.other_bodies.items()}
    return {"required": True, "content": {"application/json": content, **others}}


def _schema_of(name: str | None) -> Schema:
    """What stands in a media type: by a schema, or text."""
    return {"schema": {"type": "string"} if name is None else ref(name)}


def _responses(operation: Operation) -> Schema:
    responses: Schema = {str(answer.status): _success(operation, answer) for answer in operation.answers}
    if operation.is_kept:
        responses["304"] = {"$ref": "#/components/responses/NotModified"}
    for name in operation.all_problems:
        responses[RESPONSES[name].status] = {"$ref": f"#/components/responses/{name}"}
    return dict(sorted(responses.items()))


def _success(operation: Operation, answer: Success) -> Schema:
    response: Schema = {
        "description": answer.description,
        "headers": header_refs((*REQUEST_HEADERS, *answer.headers)),
    }
    if answer.media_type is not None:
        content = _content(answer)
        shown = [one for one in examples_of(operation.id) if one.status == answer.status]
        if shown:
            content["examples"] = {one.component: {"$ref": f"#/components/examples/{one.component}"} for one in shown}
        others = {media: _schema_of(name) for media, name in answer.other_types.items()}
        response["content"] = {answer.media_type: content, **others}
    if answer.links:
        response["links"] = answer.links
    return response


def _content(answer: Success) -> Schema:
    """What an answer holds: by a schema, as text, or as bytes that only their media type describes."""
    if answer.schema is not None:
        return {"schema": ref(answer.schema)}
    return {"schema": {"type": "string"}} if str(answer.media_type).startswith("text/") else {}


def _in_order(document: dict[str, Any]) -> dict[str, Any]:
    """The document with its beginning first and its components last, each kind of them by name."""
    components = {kind: dict(sorted(entries.items())) for kind, entries in document["components"].items() if entries}
    first = ("openapi", "info", "servers", "security", "tags", "paths")
    info = {
        name: document["info"][name] for name in ("title", "version", "summary", "description", "contact", "license")
    }
    whole: dict[str, Any] = _plain({**{name: document[name] for name in first}, "info": info, "components": components})
    return whole


def _plain(value: Any) -> Any:  # noqa: ANN401 - a document of any shape
    """A document of nothing but JSON's own types."""
    if isinstance(value, Mapping):
        return {str(name): _plain(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return str(value) if isinstance(value, str) else value

"""The contract as a page shows it: operations, fields with their bounds in words, codes, examples."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turnrule.api.contract_examples import Example, examples
from turnrule.api.contract_problems import RESPONSES
from turnrule.api.request_shapes import CODE


@dataclass(frozen=True, slots=True)
class FieldRow:
    """One field or parameter: what it is called, what it can be, and what it says. `leads_to` names a schema."""

    name: str
    kind: str
    description: str
    needed: bool
    where: str = ""
    leads_to: str | None = None
    example: str | None = None


@dataclass(frozen=True, slots=True)
class SchemaView:
    """One object of the contract with its fields; a closed one is read from requests and takes no others."""

    name: str
    description: str
    fields: Sequence[FieldRow]
    either: Sequence[str]
    closed: bool


@dataclass(frozen=True, slots=True)
class ExampleView:
    """One example: what is sent and what comes back, as text."""

    name: str
    title: str
    sent: str
    status: int
    answered: str


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """One status that an operation can answer with: what it gives, or the codes of the problems that it tells."""

    status: str
    description: str
    schema: str | None
    codes: Sequence[str]


@dataclass(frozen=True, slots=True)
class OperationView:
    """One operation."""

    id: str
    method: str
    path: str
    summary: str
    description: str
    parameters: Sequence[FieldRow]
    body: str | None
    answers: Sequence[AnswerRow]
    examples: Sequence[ExampleView]


@dataclass(frozen=True, slots=True)
class TagView:
    """Operations that belong together."""

    name: str
    description: str
    operations: Sequence[OperationView]


class ContractView:
    """Reads one contract document for a page."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document
        self.schemas: Mapping[str, Any] = document["components"]["schemas"]

    def tags(self) -> list[TagView]:
        """All operations, by their tags."""
        shown: dict[str, list[OperationView]] = {tag["name"]: [] for tag in self.document["tags"]}
        for path, methods in self.document["paths"].items():
            shared = methods.get("parameters", [])
            for method, operation in methods.items():
                if method != "parameters":
                    shown[operation["tags"][0]].append(self._operation(method, path, operation, shared))
        return [TagView(tag["name"], tag["description"], shown[tag["name"]]) for tag in self.document["tags"]]

    def objects(self) -> list[SchemaView]:
        """All schemas, by name."""
        return [self._schema(name, schema) for name, schema in self.schemas.items()]

    def _operation(
        self, method: str, path: str, operation: Mapping[str, Any], shared: Sequence[Mapping[str, Any]]
    ) -> OperationView:
        body = operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema")
        return OperationView(
            id=operation["operationId"],
            method=method.upper(),
            path=path,
            summary=operation["summary"],
            description=operation["description"],
            parameters=[self._parameter(self._found(one)) for one in (*operation["parameters"], *shared)],
            body=name_of(body) if body is not None else None,
            answers=[self._answer(status, one) for status, one in operation["responses"].items()],
            examples=[_example(one) for one in examples().values() if one.operation == operation["operationId"]],
        )

    def _found(self, one: Mapping[str, Any]) -> Mapping[str, Any]:
        """What a reference points to, or the thing itself."""
        if "$ref" not in one:
            return one
        found: Any = self.document
        for part in one["$ref"].removeprefix("#/").split("/"):
            found = found[part]
        return dict(found)

    def _parameter(self, parameter: Mapping[str, Any]) -> FieldRow:
        return FieldRow(
            name=parameter["name"],
            kind=in_words(parameter["schema"]) + _default(parameter["schema"]),
            description=parameter["description"],
            needed=parameter["required"],
            where=parameter["in"],
            example=str(parameter["example"]),
        )

    def _answer(self, status: str, answer: Mapping[str, Any]) -> AnswerRow:
        told = RESPONSES.get(name_of(answer) or "")
        found = self._found(answer)
        content = next(iter(found.get("content", {}).values()), {})
        codes = told.codes if told is not None else ()
        return AnswerRow(status, found["description"], name_of(content.get("schema", {})), codes)

    def _schema(self, name: str, schema: Mapping[str, Any]) -> SchemaView:
        needed = set(schema.get("required", ()))
        parts = dict(schema.get("properties", {}))
        either = [name_of(one) or "" for one in schema.get("oneOf", ())]
        for one in schema.get("allOf", ()):
            pointed = name_of(one)
            if pointed is None:
                parts |= one["properties"]
                needed |= set(one["required"])
            else:
                either.append(pointed)
        rows = [
            FieldRow(field, in_words(part), _description(part), field in needed, leads_to=_leads_to(part))
            for field, part in parts.items()
        ]
        closed = schema.get("additionalProperties") is False or name == "VerdictRequest"
        return SchemaView(name, schema["description"], rows, either, closed)


def name_of(schema: Mapping[str, Any]) -> str | None:
    """The name of the schema that a reference points to."""
    pointer = schema.get("$ref")
    return str(pointer).rsplit("/", 1)[1] if pointer is not None else None


def _leads_to(schema: Mapping[str, Any]) -> str | None:
    """The first named schema that stands in this one."""
    for one in (schema, schema.get("items", {}), *schema.get("oneOf", ()), *schema.get("anyOf", ())):
        if (name := name_of(one)) is not None:
            return name
        if (name := name_of(one.get("items", {}))) is not None:
            return name
        for inner in one.get("anyOf", ()):
            if (name := name_of(inner)) is not None:
                return name
    return None


def _default(schema: Mapping[str, Any]) -> str:
    return f"; {schema['default']} where left out" if "default" in schema else ""


def _description(schema: Mapping[str, Any]) -> str:
    return str(schema.get("description", ""))


def in_words(schema: Mapping[str, Any]) -> str:
    """What a value may be, as a person says it."""
    if (name := name_of(schema)) is not None:
        return name
    for word in ("oneOf", "anyOf"):
        if word in schema:
            return " or ".join(in_words(one) for one in schema[word])
    if "const" in schema:
        return f"always {schema['const']}"
    if "enum" in schema:
        return f"one of {', '.join('null' if one is None else str(one) for one in schema['enum'])}"
    kinds = schema.get("type", "anything")
    listed = list(kinds) if isinstance(kinds, list) else [kinds]
    return " or ".join(_kind_in_words(str(kind), schema) for kind in listed)


def _kind_in_words(kind: str, schema: Mapping[str, Any]) -> str:
    if kind in {"number", "integer"}:
        return ", ".join(filter(None, ("number" if kind == "number" else "whole number", _range(schema))))
    if kind == "string":
        return ", ".join(filter(None, (f"text {_format(schema)}".strip(), _length(schema))))
    if kind == "array":
        return f"list{_count(schema)} of: {in_words(schema.get('items', {}))}"
    return {"boolean": "true or false"}.get(kind, kind)


def _range(schema: Mapping[str, Any]) -> str:
    said = (
        ("exclusiveMinimum", "more than {}"),
        ("minimum", "{} or more"),
        ("maximum", "at most {}"),
        ("exclusiveMaximum", "less than {}"),
    )
    return ", ".join(words.format(_plain(schema[name])) for name, words in said if name in schema)


def _plain(bound: float) -> str:
    """A bound without an exponent."""
    return f"{bound:.10f}".rstrip("0").rstrip(".")


def _format(schema: Mapping[str, Any]) -> str:
    pattern = schema.get("pattern", "")
    if schema.get("format") == "date":
        return "YYYY-MM-DD"
    if schema.get("format") == "date-time":
        return "YYYY-MM-DDThh:mm:ssZ"
    if "\\u2028" in pattern:
        return "on one line, all of it visible"
    if pattern == CODE.pattern:
        return "of small letters, digits and _"
    return f"like {pattern}" if pattern else ""


def _length(schema: Mapping[str, Any]) -> str:
    return f"{schema.get('minLength', 0)} to {schema['maxLength']} characters" if "maxLength" in schema else ""


def _count(schema: Mapping[str, Any]) -> str:
    return f" of {schema.get('minItems', 0)} to {schema['maxItems']}" if "maxItems" in schema else ""


def _example(example: Example) -> ExampleView:
    return ExampleView(
        name=example.name,
        title=example.title,
        sent=as_curl(example),
        status=example.status,
        answered=as_text(example.answered) if example.answered is not None else "",
    )


def as_curl(example: Example) -> str:
    """The request for a shell; the key and the address of the service stand in variables."""
    lines = [f'curl -s "$TURNRULE{example.path}"' if "'" not in example.path else f"curl -s '{example.path}'"]
    if example.method not in {"GET", "POST"}:
        lines.append(f"-X {example.method}")
    if example.scopes is not None:
        lines.append('-H "Authorization: Bearer $KEY"')
    body = example.raw if example.sent is None else as_text(example.sent)
    headers = dict(example.headers)
    if body is not None:
        headers = {"Content-Type": "application/json", **headers}
    lines += [f"-H '{name}: {value}'" for name, value in headers.items()]
    if body is not None:
        lines.append(f"-d '{body}'")
    return " \\\n  ".join(lines)


_WIDE = 88


def as_text(value: object, indent: int = 0) -> str:
    """JSON with short lists and objects on one line, so that a track of readings stays a row."""
    flat = json.dumps(value, ensure_ascii=False)
    if len(flat) + indent <= _WIDE or not isinstance(value, dict | list) or not value:
        return flat
    pad = " " * (indent + 2)
    if isinstance(value, dict):
        inner = [f"{pad}{json.dumps(name)}: {as_text(one, indent + 2)}" for name, one in value.items()]
        return "{\n" + ",\n".join(inner) + "\n" + " " * indent + "}"
    inner = [f"{pad}{as_text(one, indent + 2)}" for one in value]
    return "[\n" + ",\n".join(inner) + "\n" + " " * indent + "]"

"""The contract as a page shows it: operations, fields with their bounds in words, codes, examples."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turnrule.api.contract_examples import Example, examples_of
from turnrule.api.contract_problems import RESPONSES
from turnrule.api.contract_schemas import READ_BODIES
from turnrule.api.contract_wording import as_curl, as_text, default_in_words, in_words, name_of


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
            examples=[
                _example(one)
                for problems in (False, True)
                for one in examples_of(operation["operationId"], problems=problems)
            ],
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
            kind=in_words(parameter["schema"]) + default_in_words(parameter["schema"]),
            description=parameter["description"],
            needed=parameter["required"],
            where=parameter["in"],
            example=str(parameter["example"]),
        )

    def _answer(self, status: str, answer: Mapping[str, Any]) -> AnswerRow:
        told = RESPONSES.get(name_of(answer) or "")
        found = self._found(answer)
        content: Mapping[str, Any] = next(iter(found.get("content", {}).values()), {})
        codes = told.codes if told is not None else ()
        return AnswerRow(status, found["description"], name_of(content.get("schema", {})), codes)

    def _schema(self, name: str, schema: Mapping[str, Any]) -> SchemaView:
        needed = set(schema.get("required", ()))
        parts = dict(schema.get("properties", {}))
        either = [pointed for one in schema.get("oneOf", ()) if (pointed := name_of(one)) is not None]
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
        closed = schema.get("additionalProperties") is False or name in READ_BODIES
        return SchemaView(name, schema["description"], rows, either, closed)


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


def _description(schema: Mapping[str, Any]) -> str:
    return str(schema.get("description", ""))


def _example(example: Example) -> ExampleView:
    return ExampleView(
        name=example.name,
        title=example.title,
        sent=as_curl(example),
        status=example.status,
        answered=as_text(example.answered) if example.answered is not None else "",
    )

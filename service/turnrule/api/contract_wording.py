"""The contract in words: what a value may be as a person says it, and examples as text."""

from __future__ import annotations

import json
import shlex
from collections.abc import Mapping
from typing import Any

from turnrule.api.contract_examples import Example
from turnrule.api.request_shapes import CODE

_WIDE = 88


def name_of(schema: Mapping[str, Any]) -> str | None:
    """The name of the schema that a reference points to."""
    pointer = schema.get("$ref")
    return str(pointer).rsplit("/", 1)[1] if pointer is not None else None


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


def default_in_words(schema: Mapping[str, Any]) -> str:
    """What holds where a parameter is left out."""
    return f"; {schema['default']} where left out" if "default" in schema else ""


def as_curl(example: Example) -> str:
    """The request for a shell; the key and the address of the service stand in variables."""
    lines = [f'curl -s "$TURNRULE{example.path}"']
    if example.method not in {"GET", "POST"}:
        lines.append(f"-X {example.method}")
    if example.scopes is not None:
        lines.append('-H "Authorization: Bearer $KEY"')
    body = example.raw if example.sent is None else as_text(example.sent)
    headers = dict(example.headers)
    if body is not None:
        headers = {"Content-Type": "application/json", **headers}
    lines += [f"-H {shlex.quote(f'{name}: {value}')}" for name, value in headers.items()]
    if body is not None:
        lines.append(f"-d {shlex.quote(body)}")
    return " \\\n  ".join(lines)


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

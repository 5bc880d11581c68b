"""A certificate to read in a terminal: everything that it states, in lines that wrap."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from turnrule.cli.tables import rows, wrapped

_CHECKS = ("check", "quantity", "value", "limit", "unit", "outcome")
_LIMITS = ("limit", "value", "sense", "origin")


def certificate_table(content: bytes) -> str:
    """The certificate in words and tables; text wraps at 88 characters, numbers keep every digit."""
    document = json.loads(content, parse_float=str, parse_int=str)
    lines: list[str] = []
    for heading, body in _sections(document):
        lines += [*wrapped(heading.upper()), *body, ""]
    return "\n".join(lines)


def _sections(document: Mapping[str, Any]) -> Iterator[tuple[str, list[str]]]:
    verdict, metal = document["verdict"], document["metal_taken"]
    yield "certificate of a finished part", wrapped(document["statement"])
    yield f"{'passed' if document['passed'] else 'not passed'}: {verdict['verdict']}", wrapped(verdict["summary"])
    yield "part", _pairs({"kind": document["kind"], **document["part"]})
    yield f"measured (lengths in {document['unit']})", _pairs(document["measured"])
    yield "measured with", _pairs(document["instrument"])
    yield "limits", _limits(document["limits"])
    yield "checks", rows(_CHECKS, document["checks"])
    yield "metal taken", _pairs(metal) if metal is not None else ["not told"]
    yield "cautions", [line for one in document["cautions"] for line in wrapped(f"{one['level']}: {one['text']}")]
    told = {name: value for name, value in verdict.items() if name not in {"summary", "verdict"}}
    under = {name: document[name] for name in ("release", "policy", "pack", "engine")}
    yield "recorded", _pairs({**document["recorded"], "verdict": told, **under, "certificate": document["digest"]})


def _limits(limits: Mapping[str, Any]) -> list[str]:
    """Every limit that governs, and the document that the record of it cites."""
    governing = [
        {"limit": name.replace("_", " "), **told}
        for name, told in limits.items()
        if isinstance(told, Mapping) and "sense" in told
    ]
    cited = {name: limits[name] for name in ("permission", "limits_id", "revision", "source")}
    return [*rows(_LIMITS, governing), *_pairs(cited)]


def _pairs(told: Mapping[str, Any], within: str = "") -> list[str]:
    """A line for each value, under the names that lead to it."""
    lines: list[str] = []
    for name, value in told.items():
        place = f"{within}{name.replace('_', ' ')}"
        lines += _pairs(value, f"{place}, ") if isinstance(value, Mapping) else wrapped(f"{place}: {_shown(value)}")
    return lines


def _shown(value: object) -> str:
    """A value in a line: what is not there is a dash, a list is told in one go."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(_shown, value)) or "none"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_shown(one)}" for name, one in value.items())
    return "-" if value is None else str(value)

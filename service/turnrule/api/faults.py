"""Everything that is wrong with a document, all at once: each fault with its JSON Pointer, code and remedy."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from typing import NamedTuple

from marshmallow import Schema, fields

from turnrule.actions.requests import ReadRequest
from turnrule.judging.faults import Fault

MOST_FAULTS = 100
"""Of the faults of one document, so many are told; nobody mends more at a time."""

_SHOWN = 60
"""Of a value that is quoted in an error, so many characters are shown."""


class Flaw(NamedTuple):
    """What one field has to say against its value; where it stands is known to the schema around it."""

    code: str
    detail: str


class FaultsError(Exception):
    """The document is well-formed and still cannot be taken; `faults` says why.

    `partial` is what could be read of a request all the same, so that the rest of its faults can be found too.
    """

    code = "invalid_request"

    def __init__(self, faults: Iterable[Fault], partial: ReadRequest | None = None) -> None:
        told = islice(faults, MOST_FAULTS)
        self.faults = tuple(sorted(told, key=lambda fault: (fault.pointer, fault.code)))
        self.partial = partial
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in self.faults))


class MalformedError(FaultsError):
    """The bytes are not a JSON document of the kind that is read here."""

    code = "malformed_body"


class TooLargeError(Exception):
    """The body is longer than is read."""

    code = "body_too_large"


def step(pointer: str, name: str | int) -> str:
    """A JSON Pointer one step further down (RFC 6901)."""
    text = str(name).replace("~", "~0").replace("/", "~1")
    return f"{pointer}/{text}"


def quoted(value: object) -> str:
    """A value as an error message shows it: short, in quotes where it is text."""
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."


def nearest(name: str, names: Iterable[str], *, most: int = 1) -> list[str]:
    """The names that `name` may have been meant for, the likeliest first."""
    return difflib.get_close_matches(name, list(names), n=most, cutoff=0.6)


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """A hint to put behind a sentence; empty where nothing is near."""
    near = nearest(name, names)
    return f"; did you mean {near[0]!r}?" if near else ""


def faults_in(
    messages: object, schema: Schema | None, other: Schema | None = None, pointer: str = ""
) -> Iterator[Fault]:
    """Faults out of the nested messages of a marshmallow schema whose fields all raise `Flaw`.

    `other` is the schema of the other kind of part, whose fields are told apart from misspelt ones.
    """
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            if name == "_schema":
                yield from faults_in(inner, schema, other, pointer)
            else:
                yield from _faults_at(name, inner, schema, other, pointer)
        return
    for flaw in messages if isinstance(messages, list) else [messages]:
        if isinstance(flaw, Flaw):
            yield Fault(pointer, flaw.code, flaw.detail)
        else:
            yield Fault(pointer, "invalid", str(flaw))


def _faults_at(
    name: str | int, inner: object, schema: Schema | None, other: Schema | None, pointer: str
) -> Iterator[Fault]:
    below = step(pointer, name)
    if isinstance(inner, list) and any(isinstance(flaw, Flaw) and flaw.code == "unknown_field" for flaw in inner):
        if other is not None and name in other.fields:
            yield Fault(below, "field_of_another_kind", f"{name} is not read of this kind of part; leave it out")
            return
        hint = did_you_mean(str(name), schema.fields if schema is not None else ())
        yield Fault(below, "unknown_field", f"there is no field {quoted(str(name))} here{hint}")
        return
    yield from faults_in(inner, _schema_below(schema, name), _schema_below(other, name), below)


def _schema_below(schema: Schema | None, name: str | int) -> Schema | None:
    """The schema of a nested field; a list index stays in the schema of its list."""
    if schema is None or isinstance(name, int):
        return schema
    field = schema.fields.get(name)
    if isinstance(field, fields.List):
        field = field.inner
    return field.schema if isinstance(field, fields.Nested) else None

"""The small pieces that the schemas of answers are written with (JSON Schema 2020-12)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any

Schema = dict[str, Any]

DIGEST = "^sha256:[0-9a-f]{64}$"
VERDICT_ID = "^[0-9a-hjkmnp-tv-z]{26}$"
LIMITS_ID = "^[a-z0-9][a-z0-9-]*$"
LONGEST_LIMITS_ID = 400
CURSOR = "^[A-Za-z0-9_-]+$"
GREATEST_NUMBER = 2**31 - 1


def ref(name: str, description: str | None = None) -> Schema:
    """A schema among the components."""
    pointed: Schema = {"$ref": f"#/components/schemas/{name}"}
    return pointed if description is None else pointed | {"description": description}


def text(description: str, **more: object) -> Schema:
    """A text."""
    return {"type": "string", "description": description, **more}


def number(description: str, **more: object) -> Schema:
    """A number, exact."""
    return {"type": "number", "description": description, **more}


def whole(description: str, **more: object) -> Schema:
    """A whole number."""
    return {"type": "integer", "description": description, **more}


def truth(description: str) -> Schema:
    """True or false."""
    return {"type": "boolean", "description": description}


def day(description: str) -> Schema:
    """A day of the calendar."""
    return text(description, format="date")


def moment(description: str) -> Schema:
    """A moment in UTC."""
    return text(description, format="date-time")


def words(vocabulary: type[StrEnum] | Iterable[str], description: str) -> Schema:
    """One word of a closed vocabulary."""
    return {"type": "string", "enum": [str(word) for word in vocabulary], "description": description}


def several(entry: Schema, description: str, **more: object) -> Schema:
    """A list."""
    return {"type": "array", "items": entry, "description": description, **more}


def or_null(schema: Schema) -> Schema:
    """The same, or null where it could not be had."""
    if "$ref" in schema:
        description = {"description": schema["description"]} if "description" in schema else {}
        return {"oneOf": [{"$ref": schema["$ref"]}, {"type": "null"}], **description}
    either = schema | {"type": [schema["type"], "null"]}
    return either | {"enum": [*listed, None]} if isinstance(listed := schema.get("enum"), list) else either


def thing(description: str, fields: Mapping[str, Schema], optional: Mapping[str, Schema] | None = None) -> Schema:
    """An object of an answer: the fields are always there, the optional ones where there is something to say.

    It is open: later versions may add fields.
    """
    return {
        "type": "object",
        "description": description,
        "required": list(fields),
        "properties": {**fields, **(optional or {})},
    }


def either_kind(rotor: str, drum: str, description: str) -> Schema:
    """A schema for rotors or one for drums and parking drums, told apart by `kind`."""
    return {
        "description": description,
        "oneOf": [ref(rotor), ref(drum)],
        "discriminator": {
            "propertyName": "kind",
            "mapping": {
                "rotor": f"#/components/schemas/{rotor}",
                "drum": f"#/components/schemas/{drum}",
                "parking_drum": f"#/components/schemas/{drum}",
            },
        },
    }


def both(schema: str, more: Schema, description: str) -> Schema:
    """An object of a schema that holds more beside."""
    return {"description": description, "allOf": [ref(schema), more]}


def page(entry: Schema, description: str, beside: Mapping[str, Schema] | None = None) -> Schema:
    """A page of a list."""
    return thing(
        description,
        {
            "items": several(entry, "The entries of this page, in the list's order."),
            "next": or_null(
                text("The cursor of the next page, as `after`; null on the last page.", pattern=CURSOR, maxLength=1000)
            ),
            **(beside or {}),
        },
    )

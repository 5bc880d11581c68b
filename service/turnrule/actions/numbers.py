"""Exact decimals as JSON: every digit that counts, no trailing zeros, no exponent; and JSON in one canonical form."""

from __future__ import annotations

import hashlib
import json
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

import orjson

from turnrule.judging.lengths import from_mm, on_grid, plain
from turnrule.judging.words import Unit


def text_of(value: Decimal) -> str:
    """A decimal written out plainly: `24.60` is `24.6`, `1E+2` is `100`."""
    text = str(value)
    if "E" in text:
        return f"{plain(value):f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def number(value: Decimal | None) -> orjson.Fragment | None:
    """A decimal as a JSON number of exactly these digits."""
    return None if value is None else orjson.Fragment(text_of(value))


class Lengths:
    """Shows millimetres as JSON numbers in the caller's unit."""

    __slots__ = ("unit",)

    def __init__(self, unit: Unit) -> None:
        self.unit = unit

    def __call__(self, value: Decimal | None, rounding: str = ROUND_HALF_EVEN) -> orjson.Fragment | None:
        """A length: exact where it can be, else to the seventh decimal of an inch, rounded as told."""
        if value is None:
            return None
        if self.unit is not Unit.MM:
            value = from_mm(value, self.unit, rounding)
        return orjson.Fragment(text_of(value))

    def to_seven(self, value: Decimal | None, rounding: str) -> orjson.Fragment | None:
        """A length with seven decimals at most, in either unit, rounded as told."""
        if value is not None and self.unit is Unit.MM:
            value = on_grid(value, rounding)
        return self(value, rounding)


def _exactly(value: object) -> orjson.Fragment:
    if isinstance(value, Decimal):
        return orjson.Fragment(text_of(value))
    raise TypeError(f"{type(value).__name__} is not written as JSON here")


def write_exact(document: object) -> bytes:
    """JSON without spaces, its decimals exact."""
    return orjson.dumps(document, default=_exactly)


def read_exact(content: bytes) -> Any:  # noqa: ANN401 - the caller knows what it wrote
    """JSON that this service wrote itself, every number as an exact decimal."""
    return json.loads(content, parse_float=Decimal, parse_int=Decimal)


def canonical(document: object) -> bytes:
    """JSON with sorted names, UTF-8, no spaces, its decimals exact."""
    return orjson.dumps(document, default=_exactly, option=orjson.OPT_SORT_KEYS)


def canonical_request(document: object) -> bytes:
    """A request in one form that is read as it was: sorted names, UTF-8, no spaces, each number no longer than needed.

    With an exponent where that is shorter: written out, a number of many small digits would be longer than is read.
    """
    return orjson.dumps(document, default=_shortest, option=orjson.OPT_SORT_KEYS)


def _shortest(number: object) -> orjson.Fragment:
    if isinstance(number, Decimal):
        plainly, as_held = text_of(number), str(number)
        return orjson.Fragment(plainly if len(plainly) <= len(as_held) else as_held)
    raise TypeError(f"{type(number).__name__} is not written as JSON here")


def digest_of(canonical_json: bytes) -> str:
    """The digest of a document in its canonical form."""
    return f"sha256:{hashlib.sha256(canonical_json).hexdigest()}"

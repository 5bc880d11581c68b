"""The one reader of JSON: bytes in, Python values with exact decimals out, or every reason why not.

Stricter than the standard library's: UTF-8 only and without a byte order mark, at most 256 KiB and 32 levels,
no doubled names, no NaN or infinities, numbers of at most 32 characters with exponents within 12, and no
characters that hide or reorder text.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice

from turnrule.api.faults import MOST_FAULTS, MalformedError, TooLargeError, step
from turnrule.judging.faults import Fault

LARGEST_BODY = 256 * 1024
DEEPEST = 32
LONGEST_NUMBER = 32
WIDEST_EXPONENT = 12

_OPENING = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"?|([\[{])|[\]}]', re.DOTALL)
_HIDING = re.compile("[\x00\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff]")


def read_json(raw: bytes) -> object:
    """The document in `raw`; every number is a `Decimal`, exactly as written.

    Raises `TooLargeError`, and `MalformedError` with every fault that can be found.
    """
    if len(raw) > LARGEST_BODY:
        raise TooLargeError(f"the body has {len(raw)} bytes; at most {LARGEST_BODY} are read")
    text = _decoded(raw)
    if raw.count(b"[") + raw.count(b"{") > DEEPEST:
        _refuse_depth(raw)
    return _parsed(text)


def _decoded(raw: bytes) -> str:
    if raw.startswith(b"\xef\xbb\xbf"):
        raise _malformed("not_utf8", "the body begins with a byte order mark; send plain UTF-8")
    if b"\x00" in raw:
        raise _malformed("not_utf8", "the body holds NUL bytes, as UTF-16 and UTF-32 do; send plain UTF-8")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _malformed("not_utf8", f"byte {error.start} is not UTF-8; send plain UTF-8") from None


def _refuse_depth(raw: bytes) -> None:
    """Count brackets outside of strings before anything recurses."""
    depth = 0
    for token in _OPENING.finditer(raw):
        if token.group(1) is not None:
            depth += 1
            if depth > DEEPEST:
                raise _malformed("too_deep", f"the body is nested more than {DEEPEST} levels deep")
        elif token.group(0) in {b"]", b"}"}:
            depth -= 1


def _malformed(code: str, detail: str) -> MalformedError:
    return MalformedError([Fault("", code, detail)])


@dataclass(frozen=True, slots=True)
class _Refused:
    """A number that is not taken, in its place in the document until its pointer is known."""

    code: str
    detail: str


class _Doubled(dict[str, object]):
    """An object in which a name stands more than once."""

    names: tuple[str, ...] = ()


def _parsed(text: str) -> object:
    suspicious = not text.isascii() or "\\u" in text

    def number(digits: str) -> Decimal | _Refused:
        nonlocal suspicious
        value = _number(digits)
        if type(value) is not Decimal:
            suspicious = True
        return value

    def constant(word: str) -> _Refused:
        nonlocal suspicious
        suspicious = True
        return _Refused("non_finite_number", f"{word} is no number here; leave the field out if it was not read")

    def members(pairs: list[tuple[str, object]]) -> dict[str, object]:
        nonlocal suspicious
        built = dict(pairs)
        if len(built) == len(pairs):
            return built
        suspicious = True
        doubled = _Doubled(built)
        counted = Counter(name for name, _ in pairs)
        doubled.names = tuple(name for name, times in counted.items() if times > 1)
        return doubled

    decoder = json.JSONDecoder(parse_float=number, parse_int=number, parse_constant=constant, object_pairs_hook=members)
    try:
        document: object = decoder.decode(text)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise _malformed("invalid_json", f"the body is not JSON: {error.msg} at {where}") from None
    if suspicious and (faults := list(islice(_faults(document, ""), MOST_FAULTS))):
        raise MalformedError(faults)
    return document


def _number(digits: str) -> Decimal | _Refused:
    if len(digits) > LONGEST_NUMBER:
        detail = f"a number of {len(digits)} characters; at most {LONGEST_NUMBER} are read"
        return _Refused("number_too_long", detail)
    _, sign, exponent = digits.lower().partition("e")
    if sign and abs(int(exponent)) > WIDEST_EXPONENT:
        code = "number_out_of_range" if math.isfinite(float(digits)) else "non_finite_number"
        return _Refused(code, f"{digits} has an exponent beyond {WIDEST_EXPONENT}; no figure here needs one")
    return Decimal(digits)


def _faults(value: object, pointer: str) -> Iterator[Fault]:
    """Walk the document for what the hooks have marked and for text that hides or reorders."""
    if isinstance(value, _Refused):
        yield Fault(pointer, value.code, value.detail)
    elif isinstance(value, str):
        if (found := _HIDING.search(value)) is not None:
            yield _hidden(pointer, found)
    elif isinstance(value, dict):
        for name in value.names if isinstance(value, _Doubled) else ():
            yield Fault(step(pointer, _visible(name)), "duplicate_key", f"{_visible(name)!r} stands here twice")
        for name, inner in value.items():
            if (found := _HIDING.search(name)) is not None:
                yield _hidden(step(pointer, _visible(name)), found)
            yield from _faults(inner, step(pointer, _visible(name)))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _faults(inner, step(pointer, index))


def _hidden(pointer: str, found: re.Match[str]) -> Fault:
    return Fault(
        pointer,
        "forbidden_character",
        f"U+{ord(found.group()):04X} stands in this text; it cannot be shown or changes how text reads",
    )


def _visible(name: str) -> str:
    """A name that can be shown: what hides or reorders is replaced."""
    return _HIDING.sub("\ufffd", name)

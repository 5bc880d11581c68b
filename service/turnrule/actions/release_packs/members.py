"""Strict reading of one JSON object: every member named, none more, each of its one type, text that shows as it is."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

import orjson

from turnrule.actions.release_packs.damage import RowError

E = TypeVar("E", bound=StrEnum)

LONGEST_TEXT = 4_000
"""No line of text of a pack has more characters."""
LONGEST_PROSE = 40_000
"""No text of several lines has more characters."""
GREATEST_NUMBER = 2**53 - 1
"""No whole number of a pack is greater: beyond it, readers of JSON begin to differ."""

_HIDDEN = re.compile(
    "[\\u0000-\\u001f\\u007f-\\u009f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069\\ud800-\\udfff\\ufeff]"
)
"""Control characters, and those that hide or reorder what stands beside them: no entry holds one."""
_BREAKS = re.compile(r"[\t\r\n]")
_DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,19})(?:\.[0-9]{1,40})?", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z", re.ASCII)


def canonical_line(document: object) -> bytes:
    """A document as it stands in a pack: UTF-8, names sorted, no spaces, only what must be escaped is."""
    return orjson.dumps(document, option=orjson.OPT_SORT_KEYS)


def parsed(content: bytes) -> object:
    """The document in these bytes. Raises `RowError`."""
    try:
        document: object = orjson.loads(content)
    except orjson.JSONDecodeError as error:
        raise RowError(f"is not JSON in UTF-8: {error}") from None
    return document


def decimal_in(name: str, value: object) -> Decimal:
    """A decimal from 0 up, written as text without an exponent. Raises `RowError`."""
    if type(value) is not str or _DECIMAL.fullmatch(value) is None:
        raise RowError(f'{name} must be a decimal in quotes, such as "24.6", not {value!r:.60}')
    return Decimal(value)


def shown(name: str, value: object, *, blank: bool = False) -> str:
    """Text of one line that hides nothing, and is not blank where it may not be. Raises `RowError`."""
    if type(value) is not str:
        raise RowError(f"{name} must be text, not {value!r:.60}")
    if not (blank or value.strip()):
        raise RowError(f"{name} is blank")
    if len(value) > LONGEST_TEXT:
        raise RowError(f"{name} has {len(value)} characters; at most {LONGEST_TEXT} are read")
    _require_visible(name, value)
    return value


def _require_visible(name: str, value: str) -> None:
    if (hidden := _HIDDEN.search(value)) is not None:
        raise RowError(f"{name} holds U+{ord(hidden.group()):04X}, which cannot be shown or changes how text reads")


class Members:
    """The members of one JSON object, each asked for by its name and type; `place` leads to it, as in `fits.`."""

    __slots__ = ("_place", "_values")

    def __init__(self, value: object, names: frozenset[str], place: str = "") -> None:
        """Raises `RowError` where the object does not have exactly these names."""
        if type(value) is not dict:
            raise RowError(f"{place.rstrip('.') or 'this'} must be an object, not {value!r:.60}")
        if value.keys() != names:
            unknown, missing = sorted(value.keys() - names), sorted(names - value.keys())
            wrong = f"{place}{unknown[0]} is no member" if unknown else f"{place}{missing[0]} is missing"
            raise RowError(f"{wrong}; here stand {', '.join(sorted(names))}")
        self._values = value
        self._place = place

    def raw(self, name: str) -> object:
        """Whatever stands there."""
        return self._values[name]

    def text(self, name: str, *, blank: bool = False) -> str:
        """Text; it may be blank where that is said."""
        return shown(f"{self._place}{name}", self._values[name], blank=blank)

    def prose(self, name: str) -> str:
        """Text of any number of lines, which may be blank."""
        value = self._values[name]
        if type(value) is not str:
            raise RowError(f"{self._place}{name} must be text, not {value!r:.60}")
        if len(value) > LONGEST_PROSE:
            raise RowError(f"{self._place}{name} has {len(value)} characters; at most {LONGEST_PROSE} are read")
        _require_visible(f"{self._place}{name}", _BREAKS.sub(" ", value))
        return value

    def maybe_text(self, name: str) -> str | None:
        """Text, or None."""
        return None if self._values[name] is None else self.text(name)

    def whole(self, name: str, *, least: int = 1, most: int = GREATEST_NUMBER) -> int:
        """A whole number within bounds."""
        value = self._values[name]
        if type(value) is not int or not least <= value <= most:
            raise RowError(f"{self._place}{name} must be a whole number from {least} to {most}, not {value!r:.60}")
        return value

    def maybe_whole(self, name: str, *, least: int, most: int) -> int | None:
        """A whole number within bounds, or None."""
        return None if self._values[name] is None else self.whole(name, least=least, most=most)

    def day(self, name: str) -> datetime.date:
        """A day of the calendar."""
        value = self._values[name]
        try:
            return datetime.date.fromisoformat(value if type(value) is str and _DAY.fullmatch(value) else "")
        except ValueError:
            raise RowError(f"{self._place}{name} must be a day, as 2026-04-30, not {value!r:.60}") from None

    def maybe_day(self, name: str) -> datetime.date | None:
        """A day of the calendar, or None."""
        return None if self._values[name] is None else self.day(name)

    def moment(self, name: str) -> datetime.datetime:
        """A moment of UTC, to the microsecond."""
        value = self._values[name]
        try:
            return datetime.datetime.fromisoformat(value if type(value) is str and _MOMENT.fullmatch(value) else "")
        except ValueError:
            wanted = "a moment of UTC, as 2026-04-30T14:05:00.000000Z"
            raise RowError(f"{self._place}{name} must be {wanted}, not {value!r:.60}") from None

    def maybe_decimal(self, name: str) -> Decimal | None:
        """A decimal from 0 up, written as text, or None."""
        value = self._values[name]
        return None if value is None else decimal_in(f"{self._place}{name}", value)

    def word(self, name: str, words: type[E]) -> E:
        """A word of a closed vocabulary."""
        value = self._values[name]
        try:
            return words(value)
        except ValueError:
            raise RowError(f"{self._place}{name} is {value!r:.60}, and none of {', '.join(words)}") from None

    def maybe_word(self, name: str, words: type[E]) -> E | None:
        """A word of a closed vocabulary, or None."""
        return None if self._values[name] is None else self.word(name, words)

    def inner(self, name: str, names: frozenset[str]) -> Members:
        """An object with exactly these names."""
        return Members(self._values[name], names, f"{self._place}{name}.")

    def several(self, name: str) -> Sequence[object]:
        """A list of anything."""
        value = self._values[name]
        if type(value) is not list:
            raise RowError(f"{self._place}{name} must be a list, not {value!r:.60}")
        return value

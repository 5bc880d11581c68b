"""Strict reading of the pack's files: UTF-8 JSON, no doubled and no unknown keys, decimals in quotes, real dates.

Each error names the file, the row, the field and the remedy.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

E = TypeVar("E", bound=StrEnum)

_DECIMAL = re.compile(r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?", re.ASCII)
"""A decimal as the pack writes it: no exponent, no spaces, the digits 0 to 9 only."""
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


class PackError(Exception):
    """A file of the pack cannot be used; the message says where and what to do."""

    code = "invalid_pack"

    def __init__(self, place: str, detail: str) -> None:
        super().__init__(f"{place}: {detail}")
        self.place = place
        self.detail = detail


def read_document(path: Path) -> object:
    """One JSON file; every number is a `Decimal` as written. Raises `PackError`."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise PackError(path.name, f"cannot be read as UTF-8: {error}; save it as UTF-8") from error

    def members(pairs: list[tuple[str, object]]) -> dict[str, object]:
        built: dict[str, object] = {}
        for name, value in pairs:
            if name in built:
                raise PackError(path.name, f"{name!r} stands twice in one object; keep one")
            built[name] = value
        return built

    def constant(word: str) -> object:
        raise PackError(path.name, f"{word} is no number; leave the field out")

    try:
        document: object = json.loads(
            text, parse_float=Decimal, parse_int=Decimal, parse_constant=constant, object_pairs_hook=members
        )
    except (json.JSONDecodeError, RecursionError) as error:
        raise PackError(path.name, f"is not JSON: {error}; correct it there") from error
    return document


def _shown(value: object) -> str:
    """A wrong value as the file has it, cut short."""
    return f"{value}" if isinstance(value, Decimal) else f"{value!r:.60}"


class Row:
    """One object of a file, read field by field; `done` refuses what nobody asked for."""

    def __init__(self, value: object, place: str) -> None:
        if not isinstance(value, Mapping):
            raise PackError(place, "is not an object; write {...}")
        self.place = place
        self._fields = dict(value)
        self._known: set[str] = set()

    def _take(self, name: str, kind: type, words: str, *, needed: bool) -> object:
        self._known.add(name)
        value = self._fields.get(name)
        if value is None and needed:
            raise PackError(self.place, f"{name} is missing; give {words}")
        if value is not None and not isinstance(value, kind):
            raise PackError(self.place, f"{name} must be {words}, not {_shown(value)}")
        return value

    def text(self, name: str) -> str:
        """A needed text that is not blank."""
        value = self._take(name, str, "text", needed=True)
        if not isinstance(value, str) or not value.strip():
            raise PackError(self.place, f"{name} is blank; say it")
        return self._printable(name, value)

    def maybe_text(self, name: str) -> str | None:
        """A text, or None where it is left out."""
        return None if self._take(name, str, "text", needed=False) is None else self.text(name)

    def _printable(self, name: str, text: str) -> str:
        """The text as it is; a line break, a lone surrogate or a mark that turns the reading direction is refused."""
        hidden = next((sign for sign in text if not sign.isprintable()), None)
        if hidden is not None:
            raise PackError(self.place, f"{name} holds the unprintable character U+{ord(hidden):04X}; take it out")
        return text

    def decimal(self, name: str) -> Decimal:
        """A needed decimal, written as text, so that no reader of the file ever makes it a binary fraction."""
        value = self._take(name, str, 'a decimal in quotes, such as "0.38"', needed=True)
        if not isinstance(value, str) or not _DECIMAL.fullmatch(value):
            raise PackError(self.place, f'{name}: {_shown(value)} is no decimal; write one such as "0.38"')
        return Decimal(value)

    def maybe_decimal(self, name: str) -> Decimal | None:
        """A decimal written as text, or None where it is null."""
        self._known.add(name)
        return None if self._fields.get(name) is None else self.decimal(name)

    def version(self) -> None:
        """Raise `PackError` where the field `version` is not the one that this program reads."""
        if self._take("version", Decimal, "the number 1", needed=True) != 1:
            raise PackError(self.place, "version must be 1: this program reads no other")

    def one_of(self, name: str, words: type[E]) -> E:
        """A needed word of a closed vocabulary."""
        return self._word(name, self.text(name), words)

    def all_of(self, name: str, words: type[E]) -> frozenset[E]:
        """A needed list of words of a closed vocabulary, each once."""
        listed = self.texts(name)
        found = frozenset(self._word(name, text, words) for text in listed)
        if not found or len(found) < len(listed):
            raise PackError(self.place, f"{name} needs one word or more, each once")
        return found

    def _word(self, name: str, text: str, words: type[E]) -> E:
        try:
            return words(text)
        except ValueError:
            allowed = ", ".join(words)
            raise PackError(self.place, f"{name}: {text!r} is none of {allowed}") from None

    def texts(self, name: str) -> tuple[str, ...]:
        """A needed list of texts; it may be empty."""
        value = self._take(name, list, "a list of text", needed=True)
        if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
            raise PackError(self.place, f"{name} must be a list of text")
        return tuple(self._printable(name, entry) for entry in value)

    def date(self, name: str) -> datetime.date:
        """A needed date that is in the calendar."""
        text = self.text(name)
        try:
            return datetime.date.fromisoformat(text if _DAY.fullmatch(text) else "")
        except ValueError:
            raise PackError(self.place, f"{name}: {text!r} is no date of the calendar; write YYYY-MM-DD") from None

    def raw(self, name: str) -> object:
        """A needed value of any kind, for another reader."""
        return self._take(name, object, "a value", needed=True)

    def maybe_raw(self, name: str) -> object:
        """A value of any kind, or None."""
        return self._take(name, object, "a value", needed=False)

    def done(self) -> None:
        """Raise `PackError` for a field that was not asked for, with the ones that may stand here."""
        unknown = sorted(self._fields.keys() - self._known)
        if unknown:
            allowed = ", ".join(sorted(self._known))
            raise PackError(self.place, f"unknown field {unknown[0]!r}; here may stand {allowed}")


T = TypeVar("T")


def read_items(path: Path, build: Callable[[Row], T]) -> list[T]:
    """The rows of a file `{"version": 1, "items": [...]}`, each built and then checked for unknown fields."""
    top = Row(read_document(path), path.name)
    top.version()
    items = top.raw("items")
    top.done()
    if not isinstance(items, list):
        raise PackError(path.name, "items must be a list; write [...]")
    built = []
    for index, item in enumerate(items):
        row = Row(item, f"{path.name}, item {index + 1}")
        built.append(build(row))
        row.done()
    return built

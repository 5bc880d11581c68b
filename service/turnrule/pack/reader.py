"""Strict reading of the pack's files: UTF-8 JSON, no doubled and no unknown keys, exact decimals, real dates.

Each error names the file, the row, the field and the remedy.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Mapping
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

E = TypeVar("E", bound=StrEnum)


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
        raise PackError(path.name, f"cannot be read as UTF-8: {error}") from error

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
        raise PackError(path.name, f"is not JSON: {error}") from error
    return document


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
            raise PackError(self.place, f"{name} must be {words}, not {value!r}")
        return value

    def text(self, name: str) -> str:
        """A needed text that is not blank."""
        value = self._take(name, str, "text", needed=True)
        if not isinstance(value, str) or not value.strip():
            raise PackError(self.place, f"{name} is blank; say it")
        return value

    def maybe_text(self, name: str) -> str | None:
        """A text, or None where it is left out."""
        value = self._take(name, str, "text", needed=False)
        return value if isinstance(value, str) else None

    def decimal(self, name: str) -> Decimal:
        """A needed number."""
        value = self._take(name, Decimal, "a number", needed=True)
        if not isinstance(value, Decimal):  # pragma: no cover - _take has seen to it
            raise PackError(self.place, f"{name} must be a number")
        return value

    def maybe_decimal(self, name: str) -> Decimal | None:
        """A number, or None where it is left out."""
        value = self._take(name, Decimal, "a number", needed=False)
        return value if isinstance(value, Decimal) else None

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
        return tuple(value)

    def date(self, name: str) -> datetime.date:
        """A needed date that is in the calendar."""
        text = self.text(name)
        try:
            return datetime.date.fromisoformat(text)
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
    if top.decimal("version") != 1:
        raise PackError(path.name, "version must be 1: this program reads no other")
    items = top.raw("items")
    top.done()
    if not isinstance(items, list):
        raise PackError(path.name, "items must be a list")
    built = []
    for index, item in enumerate(items):
        row = Row(item, f"{path.name}, item {index + 1}")
        built.append(build(row))
        row.done()
    return built

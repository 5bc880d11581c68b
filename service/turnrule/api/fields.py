"""The fields of every document read here: strict, exact, and each fault with a stable code.

A number is a JSON number and never text, a truth value or a binary float; a list of numbers is read in one go.
Each field carries its bounds as validators or metadata, so that the contract is written from the same object.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from turnrule.api.faults import Flaw, did_you_mean, quoted

FINEST = Decimal("1E-7")
"""The least size of a number that is not 0: 0.1 nm, where the number is a length."""

SEEN = "[^\\s\\u0000-\\u001f\\u007f-\\u009f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069\\ud800-\\udfff\\ufeff]"
_SHOWN = "[^\\u0000-\\u001f\\u007f-\\u009f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069\\ud800-\\udfff\\ufeff]"
LINE = re.compile(f"^{SEEN}{_SHOWN}*$")
"""One line of text that shows as it is: no control or reordering characters, and not blank at its beginning."""

_COMMA = re.compile(r"\s*[-+]?[0-9]+,[0-9]+\s*", re.ASCII)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(r"[0-9]{4}(-[0-9]{2}){2}T[0-9]{2}(:[0-9]{2}){2}(\.[0-9]{1,6})?(Z|[-+][0-9]{2}:[0-9]{2})")


def flawed(code: str, detail: str) -> ValidationError:
    """An error of one field."""
    return ValidationError([Flaw(code, detail)])  # type: ignore[list-item]  # passed through as it is


class Coded:
    """Gives the messages that marshmallow itself raises their codes."""

    codes: Mapping[str, Flaw] = {
        "required": Flaw("missing", "this field is needed; nothing is assumed in its place"),
        "null": Flaw("wrong_type", "null says nothing; leave the field out instead"),
        "invalid": Flaw("wrong_type", "this is not of the type that is read here"),
        "type": Flaw("wrong_type", "this is not an object"),
    }

    def make_error(self, key: str, **_parameters: Any) -> ValidationError:
        """The coded error for one of marshmallow's own message keys."""
        return ValidationError([self.codes[key]])  # type: ignore[list-item]  # passed through as it is


class Within(validate.Range):
    """Bounds of a number, named in the error."""

    def __call__(self, value: Any) -> Any:
        """Return the value, or raise `out_of_range`."""
        low, high = self.min, self.max
        if low is not None and (value < low or (value == low and not self.min_inclusive)):
            beyond = "at least" if self.min_inclusive else "more than"
            raise flawed("out_of_range", f"{_short(value)} is too small; it must be {beyond} {low}")
        if high is not None and (value > high or (value == high and not self.max_inclusive)):
            raise flawed("out_of_range", f"{_short(value)} is too great; it must be at most {high}")
        return value


class Sized(validate.Length):
    """Bounds of how many characters or entries there are."""

    def __call__(self, value: Any) -> Any:
        """Return the value, or raise `too_long`, `too_short`, `too_many` or `too_few`."""
        count = len(value)
        text = isinstance(value, str)
        of = "characters" if text else "entries"
        if self.max is not None and count > self.max:
            raise flawed("too_long" if text else "too_many", f"{count} {of}; at most {self.max} are read")
        if self.min is not None and count < self.min:
            raise flawed("too_short" if text else "too_few", f"{count} {of}; at least {self.min} are needed")
        return value


def _short(value: object) -> str:
    return quoted(f"{value:f}") if isinstance(value, Decimal) else quoted(value)


def exact(value: object, *, signed: bool = False) -> Decimal:
    """A JSON number as an exact decimal, or raise `invalid_number` or `out_of_range` with the remedy."""
    if type(value) is Decimal:
        number = value
    elif type(value) is int:
        number = Decimal(value)
    else:
        raise flawed("invalid_number", _why_no_number(value))
    if not number.is_finite():
        raise flawed("invalid_number", "only finite numbers are read")
    if not number:
        if number.is_signed() and not signed:
            raise flawed("out_of_range", "a zero has no sign here; write 0")
        return number.copy_abs()
    if abs(number) < FINEST:
        raise flawed("out_of_range", f"{quoted(str(number))} is closer to 0 than anything is read; write 0")
    return number


def _why_no_number(value: object) -> str:
    if isinstance(value, str):
        if _COMMA.fullmatch(value):
            meant = value.strip().replace(",", ".")
            return f"write a decimal point, not a comma, and no quotes: {meant} in place of {quoted(value)}"
        return f"{quoted(value)} is text; write the number without quotes, with a decimal point"
    if isinstance(value, bool):
        return f"{str(value).lower()} is no number"
    if value is None:
        return "null is no number; leave the field out if it was not read"
    if isinstance(value, float):
        return "a binary float is not exact; read the document with exact decimals"
    return "this is no number"


class ExactDecimal(Coded, fields.Decimal):
    """A number, read exactly; `signed` where it may be below zero."""

    def __init__(self, *, signed: bool = False, **kwargs: Any) -> None:
        self.signed = signed
        super().__init__(**kwargs)

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> Decimal:
        return exact(value, signed=self.signed)

    def _serialize(self, value: Any, _attr: str | None, _obj: Any, **_kwargs: Any) -> Any:
        """A bound as the contract shows it."""
        return int(value) if value == int(value) else float(value)


class WholeNumber(Coded, fields.Integer):
    """A whole number; 2022.0 is one and 2022.5 is not. As text where it comes out of an address."""

    def __init__(self, *, text: bool = False, **kwargs: Any) -> None:
        self.text = text
        super().__init__(**kwargs)

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> int:
        if self.text:
            if not re.fullmatch(r"-?[0-9]{1,18}", value):
                raise flawed("invalid_number", f"{quoted(value)} is not a whole number")
            return int(value)
        number = exact(value)
        if number != number.to_integral_value():
            raise flawed("invalid_number", f"{_short(number)} is not a whole number")
        return int(number)


class NumberList(Coded, fields.List):
    """A list of numbers within the same bounds, read in one go; each bad entry is named by its place."""

    def __init__(self, entry: ExactDecimal, *, size: Sized, **kwargs: Any) -> None:
        self.entry = entry
        self.size = size
        bounds = [validator for validator in entry.validators if isinstance(validator, Within)]
        self.bounds = bounds[0]
        super().__init__(entry, validate=size, **kwargs)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise flawed("wrong_type", "this is a list of numbers, in square brackets, even where it has one")
        self.size(value)
        if set(map(type, value)) == {Decimal} and self._plain(value):
            return tuple(value)
        read: list[Decimal] = []
        errors: dict[int, list[object]] = {}
        for index, entry in enumerate(value):
            try:
                read.append(self.entry.deserialize(entry, attr, data))
            except ValidationError as error:
                errors[index] = list(error.messages)
        if errors:
            raise ValidationError(errors)  # type: ignore[arg-type]  # nested by place, as marshmallow's own are
        return tuple(read)

    def _plain(self, numbers: list[Decimal]) -> bool:
        """True where every entry is surely within its bounds and needs no second look."""
        least, greatest = min(numbers), max(numbers)
        low, high = self.bounds.min, self.bounds.max
        return low is not None and low >= 0 and least >= FINEST and least >= low and (high is None or greatest <= high)


class Text(Coded, fields.String):
    """One line of text that shows as it is."""

    def __init__(self, *, most: int, pattern: re.Pattern[str] = LINE, **kwargs: Any) -> None:
        self.pattern = pattern
        super().__init__(validate=[Sized(min=1, max=most), _Readable(pattern)], **kwargs)

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> str:
        if not isinstance(value, str):
            raise flawed("wrong_type", "this is text, in quotes")
        return value


class _Readable(validate.Regexp):
    """Text of one pattern."""

    def __call__(self, value: Any) -> Any:
        """Return the value, or raise `invalid_text`."""
        if self.regex.match(value) is None or value.endswith("\n"):
            raise flawed("invalid_text", f"{quoted(value)} cannot stand here; it must match {_named(self.regex)}")
        return value


def _named(pattern: re.Pattern[str]) -> str:
    return "one line of visible text" if pattern is LINE else pattern.pattern


class Choice(Coded, fields.String):
    """One word of a closed vocabulary."""

    def __init__(self, words: type[StrEnum], **kwargs: Any) -> None:
        self.words = {word.value: word for word in words}
        metadata = {"enum": list(self.words), **kwargs.pop("metadata", {})}
        super().__init__(metadata=metadata, **kwargs)

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> Any:
        if isinstance(value, str) and (word := self.words.get(value)) is not None:
            return word
        hint = did_you_mean(value, self.words) if isinstance(value, str) else ""
        raise flawed("invalid_choice", f"{quoted(value)} is none of {', '.join(self.words)}{hint}")


class IsoDate(Coded, fields.Date):
    """A day as YYYY-MM-DD that exists in the calendar."""

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> datetime.date:
        if not isinstance(value, str) or _DATE.fullmatch(value) is None:
            raise flawed("invalid_date", f"{quoted(value)} is no date; write it as 2026-04-30")
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise flawed("invalid_date", f"there is no day {quoted(value)}") from None


class Instant(Coded, fields.AwareDateTime):
    """A moment with its offset from UTC (RFC 3339), read into UTC."""

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> datetime.datetime:
        if not isinstance(value, str) or _MOMENT.fullmatch(value) is None:
            raise flawed("invalid_date", f"{quoted(value)} is no moment; write it as 2026-04-30T14:05:00Z")
        try:
            return datetime.datetime.fromisoformat(value).astimezone(datetime.UTC)
        except (ValueError, OverflowError):
            raise flawed("invalid_date", f"{quoted(value)} is not in the calendar") from None


class ListOf(Coded, fields.List):
    """A list of objects or words."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise flawed("wrong_type", "this is a list, in square brackets, even where it has one entry")
        for validator in self.validators:
            if isinstance(validator, Sized):
                validator(value)
        return super()._deserialize(value, attr, data, **kwargs)


class Shape(Schema):
    """An object with these fields and no others."""

    error_messages = {  # noqa: RUF012 - marshmallow's own way of overriding
        "unknown": Flaw("unknown_field", "there is no such field here"),
        "type": Flaw("wrong_type", "this is an object, in curly brackets"),
    }

    def load(self, data: Any, **_options: Any) -> dict[str, Any]:
        """The values of the fields that are there. Raises `ValidationError` with every flaw.

        marshmallow's own way asks every field of the schema; this one asks those that the document has, which
        is a third of the work for a request with a third of the fields.
        """
        if not isinstance(data, dict):
            raise ValidationError({"_schema": [self.error_messages["type"]]})  # type: ignore[dict-item]
        values: dict[str, Any] = {}
        errors: dict[str, Any] = {}
        known = self.load_fields
        for name, raw in data.items():
            field = known.get(name)
            if field is None:
                errors[name] = [self.error_messages["unknown"]]
                continue
            try:
                values[name] = field.deserialize(raw, name, data)
            except ValidationError as error:
                errors[name] = error.messages
        for name in self.needed:
            if name not in data:
                errors[name] = [Coded.codes["required"]]
        if errors:
            raise ValidationError(errors, valid_data=values)
        return values

    @functools.cached_property
    def needed(self) -> tuple[str, ...]:
        """The fields that must be there."""
        spared = self.partial if isinstance(self.partial, tuple) else ()
        return tuple(name for name, field in self.load_fields.items() if field.required and name not in spared)


class Inner(Coded, fields.Nested):
    """An object within an object."""

    def _deserialize(self, value: Any, _attr: str | None, _data: Any, **_kwargs: Any) -> Any:
        return self.schema.load(value)

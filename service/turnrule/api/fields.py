"""The fields of every document read here: strict, exact, and each fault with a stable code.

A number is a JSON number and never text, a truth value or a binary float; a list of numbers is read in one go.
Each field carries its bounds as validators or metadata, so that the contract is written from the same object.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any

from marshmallow import ValidationError, fields

from turnrule.api.bounds import LINE, Readable, Sized, Within, flawed, short
from turnrule.api.exact_numbers import FINEST, exact
from turnrule.api.faults import Flaw, did_you_mean, quoted

_WHOLE = re.compile(r"-?[0-9]{1,18}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(r"[0-9]{4}(-[0-9]{2}){2}T[0-9]{2}(:[0-9]{2}){2}(\.[0-9]{1,6})?(Z|[-+][0-9]{2}:[0-9]{2})")


class Coded:
    """Reads a value by `read`, and gives the messages that marshmallow itself raises their codes."""

    codes: Mapping[str, Flaw] = {
        "required": Flaw("missing", "this field is needed; nothing is assumed in its place"),
        "null": Flaw("wrong_type", "null says nothing; leave the field out instead"),
    }

    def make_error(self, key: str, **_parameters: object) -> ValidationError:
        """The coded error for one of marshmallow's own message keys."""
        return ValidationError([self.codes[key]])

    validators: list[Callable[[Any], Any]]

    def read(self, value: object) -> Any:  # noqa: ANN401 - each field reads into its own type
        """The value that was meant, whatever its bounds. Raises `ValidationError` with a `Flaw`."""
        raise NotImplementedError

    def take(self, value: object) -> Any:  # noqa: ANN401 - as above
        """The value that was meant, within its bounds; the first flaw of it is raised."""
        if value is None:
            raise self.make_error("null")
        read = self.read(value)
        for check in self.validators:
            check(read)
        return read

    def _deserialize(self, value: object, *_place: object, **_options: object) -> Any:  # noqa: ANN401 - as above
        return self.read(value)


class ExactDecimal(Coded, fields.Decimal):
    """A number, read exactly; `signed` where it may be below zero."""

    def __init__(self, bounds: Within, *, signed: bool = False, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.bounds = bounds
        self.signed = signed
        super().__init__(validate=bounds, **options)

    def read(self, value: object) -> Decimal:
        """A decimal of exactly the digits that were written."""
        return exact(value, signed=self.signed)

    def _serialize(self, value: Any, *_place: object, **_options: object) -> Any:  # noqa: ANN401 - marshmallow's
        """A bound as the contract shows it."""
        return float(value) if isinstance(value, Decimal) else value


class WholeNumber(Coded, fields.Integer):
    """A whole number; 2022.0 is one and 2022.5 is not. As text where it comes out of an address."""

    def __init__(self, bounds: Within, *, text: bool = False, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.text = text
        super().__init__(validate=bounds, **options)

    def read(self, value: object) -> int:
        """A whole number, exactly."""
        if self.text:
            if not isinstance(value, str) or _WHOLE.fullmatch(value) is None:
                raise flawed("invalid_number", f"{quoted(value)} is not a whole number")
            return int(value)
        number = exact(value)
        if number != number.to_integral_value():
            raise flawed("invalid_number", f"{short(number)} is not a whole number")
        return int(number)


class NumberList(Coded, fields.List[Decimal]):
    """A list of numbers within the same bounds, read in one go; each bad entry is named by its place."""

    def __init__(self, entry: ExactDecimal, size: Sized, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.entry = entry
        self.entries = size
        super().__init__(entry, validate=size, **options)

    def read(self, value: object) -> tuple[Decimal, ...]:
        """The numbers in their order."""
        if not isinstance(value, list):
            raise flawed("wrong_type", "this is a list of numbers, in square brackets, even where it has one")
        self.entries(value)
        if set(map(type, value)) == {Decimal} and self._plain(value):
            return tuple(value)
        read: list[Decimal] = []
        errors: dict[int, list[object]] = {}
        for index, entry in enumerate(value):
            try:
                read.append(self.entry.take(entry))
            except ValidationError as error:
                errors[index] = list(error.messages)
        if errors:
            raise ValidationError(errors)
        return tuple(read)

    def _plain(self, numbers: list[Decimal]) -> bool:
        """True where every entry is surely within bounds that begin at 0, and needs no second look."""
        try:
            return not self.entry.signed and min(numbers) >= FINEST and max(numbers) <= self.entry.bounds.most
        except InvalidOperation:  # one of them is no number, and is named when each is looked at
            return False


class Text(Coded, fields.String):
    """One line of text that shows as it is, or text of a form."""

    def __init__(
        self,
        most: int,
        *,
        least: int = 1,
        pattern: re.Pattern[str] = LINE,
        **options: Any,  # noqa: ANN401 - marshmallow's
    ) -> None:
        super().__init__(validate=[Sized(least=least, most=most), Readable(pattern)], **options)

    def read(self, value: object) -> str:
        """The text as it is."""
        if not isinstance(value, str):
            raise flawed("wrong_type", "this is text, in quotes")
        return value


class Choice(Coded, fields.String):
    """One word of a closed vocabulary."""

    def __init__(self, words: type[StrEnum] | Iterable[str], **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.words: dict[str, str] = {str(word): word for word in words}
        metadata = {"enum": list(self.words), **options.pop("metadata", {})}
        super().__init__(metadata=metadata, **options)

    def read(self, value: object) -> str:
        """The word, as the vocabulary has it."""
        if isinstance(value, str) and (word := self.words.get(value)) is not None:
            return word
        hint = did_you_mean(value, self.words) if isinstance(value, str) else ""
        raise flawed("invalid_choice", f"{quoted(value)} is none of {', '.join(self.words)}{hint}")


class Truth(Coded, fields.Boolean):
    """True or false, and nothing that only means it."""

    def read(self, value: object) -> bool:
        """The truth value."""
        if not isinstance(value, bool):
            raise flawed("wrong_type", "this is true or false, without quotes")
        return value


class IsoDate(Coded, fields.Date):
    """A day as YYYY-MM-DD that exists in the calendar."""

    def read(self, value: object) -> datetime.date:
        """The day."""
        if not isinstance(value, str) or _DATE.fullmatch(value) is None:
            raise flawed("invalid_date", f"{quoted(value)} is no date; write it as 2026-04-30")
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            raise flawed("invalid_date", f"there is no day {quoted(value)}") from None


class Instant(Coded, fields.AwareDateTime):
    """A moment with its offset from UTC (RFC 3339), read into UTC."""

    def read(self, value: object) -> datetime.datetime:
        """The moment, in UTC."""
        if not isinstance(value, str) or _MOMENT.fullmatch(value) is None:
            raise flawed("invalid_date", f"{quoted(value)} is no moment; write it as 2026-04-30T14:05:00Z")
        try:
            return datetime.datetime.fromisoformat(value).astimezone(datetime.UTC)
        except (ValueError, OverflowError):
            raise flawed("invalid_date", f"{quoted(value)} is not in the calendar") from None

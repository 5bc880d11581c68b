"""What a value must be besides its type: within bounds, of some length, readable; each breach with a stable code."""

from __future__ import annotations

import re
from collections.abc import Sized as HasLength
from decimal import Decimal
from typing import TypeVar

from marshmallow import ValidationError, validate

from turnrule.api.faults import Flaw, quoted

Value = TypeVar("Value")
Counted = TypeVar("Counted", bound=HasLength)

_HIDDEN = "\\u0000-\\u001f\\u007f-\\u009f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069\\ud800-\\udfff\\ufeff"
LINE = re.compile(f"^[^\\s{_HIDDEN}][^{_HIDDEN}]*$")
"""One line of text that shows as it is: no control or reordering characters, and not blank at its beginning."""


def flawed(code: str, detail: str) -> ValidationError:
    """An error of one field."""
    return ValidationError([Flaw(code, detail)])


def short(value: object) -> str:
    """A value as a message shows it, numbers without an exponent."""
    return f"{value:f}"[:60] if isinstance(value, Decimal) else quoted(value)


class Within(validate.Range):
    """Bounds of a number, named in the error."""

    def __init__(self, *, least: int | None = None, above: int | None = None, most: int | Decimal) -> None:
        """At least `least`, or more than `above`; at most `most`."""
        super().__init__(min=least if above is None else above, max=most, min_inclusive=above is None)
        self.least = least
        self.above = above
        self.most = most

    def __call__(self, value: Value) -> Value:
        """Return the value, or raise `out_of_range`."""
        if self.least is not None and value < self.least:  # type: ignore[operator]  # only numbers get here
            raise flawed("out_of_range", f"{short(value)} is too small; it must be at least {self.least}")
        if self.above is not None and value <= self.above:  # type: ignore[operator]
            raise flawed("out_of_range", f"{short(value)} is too small; it must be more than {self.above}")
        if value > self.most:  # type: ignore[operator]
            raise flawed("out_of_range", f"{short(value)} is too great; it must be at most {self.most}")
        return value


class Sized(validate.Length):
    """Bounds of how many characters or entries there are."""

    def __init__(self, *, least: int = 0, most: int) -> None:
        super().__init__(min=least, max=most)
        self.least = least
        self.most = most

    def __call__(self, value: Counted) -> Counted:
        """Return the value, or raise `too_long`, `too_short`, `too_many` or `too_few`."""
        count = len(value)
        if self.least <= count <= self.most:
            return value
        text = isinstance(value, str)
        of = "characters" if text else "entries"
        if count > self.most:
            raise flawed("too_long" if text else "too_many", f"{count} {of}; at most {self.most} are read")
        raise flawed("too_short" if text else "too_few", f"{count} {of}; at least {self.least} are needed")


class Readable(validate.Regexp):
    """Text of one pattern, from its beginning to its end."""

    def __init__(self, pattern: re.Pattern[str]) -> None:
        super().__init__(pattern)
        self.pattern = pattern

    def __call__(self, value: str) -> str:  # type: ignore[override]  # bytes are no text here
        """Return the value, or raise `invalid_text`."""
        if value and self.pattern.fullmatch(value) is None:
            wanted = "one line of visible text" if self.pattern is LINE else f"of the form {self.pattern.pattern}"
            raise flawed("invalid_text", f"{quoted(value)} cannot stand here; it must be {wanted}")
        return value

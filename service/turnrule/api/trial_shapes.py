"""The body of a policy trial: a candidate, the stored verdicts that it is tried on, and what parts cost."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields

from turnrule.actions.trial_candidates import MOST_VALUES, SETTINGS, WORDS, SettingValue
from turnrule.actions.trialling import MOST_VERDICTS
from turnrule.api.bounds import Sized, Within, flawed
from turnrule.api.exact_numbers import exact
from turnrule.api.fields import Choice, Coded, ExactDecimal, Instant, Text, Truth, WholeNumber
from turnrule.api.policy_shapes import PolicyShape
from turnrule.api.shapes import Inner, Shape
from turnrule.judging.words import Axle, Kind

DEFAULT_NEWEST = 1000
LARGEST_PRICE = 1_000_000_000
UNITS = ("mm", "in", "km", "mi")
_CURRENCY = re.compile(r"^[A-Z]{3}$")


_VALUES = [
    {"type": "number", "minimum": 0, "maximum": 10_000_000},
    {"type": "string", "enum": sorted({word.value for words in WORDS.values() for word in words})},
    {"type": "boolean"},
]


class SettingValues(Coded, fields.List[Any]):
    """The values of a setting: numbers, words or truths, each once."""

    def __init__(self, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.size = Sized(least=1, most=MOST_VALUES)
        super().__init__(fields.Raw(metadata={"anyOf": _VALUES}), validate=self.size, **options)

    def read(self, value: object) -> list[SettingValue]:
        """The values in their order."""
        if not isinstance(value, list):
            raise flawed("wrong_type", "this is a list, in square brackets, even where it has one entry")
        self.size(value)
        read: list[SettingValue] = []
        errors: dict[int, Any] = {}
        for place, entry in enumerate(value):
            try:
                read.append(_setting_value(entry))
            except ValidationError as error:
                errors[place] = error.messages
        if errors:
            raise ValidationError(errors)
        return read


def _setting_value(value: object) -> SettingValue:
    if isinstance(value, bool | str):
        return value
    if isinstance(value, int | Decimal):
        return exact(value)
    raise flawed("wrong_type", "this is a number, a word in quotes, or true or false")


class SettingShape(Shape):
    """One field of the policy, and the values that it has in turn."""

    field = Choice(SETTINGS, required=True, metadata={"description": "The field that is varied."})
    values = SettingValues(
        required=True,
        metadata={
            "description": "The values, each once: numbers, the words of the field, or true and false.",
        },
    )
    unit = Choice(UNITS, metadata={"description": "mm or in of a length, km or mi of a distance; else left out."})


class TrialFilterShape(Shape):
    """Which stored verdicts: all that every field finds, the newest of them."""

    site = Text(63, metadata={"description": "The site whose key sent the request."})
    vehicle = Text(80, metadata={"description": "The caller's own name for the vehicle."})
    make = Text(80, metadata={"description": "The vehicle's maker; case and spacing do not matter."})
    model = Text(80, metadata={"description": "The vehicle's model; case and spacing do not matter."})
    axle = Choice(Axle, metadata={"description": "The axle."})
    kind = Choice(Kind, metadata={"description": "The kind of part."})
    since = Instant(metadata={"description": "Judged at this moment or later."})
    until = Instant(metadata={"description": "Judged before this moment."})
    newest = WholeNumber(
        Within(least=1, most=MOST_VERDICTS),
        load_default=DEFAULT_NEWEST,
        metadata={"description": "So many of the newest at most."},
    )


class TrialPricesShape(Shape):
    """What the caller pays for one part; the prices are the caller's own."""

    currency = Text(
        3, least=3, pattern=_CURRENCY, required=True, metadata={"description": "The currency, a code of ISO 4217."}
    )
    machining = ExactDecimal(
        Within(least=0, most=LARGEST_PRICE), required=True, metadata={"description": "Machining one part."}
    )
    replacing = ExactDecimal(
        Within(least=0, most=LARGEST_PRICE), required=True, metadata={"description": "Replacing one part."}
    )


class TrialShape(Shape):
    """A candidate (a body as it would be written, a revision, or a varied setting) and what it is tried on."""

    candidate = Inner(PolicyShape, metadata={"description": "The policy as it would be written."})
    revision = WholeNumber(
        Within(least=1, most=2**31 - 1), metadata={"description": "A revision of the policy that there is."}
    )
    setting = Inner(SettingShape, metadata={"description": "The newest revision with one field at several values."})
    over = Inner(TrialFilterShape, metadata={"description": "The verdicts that it is tried on; the newest of all."})
    prices = Inner(TrialPricesShape, metadata={"description": "To have told what it costs."})
    name_parts = Truth(
        load_default=True, metadata={"description": "Whether every verdict that changes has a line of its own."}
    )


TRIAL = TrialShape()
CANDIDATES = ("candidate", "revision", "setting")
"""A trial has one of these, and no more."""

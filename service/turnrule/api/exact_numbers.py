"""The one way in for numbers: JSON numbers only, exact, and the reason why anything else is not one."""

from __future__ import annotations

import re
from decimal import Decimal

from turnrule.api.bounds import flawed
from turnrule.api.faults import quoted

FINEST = Decimal("1E-7")
"""The least size of a number that is not 0: 0.1 nm, where the number is a length in mm."""

_COMMA = re.compile(r"\s*[-+]?[0-9]+,[0-9]+\s*", re.ASCII)


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
    if number.copy_abs() < FINEST:
        raise flawed("out_of_range", f"{number} is closer to 0 than anything is read; write 0")
    return number


def _why_no_number(value: object) -> str:
    if isinstance(value, str):
        if _COMMA.fullmatch(value):
            meant = value.strip().replace(",", ".")
            return f"write a decimal point, not a comma, and no quotes: {meant} in place of {quoted(value)}"
        return f"{quoted(value)} is text; write the number without quotes, with a decimal point"
    if isinstance(value, bool):
        return f"{str(value).lower()} is no number"
    if isinstance(value, float):
        return "a binary float is not exact; read the document with exact decimals"
    return "this is no number"

"""What cannot be worked out at the lathe because of what was given; each fault names the field and the remedy."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from turnrule.judging.faults import Fault

LEAST_TRACE = 3
"""Fewer readings than this over a turn show no once-per-turn wobble."""


class LatheDataError(Exception):
    """What was given cannot be worked with as it stands; `faults` says why, all at once."""

    code = "invalid_request"

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = faults


def refuse(faults: Iterable[Fault]) -> None:
    """Raises `LatheDataError` with all the faults; nothing happens where there are none."""
    found = tuple(faults)
    if found:
        raise LatheDataError(found)


def negative(pointer: str, value: Decimal | None) -> Iterator[Fault]:
    """The fault of a figure below 0."""
    if value is not None and value < 0:
        yield Fault(pointer, "must_not_be_negative", f"{value:f} is below 0; give 0 or more")


def not_positive(pointer: str, value: Decimal) -> Iterator[Fault]:
    """The fault of a figure that is not above 0."""
    if value <= 0:
        yield Fault(pointer, "must_be_positive", f"{value:f} is not above 0; give more than 0")


def too_few(pointer: str, count: int) -> Iterator[Fault]:
    """The fault of a trace that is too short to show a wobble."""
    if count < LEAST_TRACE:
        yield Fault(pointer, "too_few_readings", f"{count} readings; give {LEAST_TRACE} or more, equally spaced")


def not_an_angle(pointer: str, value: Decimal) -> Iterator[Fault]:
    """The fault of a place on the part that is not on its circle."""
    if not 0 <= value < 360:  # noqa: PLR2004 - degrees of a turn
        yield Fault(pointer, "not_an_angle", f"{value:f} is not an angle on the part; give 0 up to, not including, 360")

"""Whether the store can keep each length exactly: it counts in units of 0.1 nm, and rounds nothing."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_HALF_EVEN

from turnrule.actions.entry_checks.fields import lengths_of
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.lengths import on_grid

_ENOUGH = -7
"""A number of millimetres with at most seven decimals is a whole number of 0.1 nm."""


def exactness_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """A refusal for each length that is no whole number of 0.1 nm."""
    for name, value in lengths_of(figures.limits):
        exponent = value.as_tuple().exponent
        if isinstance(exponent, int) and exponent >= _ENOUGH:
            continue
        if on_grid(value, ROUND_HALF_EVEN) != value:
            shown = f"{figures.printed.get(name, value)} {figures.printed_unit.value}"
            detail = f"{shown} is finer than lengths are kept (0.1 nm); write the digits that the document prints"
            yield refusal(f"/{name}", "too_fine", detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a length that would have to be rounded to be kept."""
    return exactness_remarks(entry.figures)

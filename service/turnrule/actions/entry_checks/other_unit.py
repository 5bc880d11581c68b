"""A figure in the other unit, or with its point in the wrong place: times 25.4, 10, 100 or 1000 too great or small.

For each figure that is not usual for its kind of part, the slip is named that would make it so.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.entry_checks.fields import forms_of, sizes_of
from turnrule.actions.entry_checks.ranges import Range, is_heavy, likely_meant, usual_form, usual_size
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, warning
from turnrule.actions.requests import LimitFigures, LimitsEntry


def unusual(figures: LimitFigures) -> Iterator[tuple[str, Decimal, Range]]:
    """Each figure outside its usual range, by its name."""
    limits = figures.limits
    for name, value in sizes_of(limits):
        usual = usual_size(limits, nominal=name.startswith("nominal"))
        if not usual.least <= value <= usual.most:
            yield name, value, usual
    heavy = is_heavy(limits)
    for figure, name, value in forms_of(limits):
        usual = usual_form(figure, heavy=heavy)
        if not usual.least <= value <= usual.most:
            yield name, value, usual


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Warns of a figure that a slip of unit or point would explain."""
    figures = entry.figures
    for name, value, usual in unusual(figures):
        slip = likely_meant(value, usual, figures.printed_unit)
        if slip is not None:
            unit = figures.printed_unit.value
            detail = f"{figures.printed[name]} {unit} is unusual here; {slip.words}; look at the document again"
            yield warning(f"/{name}", slip.code, detail)

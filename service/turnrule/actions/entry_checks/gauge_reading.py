"""Limits of form that no gauge in a workshop could read, or that no part could have.

A limit finer than 0.001 mm (0.00005 in) asks for more than a workshop indicator shows: gauges that the law asks for
show 0.001 in (California, 16 CCR 3321), good ones 0.001 mm (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.entry_checks.fields import forms_of
from turnrule.actions.entry_checks.ranges import Range, is_heavy, likely_meant, usual_form
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal, warning
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.judging.words import Unit

FINEST = {Unit.MM: Decimal("0.001"), Unit.IN: Decimal("0.00005")}
"""The finest limit that can be read, in each unit."""

GREATEST = {
    "maximum_lateral_runout": Decimal("1.5"),
    "maximum_thickness_variation": Decimal("0.5"),
    "maximum_out_of_round": Decimal("1.5"),
    "maximum_taper": Decimal("1.5"),
}
"""Past this (mm) a brake would shake the vehicle long before; ten times what is usual. Common practice, no source."""

VARIATION_TO_RUNOUT = Decimal("1.6")
"""A limit of variation is seldom above the one of runout; in print at most 0.005 in beside 0.004 in
(TM 9-2320-280-34, page 10-2)."""

RUNOUT_TO_VARIATION = Decimal(40)
"""And seldom below a fortieth of it: common practice, no source; in print an eighth (TM 9-2320-289-34, page 7-2)."""


USUAL_OF_BOTH = Range(Decimal("0.018"), Decimal("0.055"))
"""Where runout and variation are both usual (mm), one value may stand for both; elsewhere it was perhaps read twice.
Common practice, no source."""


def form_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """A refusal for each limit of form that cannot be read, or that no part could reach."""
    unit = figures.printed_unit
    for figure, name, value in forms_of(figures.limits):
        text = figures.printed[name]
        if Decimal(text) < FINEST[unit]:
            detail = f"no workshop gauge reads {text} {unit.value}{_hint(figures, figure, value)}"
            yield refusal(f"/{name}", "finer_than_any_gauge", detail)
        elif value > GREATEST[figure]:
            detail = f"no part in service could have {text} {unit.value}{_hint(figures, figure, value)}"
            yield refusal(f"/{name}", "greater_than_any_part", detail)


def _hint(figures: LimitFigures, figure: str, value: Decimal) -> str:
    slip = likely_meant(value, usual_form(figure, heavy=is_heavy(figures.limits)), figures.printed_unit)
    remedy = "; look at the document again, and leave out what it does not give"
    return f"; {slip.words}{remedy}" if slip is not None else remedy


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses what no gauge reads and no part has; warns of runout and variation that do not go together."""
    figures = entry.figures
    refused = tuple(form_remarks(figures))
    yield from refused
    runout = figures.limits.maximum_lateral_runout
    variation = figures.limits.maximum_thickness_variation
    if refused or runout is None or variation is None:
        return
    if variation == runout:
        fault = "" if USUAL_OF_BOTH.holds(runout) else "the same value for the thickness variation"
    elif variation > runout * VARIATION_TO_RUNOUT:
        fault = "a greater thickness variation than lateral runout"
    else:
        fault = "so small a thickness variation" if variation * RUNOUT_TO_VARIATION < runout else ""
    if fault:
        name = names_for(figures.limits.kind).maximum_thickness_variation
        detail = f"{fault} beside this lateral runout is unusual; look at both values again"
        yield warning(f"/{name}", "unusual_form_ratio", detail)

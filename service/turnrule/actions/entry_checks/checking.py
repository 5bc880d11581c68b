"""All entry checks over one entry, in the order in which their remarks are told."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from itertools import chain

from turnrule.actions.entry_checks import (
    axle_place,
    construction,
    correction,
    document_days,
    gauge_reading,
    kept_exactly,
    machining_statement,
    order,
    other_unit,
    overlap,
    similar_parts,
    something_to_judge,
    source_fields,
    stated_unit,
    twin_values,
    usual_range,
    wear_allowance,
    years,
)
from turnrule.actions.entry_checks.remarks import Remark, Surroundings
from turnrule.actions.requests import LimitFigures, LimitsEntry
from turnrule.store.limit_records import FitsTo

CHECKS: tuple[Callable[[LimitsEntry, Surroundings], Iterator[Remark]], ...] = (
    stated_unit.check,
    usual_range.check,
    other_unit.check,
    gauge_reading.check,
    order.check,
    wear_allowance.check,
    kept_exactly.check,
    twin_values.check,
    something_to_judge.check,
    machining_statement.check,
    construction.check,
    axle_place.check,
    years.check,
    document_days.check,
    source_fields.check,
    correction.check,
    overlap.check,
    similar_parts.check,
)
"""Each check gives the remarks that it has on an entry; none depends on another's."""


def check_entry(entry: LimitsEntry, around: Surroundings) -> tuple[Remark, ...]:
    """Everything that the checks find, refusals first; of a field that is refused, no warning is told as well."""
    found = list(chain.from_iterable(check(entry, around) for check in CHECKS))
    if not found:
        return ()
    refused = [remark for remark in found if remark.refused]
    settled = {remark.pointer for remark in refused}
    return (*refused, *(remark for remark in found if not remark.refused and remark.pointer not in settled))


def entry_refusals(entry: LimitsEntry) -> tuple[Remark, ...]:
    """What an entry is refused for by itself, whatever the store holds: the refusals of `check_entry` but overlaps."""
    return (
        *figure_refusals(entry.figures),
        *years.day_refusals(entry.fits, entry.effective_from, entry.effective_to),
        *source_fields.source_remarks(entry.source, entry.fits),
        *correction.reason_remarks(entry),
    )


def figure_refusals(figures: LimitFigures) -> tuple[Remark, ...]:
    """What figures are refused for by themselves, without vehicles and document."""
    return (
        *stated_unit.unit_remarks(figures),
        *usual_range.size_remarks(figures),
        *gauge_reading.form_remarks(figures),
        *order.order_remarks(figures.limits),
        *kept_exactly.exactness_remarks(figures),
        *twin_values.twin_remarks(figures),
        *something_to_judge.figure_remarks(figures),
        *construction.construction_remarks(figures.limits),
    )


def day_refusals(fits: FitsTo, start: datetime.date | None, end: datetime.date | None) -> tuple[Remark, ...]:
    """What years and days are refused for by themselves."""
    return tuple(years.day_refusals(fits, start, end))

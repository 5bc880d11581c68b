"""Years and days that cannot be, or that hardly are: backwards, too long, before the vehicle, still to come."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal, warning
from turnrule.actions.requests import LimitsEntry
from turnrule.store.limit_records import FitsTo

LONGEST_RANGE = 25
"""Model years of one record: few vehicles are built longer with one brake. Common practice, no source."""

EARLIEST = 1945
"""Parts of older vehicles are hardly judged by printed limits. Common practice, no source."""

AHEAD = 2
"""A model year begins in the calendar year before it, so that a last year lies two ahead at most, were it announced
today. Common practice, no source."""


def day_refusals(fits: FitsTo, start: datetime.date | None, end: datetime.date | None) -> Iterator[Remark]:
    """Years and days that run backwards."""
    if fits.year_to is not None and fits.year_to < fits.year_from:
        yield refusal("/application/year_to", "out_of_range", "the last year is before the first")
    if start is not None and end is not None and end <= start:
        yield refusal("/effective_to", "out_of_range", "these limits would end before they begin")


def check(entry: LimitsEntry, around: Surroundings) -> Iterator[Remark]:
    """Refuses what runs backwards; warns of what hardly can be."""
    fits = entry.fits
    yield from day_refusals(fits, entry.effective_from, entry.effective_to)
    if fits.year_to is not None and fits.year_to - fits.year_from >= LONGEST_RANGE:
        years = fits.year_to - fits.year_from + 1
        yield warning(
            "/application/year_to", "long_year_range", f"{years} model years in one record; look at both years again"
        )
    if fits.year_from < EARLIEST:
        detail = f"limits for a vehicle of {fits.year_from} are unusual; look at the year again"
        yield warning("/application/year_from", "year_long_past", detail)
    if around.on is not None:
        yield from _to_come(fits, around.on)


def _to_come(fits: FitsTo, on: datetime.date) -> Iterator[Remark]:
    for name, year in (("year_from", fits.year_from), ("year_to", fits.year_to)):
        if year is not None and year > on.year + AHEAD:
            yield warning(
                f"/application/{name}", "year_to_come", f"{year} lies more than {AHEAD} years ahead; look at it again"
            )

"""Whether the days go together: of the document, of the limits, of the vehicle; and none of them far ahead."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, warning
from turnrule.actions.requests import LimitsEntry

BEFORE_MODEL_YEAR = 1
"""A model year begins in the calendar year before it. Common practice, no source."""

AHEAD = datetime.timedelta(days=366)
"""Limits are seldom announced for more than a year ahead. Common practice, no source."""

_YEAR = re.compile(r"(?:19|20)[0-9]{2}\b")


def known_year(entry: LimitsEntry) -> int | None:
    """The year in which the document was issued, by its day or else by the year that its edition begins with."""
    if entry.source.issued is not None:
        return entry.source.issued.year
    named = _YEAR.match(entry.source.edition)
    return int(named[0]) if named is not None else None


def check(entry: LimitsEntry, around: Surroundings) -> Iterator[Remark]:
    """Warns of limits that begin before their vehicle, of vehicles younger than the document, of days far ahead."""
    first, start = entry.fits.year_from, entry.effective_from
    if start.year < first - BEFORE_MODEL_YEAR:
        detail = f"these limits would hold from {start}, and the first vehicle is of {first}; look at both again"
        yield warning("/effective_from", "before_vehicle", detail)
    issued = known_year(entry)
    if issued is not None and first > issued + BEFORE_MODEL_YEAR:
        detail = f"the document is of {issued} and cannot know a vehicle of {first}; look at year and document again"
        yield warning("/application/year_from", "after_document", detail)
    due = entry.figures.review_due
    if due is not None and due <= start:
        yield warning("/review_due", "review_before_start", "the review would be due before these limits hold")
    if around.on is not None:
        yield from _ahead(entry, around.on)


def _ahead(entry: LimitsEntry, on: datetime.date) -> Iterator[Remark]:
    if entry.effective_from > on + AHEAD:
        detail = f"{entry.effective_from} lies more than a year ahead; these limits would not govern until then"
        yield warning("/effective_from", "far_ahead", detail)
    if entry.source.issued is not None and entry.source.issued > on:
        yield warning("/source/issued", "document_to_come", f"{entry.source.issued} is still to come")

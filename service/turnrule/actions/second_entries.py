"""A second entry held against the first: which fields differ, and how an entry that differed is kept.

What was left out of a second entry is not compared, but for figures: a figure that one entry has and the other has
not is a difference. Lengths are compared in exact millimetres, names as look-ups compare them.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.actions.numbers import canonical, read_exact, text_of
from turnrule.actions.requests import LimitFigures, SecondEntry
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.folding import fold
from turnrule.store.limit_records import FitsTo, LimitRevision, Mismatch, Source, Twin


def differing(second: SecondEntry, first: LimitRevision) -> tuple[str, ...]:
    """JSON Pointers to the fields, in the contract's names, in which a second entry is not the first."""
    return (*_in_figures(second.figures, first), *_in_application(second.fits, first.fits), *_around(second, first))


def _in_figures(second: LimitFigures, first: LimitRevision) -> Iterator[str]:
    mine, theirs = second.limits, first.limits
    if second.printed_unit is not first.printed_unit:
        yield "/unit"
    if mine.kind is not theirs.kind:
        yield "/kind"
    names = zip(FigureNames._fields, names_for(mine.kind), names_for(theirs.kind), strict=True)
    for figure, name, other_name in names:
        if getattr(mine, figure) != getattr(theirs, figure):
            yield f"/{name or other_name}"
    if mine.permission is not theirs.permission:
        yield "/machining"
    if mine.construction is not theirs.construction:
        yield "/construction"
    if mine.expansion_per_k != theirs.expansion_per_k:
        yield "/expansion_per_k"


def _in_application(second: FitsTo, first: FitsTo) -> Iterator[str]:
    for name in ("make", "model", "brake_option"):
        if not _same_text(getattr(second, name), getattr(first, name)):
            yield f"/application/{name}"
    for name in ("year_from", "year_to", "axle"):
        if getattr(second, name) != getattr(first, name):
            yield f"/application/{name}"


def _around(second: SecondEntry, first: LimitRevision) -> Iterator[str]:
    """What may be left out of a second entry."""
    for name in ("document", "edition") if second.source is not None else ():
        given: str = getattr(second.source, name)
        if given and not _same_text(given, getattr(first.source, name)):
            yield f"/source/{name}"
    for name in ("effective_from", "effective_to"):
        day: datetime.date | None = getattr(second, name)
        if day is not None and day != getattr(first, name):
            yield f"/{name}"


def _same_text(one: str | None, other: str | None) -> bool:
    if one is None or other is None:
        return one is other
    return fold(one) == fold(other)


def kept_entry(second: SecondEntry) -> bytes:
    """A second entry as it is kept beside the draft that it differs from: canonical JSON, every digit as printed."""
    figures, fits = second.figures, second.fits
    source, also = second.source, figures.also
    expansion = figures.limits.expansion_per_k
    return canonical(
        {
            "unit": figures.printed_unit,
            "kind": figures.limits.kind,
            "figures": figures.printed,
            "machining": figures.limits.permission,
            "construction": figures.limits.construction,
            "expansion_per_k": None if expansion is None else text_of(expansion),
            "also": None if also is None else {"unit": also.unit, "figures": also.printed},
            "application": {
                "make": fits.make,
                "model": fits.model,
                "year_from": fits.year_from,
                "year_to": fits.year_to,
                "axle": fits.axle,
                "brake_option": fits.brake_option,
            },
            "document": None if source is None else source.document,
            "edition": None if source is None else source.edition,
            "effective_from": second.effective_from,
            "effective_to": second.effective_to,
            "review_due": figures.review_due,
        }
    )


def as_entered(mismatch: Mismatch, draft: LimitRevision) -> LimitRevision:
    """What a draft would be had its author read what the second entry says.

    What a second entry leaves out is the draft's; the note is left out, because it was written beside other figures.
    """
    kept = read_exact(mismatch.entry)
    unit = Unit(kept["unit"])
    also = kept["also"]
    return replace(
        draft,
        fits=_fits(kept["application"]),
        limits=_limits(kept, unit),
        printed_unit=unit,
        printed=dict(kept["figures"]),
        source=_source(kept, draft.source),
        effective_from=_day(kept["effective_from"]) or draft.effective_from,
        effective_to=_day(kept["effective_to"]) or draft.effective_to,
        review_due=_day(kept["review_due"]) or draft.review_due,
        entered_by=mismatch.entered_by,
        entered_at=mismatch.entered_at,
        note=None,
        also=None if also is None else Twin(Unit(also["unit"]), dict(also["figures"])),
        warnings=(),
    )


def _limits(kept: dict[str, Any], unit: Unit) -> LimitSet:
    kind = Kind(kept["kind"])
    printed: dict[str, str] = kept["figures"]
    construction, expansion = kept["construction"], kept["expansion_per_k"]
    figures = {
        figure: to_mm(Decimal(printed[name]), unit)
        for figure, name in zip(FigureNames._fields, names_for(kind), strict=True)
        if name is not None and name in printed
    }
    return LimitSet(
        kind=kind,
        permission=Machining(kept["machining"]),
        construction=None if construction is None else Construction(construction),
        expansion_per_k=None if expansion is None else Decimal(expansion),
        **figures,
    )


def _fits(kept: dict[str, Any]) -> FitsTo:
    year_to = kept["year_to"]
    return FitsTo(
        make=kept["make"],
        model=kept["model"],
        year_from=int(kept["year_from"]),
        year_to=None if year_to is None else int(year_to),
        axle=Axle(kept["axle"]),
        brake_option=kept["brake_option"],
    )


def _source(kept: dict[str, Any], first: Source) -> Source:
    return replace(first, document=kept["document"] or first.document, edition=kept["edition"] or first.edition)


def _day(text: str | None) -> datetime.date | None:
    return None if text is None else datetime.date.fromisoformat(text)

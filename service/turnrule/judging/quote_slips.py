"""Where a quote contradicts itself: a line twice, a line about another part than it names, a reading from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.quote_findings import Evidence, QuoteFinding, name_of, sentence
from turnrule.judging.quote_lines import Place, QuoteLine
from turnrule.judging.quote_targets import Laid, Target
from turnrule.judging.quote_words import Operation, QuoteCode


def about_slips(laid: Laid) -> Iterator[QuoteFinding]:
    """Every slip of the quote itself. Rule: quote_itself."""
    for target in laid.targets:
        yield from _twice(laid, target)
        yield from _elsewhere(laid, target)
    yield from _given_twice(laid)
    yield from _vehicles(laid)


def _twice(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    for operation in Operation:
        lines = laid.having(target, operation)
        if operation is not Operation.OTHER and len(lines) > 1:
            told = f"the quote has the same work ({operation.value}) on {name_of(target)} more than once"
            yield QuoteFinding(QuoteCode.LINE_TWICE, sentence(told), lines, (target.number,))


def _elsewhere(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    known = target.known
    if not known.told.fits(known.read):
        told = f"the measurements given for {name_of(target)} were taken on another part"
        held = Evidence("place", verdict_id=known.verdict_id)
        yield QuoteFinding(QuoteCode.VERDICT_ON_ANOTHER_PART, sentence(told), target.lines, (target.number,), held)
    for index in target.lines:
        line = laid.quote.lines[index]
        if line.part is not None and not any(place.fits(target.place) for place in _said(line)):
            told = f"a line names {name_of(target)} and says another axle, side or kind of part"
            yield QuoteFinding(QuoteCode.LINE_NAMES_ANOTHER_PART, sentence(told), (index,), (target.number,))


def _said(line: QuoteLine) -> tuple[Place, ...]:
    """The places that a line says by itself."""
    return tuple(Place(line.axle, side, line.kind) for side in line.sides or (None,))


def _given_twice(laid: Laid) -> Iterator[QuoteFinding]:
    for number, target in enumerate(laid.targets):
        place = target.place
        if place.axle is None or place.side is None or place.kind is None:
            continue
        same = [one for one in laid.targets[number + 1 :] if one.place == place]
        if same:
            told = f"{name_of(target)} is given more than once: which of its measurements counts?"
            about = (target.number, *(one.number for one in same))
            lines = tuple(sorted({index for one in (target, *same) for index in one.lines}))
            yield QuoteFinding(QuoteCode.PART_GIVEN_TWICE, sentence(told).removesuffix("."), lines, about)


def _vehicles(laid: Laid) -> Iterator[QuoteFinding]:
    named = [
        (target.number, (given.make.casefold(), given.model.casefold(), given.year))
        for target in laid.targets
        if (given := target.known.application) is not None
    ]
    if len({vehicle for _, vehicle in named}) > 1:
        told = "the parts of this quote were measured on different vehicles"
        yield QuoteFinding(QuoteCode.VEHICLES_DIFFER, sentence(told), (), tuple(number for number, _ in named))

"""The prices of a quote: what is missing, two currencies, and whether the lines come to the stated total."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.judging.lengths import EXACT
from turnrule.judging.quote_findings import Evidence, QuoteFinding, money, name_of, sentence
from turnrule.judging.quote_lines import Quote, QuoteLine
from turnrule.judging.quote_targets import Laid, Target
from turnrule.judging.quote_words import Measure, Operation, QuoteCode
from turnrule.judging.words import Axle


def about_prices(laid: Laid) -> Iterator[QuoteFinding]:
    """What is wrong with the prices of a quote. Rule: quote_total."""
    missing = tuple(_missing(laid))
    yield from missing
    currencies = currencies_of(laid.quote)
    if len(currencies) > 1:
        told = f"the quote has prices in more than one currency ({', '.join(currencies)})"
        lines = tuple(index for index, line in enumerate(laid.quote.lines) if line.currency is not None)
        yield QuoteFinding(QuoteCode.TWO_CURRENCIES, sentence(told), lines)
    yield from _total(laid.quote, complete=not missing)


def currencies_of(quote: Quote) -> tuple[str, ...]:
    """The currencies that the quote names, in order."""
    named = [quote.currency, *(line.currency for line in quote.lines)]
    return tuple(dict.fromkeys(one for one in named if one is not None))


def sum_of(quote: Quote) -> Decimal | None:
    """What all lines come to; None in several currencies, or where no line has a price."""
    amounts = [amount for line in quote.lines if (amount := line.charge.amount) is not None]
    if not amounts or len(currencies_of(quote)) > 1:
        return None
    total = Decimal(0)
    for amount in amounts:
        total = EXACT.add(total, amount)
    return total


def _missing(laid: Laid) -> Iterator[QuoteFinding]:
    """Work without its price, new parts without the labour of fitting them."""
    lines = laid.quote.lines
    for index, line in enumerate(lines):
        targets = [target for target in laid.targets if index in target.lines]
        about = tuple(target.number for target in targets)
        name = _named(targets)
        charge = line.charge
        if line.operation is Operation.MACHINE and not charge.is_priced:
            told = f"the quote does not say what machining {name} costs"
            yield QuoteFinding(QuoteCode.PRICE_MISSING, sentence(told), (index,), about)
        if line.operation is not Operation.REPLACE:
            continue
        if charge.price is None:
            told = f"the quote does not say what the new part for {name} costs"
            yield QuoteFinding(QuoteCode.PRICE_MISSING, sentence(told), (index,), about)
        if charge.labour is None and not _labour_elsewhere(laid, index):
            told = f"the quote does not say what it costs to fit the new part for {name}"
            yield QuoteFinding(QuoteCode.LABOUR_MISSING, sentence(told), (index,), about)


def _named(targets: list[Target]) -> str:
    return " and ".join(name_of(target) for target in targets) or "the part"


def _labour_elsewhere(laid: Laid, index: int) -> bool:
    """True where another line gives labour: one about no part at all, or about a part of the same axle."""
    mine = _axles(laid, index)
    others = [(place, line) for place, line in enumerate(laid.quote.lines) if place != index]
    return any(
        line.charge.labour is not None and (_is_about_none(laid, place) or bool(_axles(laid, place) & mine))
        for place, line in others
    )


def _is_about_none(laid: Laid, index: int) -> bool:
    return not any(index in target.lines for target in laid.targets)


def _axles(laid: Laid, index: int) -> set[Axle | None]:
    return {target.place.axle for target in laid.targets if index in target.lines}


def _total(quote: Quote, *, complete: bool) -> Iterator[QuoteFinding]:
    stated, found = quote.total, sum_of(quote)
    if stated is None:
        return
    if found is None or (not complete and stated >= found):
        told = "whether the lines come to the stated total cannot be told, because not all prices can be added up"
        yield QuoteFinding(QuoteCode.TOTAL_NOT_COMPARED, sentence(told))
        return
    if stated == found:
        return
    told = (
        f"the lines of the quote come to {money(found, quote.currency)}, and its total says "
        f"{money(stated, quote.currency)}"
    )
    apart = EXACT.subtract(stated, found)
    held = Evidence("total", None, stated, found, apart, Measure.MONEY)
    lines = tuple(index for index, line in enumerate(quote.lines) if _is_priced(line))
    yield QuoteFinding(QuoteCode.TOTAL_DIFFERS, sentence(told), lines, (), held)


def _is_priced(line: QuoteLine) -> bool:
    return line.charge.amount is not None

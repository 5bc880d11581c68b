"""The check of a quote: the one door from its lines, and from what is known of each part, to what is found."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.cautions import CautionList
from turnrule.judging.lengths import EXACT
from turnrule.judging.policy import Policy
from turnrule.judging.quote_costs import Ways, about_costs, ways_of
from turnrule.judging.quote_findings import QuoteFinding, loudest_first
from turnrule.judging.quote_lines import Quote
from turnrule.judging.quote_machining import about_machining, about_replacing, about_what_is_left_out
from turnrule.judging.quote_prices import about_prices, sum_of
from turnrule.judging.quote_readings import about_readings
from turnrule.judging.quote_sides import about_sides
from turnrule.judging.quote_slips import about_slips
from turnrule.judging.quote_targets import Laid, Target, Work, laid_out
from turnrule.judging.quote_words import FindingLevel
from turnrule.judging.verdict import Caution


@dataclass(frozen=True, slots=True)
class ToldPart:
    """A part with the lines about it, what the quote does to it, and what both ways cost."""

    target: Target
    quoted: Work
    ways: Ways


@dataclass(frozen=True, slots=True)
class QuoteCheck:
    """What a quote came to; `sum` is that of its lines, None where they cannot be added up."""

    findings: tuple[QuoteFinding, ...]
    parts: tuple[ToldPart, ...]
    sum: Decimal | None
    policy: Policy

    @property
    def level(self) -> FindingLevel | None:
        """The loudest level that was found; None where nothing was."""
        return self.findings[0].level if self.findings else None

    @property
    def agrees(self) -> bool:
        """True where nothing contradicts and nothing is missing; what is asked or noted does not keep it from that."""
        return self.level not in {FindingLevel.CONTRADICTION, FindingLevel.MISSING}


def check_quote(quote: Quote, policy: Policy) -> QuoteCheck:
    """The quote held against what is known of its parts and against the policy's pair rule; nothing else is read."""
    with decimal.localcontext(EXACT):
        laid = laid_out(quote)
        findings = loudest_first(_all(laid, policy))
        parts = tuple(ToldPart(target, laid.quoted(target), ways_of(laid, target)) for target in laid.targets)
        return QuoteCheck(findings, parts, sum_of(quote), policy)


def _all(laid: Laid, policy: Policy) -> Iterator[QuoteFinding]:
    for target in laid.targets:
        yield from about_readings(laid, target)
        yield from about_machining(laid, target, policy)
        yield from about_replacing(laid, target)
        yield from about_what_is_left_out(laid, target)
        yield from about_costs(laid, target)
    yield from about_sides(laid, policy)
    yield from about_slips(laid)
    yield from about_prices(laid)


def quote_summary(check: QuoteCheck) -> str:
    """One sentence that a clerk can read to the customer."""
    if not check.findings or check.level is FindingLevel.NOTE:
        return "The quote agrees with what was measured and with the policy."
    first = check.findings[0].sentence.removesuffix(".")
    loud = sum(one.level is check.level for one in check.findings) - 1
    more = "" if not loud else f" (and {loud} more of this kind)"
    told = f"{first[0].lower()}{first[1:]}{more}."
    if check.level is FindingLevel.CONTRADICTION:
        return f"The quote does not agree with what was measured or with itself: {told}"
    if check.level is FindingLevel.MISSING:
        return f"The quote cannot be confirmed yet: {told}"
    return f"The quote agrees with what was measured, with a question: {told}"


def quote_cautions(check: QuoteCheck, catalogue: Catalogue) -> tuple[Caution, ...]:
    """What to mind with every check of a quote, loudest first."""
    book = CautionList(catalogue)
    if any(part.quoted is not Work.NONE for part in check.parts):
        book.add("dust_hazard")
    book.add("follow_service_data")
    book.add("prices_from_caller")
    return book.loudest_first()

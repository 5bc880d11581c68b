"""What the lines of a quote rest on: no reading at all, a verdict that is open, one whose limits no longer govern."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from turnrule.judging.quote_findings import Evidence, QuoteFinding, depth_words, name_of, of_verdict, sentence
from turnrule.judging.quote_targets import Laid, Target, Work
from turnrule.judging.quote_words import Operation, Outdated, QuoteCode
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import Ruling, Unit

_WORKING = (Operation.MACHINE, Operation.REPLACE)
_IN_WORDS = MappingProxyType(
    {
        "minimum_machining_thickness": "the maker's machining limit",
        "maximum_machining_diameter": "the maker's machining limit",
        "discard_thickness": "the maker's discard limit",
        "discard_diameter": "the maker's discard limit",
        "limits_record": "limits in place of those that were withdrawn",
    }
)


def about_readings(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    """What is missing behind the lines about a part. Rule: quote_reading."""
    name, verdict, about = name_of(target), target.known.verdict, (target.number,)
    working = tuple(index for one in _WORKING for index in laid.having(target, one))
    if verdict is None:
        if working:
            told = f"nothing was measured on {name} that the quote could rest on"
            yield QuoteFinding(QuoteCode.NO_READING, sentence(told), tuple(sorted(working)), about)
        return
    if target.known.outdated is not None:
        yield _outdated(target, target.known.outdated)
    if verdict.ruling is Ruling.INCONCLUSIVE:
        told = f"{name} cannot be passed or condemned yet: {_first(verdict, laid.quote.unit)}"
        yield QuoteFinding(
            QuoteCode.VERDICT_INCONCLUSIVE, sentence(told), tuple(sorted(working)), about, of_verdict(target)
        )


def _outdated(target: Target, why: Outdated) -> QuoteFinding:
    held = Evidence("limits", verdict_id=target.known.verdict_id)
    if why is Outdated.WITHDRAWN:
        told = f"the limits that {name_of(target)} was judged by were withdrawn since: have it judged again"
        return QuoteFinding(QuoteCode.LIMITS_WITHDRAWN, sentence(told), target.lines, (target.number,), held)
    told = f"the limits of {name_of(target)} were changed since it was judged: have it judged again"
    return QuoteFinding(QuoteCode.LIMITS_CHANGED, sentence(told), target.lines, (target.number,), held)


def _first(verdict: Verdict, unit: Unit) -> str:
    """What to find out or to measure first."""
    if verdict.missing:
        name = verdict.missing[0]
        return f"find out {_IN_WORDS.get(name, name.replace('_', ' '))} first"
    finest = next(
        (
            one.expanded_uncertainty_at_most
            for one in verdict.room.settled_by
            if one.expanded_uncertainty_at_most is not None
        ),
        None,
    )
    if finest is None:
        return "measure it again first, with a finer gauge"
    return f"measure it again first, with a gauge that is sure to {depth_words(finest, unit)}"


def needs_other_side(laid: Laid, target: Target) -> bool:
    """True where work is quoted on a side whose partner is neither measured nor quoted for work."""
    partners = laid.partners(target)
    known = any(one.known.verdict is not None or laid.quoted(one) is not Work.NONE for one in partners)
    return laid.quoted(target) is not Work.NONE and not known

"""A finding of a quote check with its evidence, and the words for parts, lengths and sums in its sentence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from turnrule.judging.cautions import shown
from turnrule.judging.lengths import EXACT
from turnrule.judging.limits import Governing
from turnrule.judging.quote_targets import Target
from turnrule.judging.quote_words import FindingLevel, Measure, QuoteCode
from turnrule.judging.verdict import Check
from turnrule.judging.words import CheckName, Kind, Sense, Unit

_KIND = MappingProxyType({Kind.ROTOR: "brake rotor", Kind.DRUM: "brake drum", Kind.PARKING_DRUM: "parking brake drum"})
_MEASURES = MappingProxyType({"length": Measure.LENGTH, "km": Measure.KM, "points": Measure.POINTS})


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a finding rests on: a value held against a limit, and how far it is on the safe side (negative: past).

    `check` is the check that says so, `verdict_id` the stored verdict that it is one of; None where there is none.
    """

    quantity: str
    check: CheckName | None = None
    value: Decimal | None = None
    limit: Decimal | None = None
    margin: Decimal | None = None
    measure: Measure | None = None
    verdict_id: str | None = None
    sense: Sense | None = None


@dataclass(frozen=True, slots=True)
class QuoteFinding:
    """One thing found: the lines and the parts (by their numbers) that it is about, its evidence, one sentence."""

    code: QuoteCode
    sentence: str
    lines: tuple[int, ...] = ()
    parts: tuple[int, ...] = ()
    evidence: Evidence | None = None

    @property
    def level(self) -> FindingLevel:
        """How much it weighs."""
        return self.code.level


def loudest_first(findings: Iterable[QuoteFinding]) -> tuple[QuoteFinding, ...]:
    """Every finding once: contradictions first, then by code, line and part."""
    levels, codes = list(FindingLevel), list(QuoteCode)
    return tuple(
        sorted(
            dict.fromkeys(findings),
            key=lambda one: (levels.index(one.level), codes.index(one.code), one.lines, one.parts),
        )
    )


def name_of(target: Target) -> str:
    """The part as a customer knows it; by the quote's own name where nothing says where it sits."""
    place = target.place
    words = [
        place.axle.value if place.axle is not None else None,
        place.side.value if place.side is not None else None,
        _KIND[place.kind] if place.kind is not None else None,
    ]
    told = " ".join(word for word in words if word is not None)
    if place.axle is not None and place.kind is not None:
        return f"the {told}"
    if target.known.name is not None:
        return f'the part "{target.known.name}"'
    return f"the {told or 'part'}"


def sentence(text: str) -> str:
    """A sentence out of a clause."""
    return f"{text[0].upper()}{text[1:]}."


def money(amount: Decimal, currency: str | None) -> str:
    """A sum as it was given, with its currency where there is one."""
    return f"{amount:f} {currency}" if currency is not None else f"{amount:f}"


def depth_words(depth: Decimal, unit: Unit) -> str:
    """A depth in the quote's unit."""
    return shown(depth, unit)


def of_check(check: Check, verdict_id: str | None) -> Evidence:
    """A check of a verdict as evidence."""
    margin = None
    if check.value is not None and check.limit is not None:
        margin = EXACT.subtract(check.value, check.limit)
        margin = margin if check.sense is Sense.AT_LEAST else -margin
    measure = _MEASURES.get(check.measure or "") if check.value is not None else None
    quantity = check.quantity or check.check.value
    return Evidence(quantity, check.check, check.value, check.limit, margin, measure, verdict_id, check.sense)


def of_verdict(target: Target) -> Evidence | None:
    """What decided the verdict on a part; the first check that asks for machining where that is what it is about."""
    verdict = target.known.verdict
    if verdict is None:
        return None
    if verdict.governing is None:
        return Evidence("verdict", verdict_id=target.known.verdict_id)
    held = next(
        check
        for check in verdict.checks
        if check.check is verdict.governing.check and check.limit == verdict.governing.limit
    )
    return of_check(held, target.known.verdict_id)


def of_size(size: Decimal, limit: Governing, verdict_id: str | None) -> Evidence:
    """A size after a cut, held against the machining limit."""
    margin = size - limit.value if limit.sense is Sense.AT_LEAST else limit.value - size
    name = "thickness_after_cut" if limit.sense is Sense.AT_LEAST else "diameter_after_cut"
    return Evidence(name, CheckName.MACHINING_LIMIT, size, limit.value, margin, Measure.LENGTH, verdict_id, limit.sense)

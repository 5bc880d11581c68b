"""What each way costs for the life that it buys, part by part; it tells nothing of safety."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.cost import Costs, Offer, costs_of
from turnrule.judging.lengths import EXACT
from turnrule.judging.planning_words import Cheaper
from turnrule.judging.quote_findings import Evidence, QuoteFinding, money, name_of, sentence
from turnrule.judging.quote_prices import currencies_of
from turnrule.judging.quote_targets import Laid, Target, Work
from turnrule.judging.quote_words import Measure, Operation, QuoteCode
from turnrule.judging.wear import distance_left
from turnrule.judging.words import Ruling, Sense


@dataclass(frozen=True, slots=True)
class Way:
    """One way that a part may go: a price that `shared_by` parts share, and the distance (km) that it buys each."""

    price: Decimal | None = None
    distance_km: Decimal | None = None
    shared_by: int = 1

    @property
    def offer(self) -> Offer:
        """The same for one part: a share of a price may not end, but so many times the distance does."""
        distance = self.distance_km
        return Offer(self.price, None if distance is None else EXACT.multiply(distance, Decimal(self.shared_by)))


@dataclass(frozen=True, slots=True)
class Ways:
    """The two ways that a part may go."""

    machining: Way
    replacing: Way

    @property
    def costs(self) -> Costs:
        """Both per 1,000 km, and which is the cheaper for its life."""
        return costs_of(self.machining.offer, self.replacing.offer)


def ways_of(laid: Laid, target: Target) -> Ways:
    """What both ways of a part cost and buy, as far as prices and wear are known. Rule: quote_cost.

    Machining is a way only where the verdict leaves it open. In several currencies nothing is compared.
    """
    verdict = target.known.verdict
    if verdict is None or len(currencies_of(laid.quote)) > 1:
        return Ways(Way(), Way())
    machining = Way()
    if verdict.ruling is Ruling.MACHINE:
        machining = _way(laid, target, Operation.MACHINE, verdict.figures.remaining_km)
    return Ways(machining, _way(laid, target, Operation.REPLACE, _life_of_new(target)))


def _way(laid: Laid, target: Target, operation: Operation, distance: Decimal | None) -> Way:
    """By the quote's one line, whose price is shared among the parts that it is about, or by the other way's price."""
    lines, quoted = laid.having(target, operation), laid.quoted(target)
    if len(lines) == 1:
        charge = laid.quote.lines[lines[0]].charge
        known = charge.is_priced if operation is Operation.MACHINE else charge.price is not None
        return Way(charge.amount if known else None, distance, laid.share(lines[0]))
    if lines or quoted is Work.NONE or target.known.other_way is None:
        return Way(None, distance)
    return Way(target.known.other_way.amount, distance)


def _life_of_new(target: Target) -> Decimal | None:
    """How far a new part lasts (km): as the caller says, else from its size at the wear of the present one."""
    known, verdict = target.known, target.known.verdict
    if known.new_distance_km is not None or verdict is None:
        return known.new_distance_km
    wear, discard = verdict.figures.wear_per_1000_km, verdict.limits.discard
    if known.new_size is None or not wear or discard is None:
        return None
    above = known.new_size - discard.value if discard.sense is Sense.AT_LEAST else discard.value - known.new_size
    return distance_left(above, wear, Decimal(1000))


def about_costs(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    """Whether the way that the quote takes costs more for its life than the other one, where both are open."""
    costs, work = ways_of(laid, target).costs, laid.quoted(target)
    mine, theirs, other = (
        (costs.machining, costs.replacing, "replacing")
        if work is Work.MACHINED
        else (costs.replacing, costs.machining, "machining")
    )
    dearer = {Work.MACHINED: Cheaper.REPLACING, Work.REPLACED: Cheaper.MACHINING}.get(work)
    if mine is None or theirs is None or dearer is None or costs.cheaper is not dearer:
        return
    currency = laid.quote.currency
    told = (
        f"{'machining' if work is Work.MACHINED else 'replacing'} {name_of(target)} costs {money(mine, currency)} per "
        f"1,000 km of the life that it buys, and {other} would cost {money(theirs, currency)}"
    )
    operation = Operation.MACHINE if work is Work.MACHINED else Operation.REPLACE
    held = Evidence(
        "cost_per_1000_km",
        None,
        mine,
        theirs,
        EXACT.subtract(theirs, mine),
        Measure.MONEY_PER_1000_KM,
        target.known.verdict_id,
        Sense.AT_MOST,
    )
    lines = laid.having(target, operation)
    yield QuoteFinding(QuoteCode.DEARER_PER_DISTANCE, sentence(told), lines, (target.number,), held)

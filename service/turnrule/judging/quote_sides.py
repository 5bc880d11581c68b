"""Both sides of an axle by the quote: the policy's pair rule, good practice where it only advises, how they differ."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.axle import AxleVerdict, SideRuling, faults_of_axle, judge_axle
from turnrule.judging.axle_sentences import side_sentence
from turnrule.judging.axle_sides import AxleSide
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.quote_findings import Evidence, QuoteFinding, name_of, of_check, of_verdict, sentence
from turnrule.judging.quote_readings import needs_other_side
from turnrule.judging.quote_targets import Laid, Target, Work, asked_by
from turnrule.judging.quote_words import QuoteCode
from turnrule.judging.words import Outcome, PairRule, Ruling, Side

_DONE = {Work.MACHINED: "machined", Work.REPLACED: "replaced"}
_NEEDED = {Ruling.MACHINE: Work.MACHINED, Ruling.REPLACE: Work.REPLACED}
_BY_DIFFERENCE = frozenset({PairReason.NO_ROOM_TO_MACHINE, PairReason.CUT_TO_MATCH, PairReason.SIDES_DIFFER})


def about_sides(laid: Laid, policy: Policy) -> Iterator[QuoteFinding]:
    """What the quote does to one side and not to the other. Rule: quote_pair."""
    broken: set[int] = set()
    for target in laid.targets:
        for finding in _beside(laid, target, policy):
            if finding.code is QuoteCode.PAIR_RULE_BROKEN:
                broken |= set(finding.parts)
            yield finding
    for left in laid.targets:
        if left.place.side is Side.LEFT:
            for right in laid.partners(left):
                yield from _together(laid, left, right, policy, broken)


def binds(rule: PairRule, work: Work) -> bool:
    """True where a policy's pair rule asks for this work on both sides where one gets it."""
    if work is Work.REPLACED:
        return rule is PairRule.REPLACE_BOTH
    return rule is not PairRule.ADVISE


def _beside(laid: Laid, target: Target, policy: Policy) -> Iterator[QuoteFinding]:
    """What the work on this part asks of its partner."""
    work, place = laid.expected(target), target.place
    if work is Work.NONE or place.axle is None or place.side is None or place.kind is None:
        return
    partners, quoted = laid.partners(target), laid.quoted(target)
    if policy.pair_rule is not PairRule.ADVISE and needs_other_side(laid, target):
        told = f"the side opposite {name_of(target)} was not measured, and the policy treats both sides alike"
        about = (target.number, *(one.number for one in partners))
        yield QuoteFinding(QuoteCode.OTHER_SIDE_NOT_MEASURED, sentence(told), target.lines, about)
    if binds(policy.pair_rule, work):
        behind = _behind(laid, partners, work)
        if behind is not None:
            does = f"is to be {_DONE[work]}" if quoted < work else f"is quoted to be {_DONE[work]}"
            told = (
                f"{name_of(target)} {does}, and the policy asks for the same on the other side, which the quote lacks"
            )
            about = (target.number, *behind)
            held = Evidence("pair_rule", verdict_id=target.known.verdict_id)
            yield QuoteFinding(QuoteCode.PAIR_RULE_BROKEN, sentence(told), target.lines, about, held)
    elif quoted is not Work.NONE:
        behind = _behind(laid, partners, quoted)
        if behind is not None:
            told = f"only {name_of(target)} is quoted to be {_DONE[quoted]}; good practice treats both sides alike"
            about = (target.number, *behind)
            yield QuoteFinding(QuoteCode.ONE_SIDE_ONLY, sentence(told), target.lines, about, of_verdict(target))


def _behind(laid: Laid, partners: tuple[Target, ...], work: Work) -> tuple[int, ...] | None:
    """The partners that get less work, and need none so great by themselves; None where no side is behind."""
    behind = tuple(one.number for one in partners if laid.quoted(one) < work and asked_by(one) < work)
    return None if partners and not behind else behind


def _together(laid: Laid, left: Target, right: Target, policy: Policy, broken: set[int]) -> Iterator[QuoteFinding]:
    """What comes of both verdicts together that the quote does not do."""
    sides = {Side.LEFT: _side(left), Side.RIGHT: _side(right)}
    if sides[Side.LEFT] is None or sides[Side.RIGHT] is None:
        return
    if tuple(faults_of_axle(sides[Side.LEFT], sides[Side.RIGHT])):
        told = f"{name_of(left)} and {name_of(right)} were not measured as the two sides of one axle"
        about = (left.number, right.number)
        yield QuoteFinding(QuoteCode.VEHICLES_DIFFER, sentence(told), (), about)
        return
    axle = judge_axle(sides[Side.LEFT], sides[Side.RIGHT], policy)
    for target, one in ((left, axle.left), (right, axle.right)):
        if one is not None and target.number not in broken and _lacks(laid, target, one):
            told = f"by the policy both sides of the axle go together: {_small(side_sentence(one))}"
            held = _difference(axle, target)
            yield QuoteFinding(QuoteCode.PAIR_RULE_BROKEN, sentence(told), target.lines, (target.number,), held)


def _side(target: Target) -> AxleSide | None:
    known = target.known
    if known.part is None or known.verdict is None:
        return None
    return AxleSide(known.part, known.verdict, known.new_size)


def _lacks(laid: Laid, target: Target, one: SideRuling) -> bool:
    """True where the pair asks for more on a side than the quote does, by how far the two would end apart."""
    needed = _NEEDED.get(one.ruling, Work.NONE)
    by_pair = one.because_of_partner and bool(_BY_DIFFERENCE & set(one.reasons))
    return by_pair and laid.quoted(target) < needed


def _small(told: str) -> str:
    return f"{told[0].lower()}{told[1:]}".removesuffix(".")


def _difference(axle: AxleVerdict, target: Target) -> Evidence:
    """The difference of the sides that the policy does not allow; what is known of the pair where there is none."""
    failing = [check for check in axle.checks if check.outcome is Outcome.FAIL]
    if failing:
        return of_check(failing[0], target.known.verdict_id)
    return Evidence("pair_rule", verdict_id=target.known.verdict_id)

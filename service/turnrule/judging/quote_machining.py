"""Lines that machine a part, against what is known of it: whether it may be, whether anything asks for it."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.policy import Policy
from turnrule.judging.quote_cuts import about_cuts
from turnrule.judging.quote_findings import Evidence, QuoteFinding, name_of, of_check, of_verdict, sentence
from turnrule.judging.quote_targets import Laid, Target, Work, asked_by
from turnrule.judging.quote_words import Operation, QuoteCode
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, LatheKind, Machining, Outcome, Ruling


def about_machining(laid: Laid, target: Target, policy: Policy) -> Iterator[QuoteFinding]:
    """What is wrong with machining this part. Rule: quote_work."""
    lines, verdict = laid.having(target, Operation.MACHINE), target.known.verdict
    replacing = laid.having(target, Operation.REPLACE)
    if lines and replacing:
        told = f"{name_of(target)} is to be machined and to be replaced: only one of the two is needed"
        both = tuple(sorted((*lines, *replacing)))
        yield QuoteFinding(QuoteCode.MACHINED_AND_REPLACED, sentence(told), both, (target.number,))
        return
    if not lines or verdict is None:
        return
    yield from _permission(laid, target, verdict, lines)
    if verdict.ruling is Ruling.REPLACE:
        told = f"{name_of(target)} is quoted for machining, but it must be replaced: {_why(verdict)}"
        yield _found(QuoteCode.MACHINING_OF_PART_TO_REPLACE, told, target, lines, of_verdict(target))
        return
    if verdict.ruling is Ruling.SERVICEABLE:
        yield _unasked(laid, target, lines)
    yield from about_cuts(laid, target, lines, policy)


def _why(verdict: Verdict) -> str:
    """The reason within the verdict's own sentence."""
    return verdict.summary.partition(": ")[2].removesuffix(".")


def _found(
    code: QuoteCode, told: str, target: Target, lines: tuple[int, ...], evidence: Evidence | None
) -> QuoteFinding:
    return QuoteFinding(code, sentence(told), lines, (target.number,), evidence)


def _permission(laid: Laid, target: Target, verdict: Verdict, lines: tuple[int, ...]) -> Iterator[QuoteFinding]:
    """What the maker says of machining the part at all."""
    said, name, verdict_id = verdict.limits.permission, name_of(target), target.known.verdict_id
    evidence = Evidence("machining", CheckName.MACHINING_PERMITTED, verdict_id=verdict_id)
    if said is Machining.PROHIBITED:
        told = f"{name} is quoted for machining, but its maker prohibits that"
        yield _found(QuoteCode.MACHINING_PROHIBITED, told, target, lines, evidence)
    if said is not Machining.ON_VEHICLE_ONLY:
        return
    on_bench = tuple(index for index in lines if laid.quote.lines[index].lathe is LatheKind.BENCH)
    unsaid = tuple(index for index in lines if laid.quote.lines[index].lathe is None)
    if on_bench:
        told = f"{name} is quoted for machining on a bench lathe, but its maker allows that on the vehicle only"
        yield _found(QuoteCode.MACHINING_ON_VEHICLE_ONLY, told, target, on_bench, evidence)
    if unsaid:
        told = f"{name} may be machined on the vehicle only, and the quote does not say on which lathe it is cut"
        yield _found(QuoteCode.LATHE_NOT_NAMED, told, target, unsaid, evidence)


def _unasked(laid: Laid, target: Target, lines: tuple[int, ...]) -> QuoteFinding:
    """Machining of a part that can stay as it is: for the sake of the other side, or for nothing."""
    evidence = of_verdict(target)
    if pair_may_ask(laid, target, Work.MACHINED):
        told = f"{name_of(target)} needs no machining by itself; it is machined to match the other side"
        return _found(QuoteCode.MACHINED_FOR_THE_PAIR, told, target, lines, evidence)
    told = f"{name_of(target)} is quoted for machining, but nothing that was measured asks for it"
    return _found(QuoteCode.MACHINING_NOT_NEEDED, told, target, lines, evidence)


def pair_may_ask(laid: Laid, target: Target, work: Work) -> bool:
    """True where the other side needs this work by itself, or gets it and is not known to need none."""
    for partner in laid.partners(target):
        verdict = partner.known.verdict
        is_open = verdict is None or verdict.ruling is Ruling.INCONCLUSIVE
        if asked_by(partner) is work or (is_open and laid.quoted(partner) is work):
            return True
    return False


def about_replacing(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    """What is wrong with replacing this part. Rule: quote_work."""
    lines, verdict = laid.having(target, Operation.REPLACE), target.known.verdict
    if not lines or verdict is None or verdict.ruling not in {Ruling.SERVICEABLE, Ruling.MACHINE}:
        return
    name, evidence = name_of(target), of_verdict(target)
    if pair_may_ask(laid, target, Work.REPLACED):
        told = f"{name} could stay by itself; it is replaced together with the other side, as is good practice"
        yield _found(QuoteCode.REPLACED_FOR_THE_PAIR, told, target, lines, evidence)
    elif verdict.ruling is Ruling.SERVICEABLE:
        told = f"{name} is quoted for replacement, but by its measurements it can stay in service"
        yield _found(QuoteCode.REPLACEMENT_NOT_NEEDED, told, target, lines, evidence)
    else:
        told = f"{name} is quoted for replacement, but by its measurements machining would do"
        yield _found(QuoteCode.REPLACEMENT_WHERE_MACHINING_DOES, told, target, lines, evidence)


def about_what_is_left_out(laid: Laid, target: Target) -> Iterator[QuoteFinding]:
    """A part that was measured and found bad, and that the quote does nothing about. Rule: quote_work."""
    verdict, work = target.known.verdict, asked_by(target)
    if verdict is None or work is Work.NONE or laid.quoted(target) is not Work.NONE:
        return
    name = name_of(target)
    if work is Work.REPLACED:
        told = f"{name} must be replaced, and the quote leaves that out: {_why(verdict)}"
        yield _found(QuoteCode.BAD_PART_LEFT_OUT, told, target, target.lines, of_verdict(target))
        return
    told = f"{name} needs machining, and the quote leaves that out"
    asking = next((check for check in verdict.checks if _asks(check.check) and check.outcome is Outcome.FAIL), None)
    evidence = of_verdict(target) if asking is None else of_check(asking, target.known.verdict_id)
    yield _found(QuoteCode.BAD_PART_LEFT_OUT, told, target, target.lines, evidence)


_ASKING = frozenset(
    {
        CheckName.THICKNESS_VARIATION,
        CheckName.OUT_OF_ROUND,
        CheckName.LATERAL_RUNOUT,
        CheckName.TAPER,
        CheckName.GROOVE_DEPTH,
        CheckName.SURFACE_FINISH,
    }
)


def _asks(check: CheckName) -> bool:
    """True for a check that asks for machining when it fails."""
    return check in _ASKING

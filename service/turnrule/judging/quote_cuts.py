"""The cut that a quote plans, against the part: whether it cleans up, whether there is room, whether it was meant.

A quote's cut counts from the thinnest point of a rotor and the widest of a drum.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from turnrule.judging.axle_sides import AxleSide, least_cut, room_is_known, standing_of
from turnrule.judging.cuts import grooves_of
from turnrule.judging.parts import AskedCut, Part
from turnrule.judging.policy import Policy
from turnrule.judging.quote_findings import Evidence, QuoteFinding, depth_words, name_of, of_size, sentence
from turnrule.judging.quote_targets import Laid, Target
from turnrule.judging.quote_words import Measure, QuoteCode
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, Face, LatheKind, Machining, Ruling, Sense, Zero

Depths = Mapping[Face, Decimal]


def about_cuts(laid: Laid, target: Target, lines: tuple[int, ...], policy: Policy) -> Iterator[QuoteFinding]:
    """What is wrong with the cut of each machining line about a part that is not to be replaced. Rule: quote_cut."""
    part, verdict = target.known.part, target.known.verdict
    if part is None or verdict is None or verdict.limits.permission is Machining.PROHIBITED:
        return
    for index in lines:
        cut = laid.quote.lines[index].cut
        if cut is not None:
            yield from _planned(laid, target, (index,), depths_of(cut, part), policy)
        elif verdict.ruling is Ruling.SERVICEABLE:
            yield from _unplanned(laid, target, (index,), part, policy)


def depths_of(cut: AskedCut, part: Part) -> dict[Face, Decimal]:
    """The depths of a quoted cut, face by face."""
    given = {Face.INBOARD: cut.inboard, Face.OUTBOARD: cut.outboard, Face.DEPTH: cut.depth}
    return {face: given[face] or Decimal(0) for face in part.faces}


def meant_by(verdict: Verdict) -> Depths | None:
    """The cut that a verdict is about: the least one that cleans up where the one asked for does not.

    None where there is none, or where it counts from another zero than a quote's.
    """
    if verdict.cut is None or verdict.cut.zero is not Zero.THINNEST_POINT:
        return None
    return verdict.cut.depths if verdict.cut.least_cleaning is None else verdict.cut.least_cleaning


def _planned(
    laid: Laid, target: Target, lines: tuple[int, ...], depths: Depths, policy: Policy
) -> Iterator[QuoteFinding]:
    part, verdict = target.known.part, target.known.verdict
    if part is None or verdict is None:  # pragma: no cover - looked at before
        raise AssertionError(target)
    wrong = (
        *_left_standing(laid, target, lines, depths, part),
        *_room(laid, target, lines, depths, QuoteCode.CUT_TOO_DEEP),
    )
    yield from wrong
    yield from _balance(laid, target, lines, depths, policy)
    meant = meant_by(verdict)
    if wrong or meant is None or depths == meant:
        return
    mine, theirs = sum(depths.values(), Decimal(0)), sum(meant.values(), Decimal(0))
    told = (
        f"the cut that is quoted for {name_of(target)} ({_in_words(depths, laid)}) is another one than it was judged "
        f"for ({_in_words(meant, laid)})"
    )
    verdict_id = target.known.verdict_id
    held = Evidence("total_cut", CheckName.TOTAL_CUT, mine, theirs, theirs - mine, Measure.LENGTH, verdict_id)
    yield QuoteFinding(QuoteCode.CUT_DIFFERS, sentence(told), lines, (target.number,), held)


def _left_standing(
    laid: Laid, target: Target, lines: tuple[int, ...], depths: Depths, part: Part
) -> Iterator[QuoteFinding]:
    """The groove that a cut leaves deepest, where it leaves one."""
    short = {face: groove for face, groove in grooves_of(part).items() if depths[face] < groove}
    if not short:
        return
    face, groove = max(short.items(), key=lambda pair: pair[1] - depths[pair[0]])
    unit, depth, verdict_id = laid.quote.unit, depths[face], target.known.verdict_id
    told = (
        f"the cut that is quoted for {name_of(target)} does not clean it up: a groove is {depth_words(groove, unit)} "
        f"deep, and {depth_words(depth, unit)} would be taken off"
    )
    check, name = CheckName.CUT_CLEANS_UP, f"cut_{face.value}"
    held = Evidence(name, check, depth, groove, depth - groove, Measure.LENGTH, verdict_id, Sense.AT_LEAST)
    yield QuoteFinding(QuoteCode.CUT_DOES_NOT_CLEAN_UP, sentence(told), lines, (target.number,), held)


def _in_words(depths: Depths, laid: Laid) -> str:
    named = (
        depth_words(depth, laid.quote.unit) + ("" if face is Face.DEPTH else f" {face.value}")
        for face, depth in depths.items()
    )
    return ", ".join(named)


def _unplanned(
    laid: Laid, target: Target, lines: tuple[int, ...], part: Part, policy: Policy
) -> Iterator[QuoteFinding]:
    """A part that needs no cut and gets one of which the quote does not say how deep: the least of good practice."""
    yield from _room(laid, target, lines, least_cut(part, policy), QuoteCode.NO_ROOM_TO_MACHINE)


def _room(
    laid: Laid, target: Target, lines: tuple[int, ...], depths: Depths, code: QuoteCode
) -> Iterator[QuoteFinding]:
    """Whether the part has the metal for a cut."""
    part, verdict, unit = target.known.part, target.known.verdict, laid.quote.unit
    if part is None or verdict is None:  # pragma: no cover - looked at before
        raise AssertionError(target)
    name, about, verdict_id = name_of(target), (target.number,), target.known.verdict_id
    total, room = sum(depths.values(), Decimal(0)), verdict.room.most_total_cut
    planned = code is QuoteCode.CUT_TOO_DEEP
    what = "the cut that is quoted for" if planned else "even the least cut for"
    if room is not None:
        if total > room:
            held = Evidence(
                "total_cut", CheckName.MACHINING_LIMIT, total, room, room - total, Measure.LENGTH, verdict_id,
                Sense.AT_MOST,
            )  # fmt: skip
            cut, most = depth_words(total, unit), depth_words(room, unit)
            told = f"{what} {name} is too deep: {cut} in all, where {most} may come off"
            yield QuoteFinding(code, sentence(told), lines, about, held)
        return
    size, limit = _after(part, verdict, total), verdict.limits.machining
    if size is not None and limit is not None:
        held = of_size(size, limit, verdict_id)
        past = held.margin is not None and held.margin < 0
        if not past and _is_on_another_lathe(part, verdict):
            return
        if not past and not room_is_known(standing_of(AxleSide(part, verdict))):
            yield _unjudged(target, lines)
            return
        told = f"{what} {name} is too deep: it has no metal to spare for it"
        yield QuoteFinding(code, sentence(told), lines, about, held)
    elif verdict.ruling is not Ruling.INCONCLUSIVE:
        yield _unjudged(target, lines)


def _is_on_another_lathe(part: Part, verdict: Verdict) -> bool:
    """True where no room is told only because the part was judged for a lathe that its maker does not allow."""
    return verdict.limits.permission is Machining.ON_VEHICLE_ONLY and part.lathe is LatheKind.BENCH


def _unjudged(target: Target, lines: tuple[int, ...]) -> QuoteFinding:
    told = f"whether {name_of(target)} has the metal for a cut cannot be told: its machining limit is not known"
    held = Evidence("machining_limit", CheckName.MACHINING_LIMIT, verdict_id=target.known.verdict_id)
    return QuoteFinding(QuoteCode.CUT_CANNOT_BE_JUDGED, sentence(told), lines, (target.number,), held)


def _after(part: Part, verdict: Verdict, total: Decimal) -> Decimal | None:
    """The size that a cut leaves."""
    size = verdict.figures.clean_up
    if size is None:
        return None
    return size - total if part.kind.is_rotor else size + 2 * total


def _balance(
    laid: Laid, target: Target, lines: tuple[int, ...], depths: Depths, policy: Policy
) -> Iterator[QuoteFinding]:
    """Whether the faces lose as nearly alike as the policy asks."""
    apart, bound, unit = max(depths.values()) - min(depths.values()), policy.face_balance, laid.quote.unit
    if bound is None or apart <= bound:
        return
    told = (
        f"the cut that is quoted for {name_of(target)} takes {depth_words(apart, unit)} more off one face than off the "
        f"other, and the policy allows {depth_words(bound, unit)}"
    )
    held = Evidence(
        "face_balance", CheckName.FACE_BALANCE, apart, bound, bound - apart, Measure.LENGTH, target.known.verdict_id,
        Sense.AT_MOST,
    )  # fmt: skip
    yield QuoteFinding(QuoteCode.CUT_OUT_OF_BALANCE, sentence(told), lines, (target.number,), held)

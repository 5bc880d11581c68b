"""The engine's verdict in the shape that the oracle answers in: whole picometres, words, nothing left out.

The engine's words are strings, equal to the plain ones that the oracle answers with.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import floor

from tests.judging.agreement.adapter import engine_verdict
from tests.judging.agreement.answers import Answer, CutAnswer, LifeAnswer, Line, MetalAnswer
from tests.judging.agreement.exact import TICK
from tests.judging.agreement.shapes import Case
from turnrule.judging.limits import Governing
from turnrule.judging.part_life import PartLife
from turnrule.judging.verdict import Check, Figures, JudgedCut, MetalTaken, Room, Verdict
from turnrule.judging.words import Outcome

PM = 10**9
# Cautions that speak of handling, not of judging: when they are shown is the engine's own choice.
UNCOMPARED = frozenset(
    [
        "follow_service_data",
        "regulation_applies",
        "finding_noted",
        "axle_partner",
        "do_not_machine",
        "composite_part",
        "coated_part",
        "drilled_or_slotted_part",
        "heat_rises_with_cut",
        "finish_after_machining",
        "brake_option_assumed",
        "near_limit",
        "dust_hazard",
    ]
)


class InexactError(ValueError):
    """The engine answered a length that is no whole number of picometres."""


def _whole(value: Decimal, places: int = 9) -> int:
    scaled = value.scaleb(places)
    whole = int(scaled)
    if whole != scaled:
        raise InexactError(str(value))
    return whole


def _pm(value: Decimal | None) -> int | None:
    return None if value is None else _whole(value)


def _counted(check: Check, value: Decimal | None) -> int | None:
    """A check's figure: points as a count, lengths in pm, distances in um."""
    if value is None:
        return None
    return _whole(value, 0) if check.measure == "points" else _whole(value)


def _line(check: Check) -> Line:
    if check.outcome is Outcome.NOT_ASSESSED:
        return Line(check.check, "not_assessed")
    chance = check.probability
    return Line(
        check.check,
        check.outcome,
        check.quantity,
        _counted(check, check.value),
        _counted(check, check.limit),
        check.origin,
        _pm(check.guard_band),
        None if chance is None else float(chance),
    )


def _limit(limit: Governing | None) -> tuple[int, str] | None:
    return None if limit is None else (_whole(limit.value), limit.origin)


def _cut(cut: JudgedCut | None) -> CutAnswer | None:
    if cut is None:
        return None
    least = cut.least_cleaning
    return CutAnswer(
        {face: _whole(depth) for face, depth in cut.depths.items()},
        cut.zero,
        cut.asked,
        cut.allowed,
        cut.cleans_up,
        None if least is None else {face: _whole(depth) for face, depth in least.items()},
        cut.least_cleaning_allowed,
    )


def _printed(value: Decimal | None, step: int, sign: int) -> int | None:
    """A figure of the room as it is printed: whole least digits of the caller's unit, rounded down (`sign` 1) or up."""
    return None if value is None else sign * floor(sign * Fraction(value) * PM / step) * step


def _room(room: Room, step: int, sign: int) -> dict[str, int | None]:
    return {
        "most_total_cut": _printed(room.most_total_cut, step, 1),
        "most_cut_per_face": _printed(room.most_cut_per_face, step, 1),
        "reading_needed": _printed(room.reading_needed, step, -sign),
    }


def _figures(figures: Figures) -> dict[str, int | None]:
    return {
        "least": _pm(figures.least),
        "greatest": _pm(figures.greatest),
        "variation": _pm(figures.variation),
        "taper": _pm(figures.taper),
        "lateral_runout": _pm(figures.lateral_runout),
        "runout_to_true": _pm(figures.runout_to_true),
        "clean_up": _pm(figures.clean_up),
        "after_cut": _pm(figures.after_cut),
    }


def _life(part: PartLife | None) -> LifeAnswer | None:
    if part is None:
        return None
    life, reach = part.life, part.reached
    odometers = () if reach is None else (reach.next_reached, reach.last_reached, reach.first_missed)
    following, last, missed = map(_pm, odometers) if odometers else (None, None, None)
    return LifeAnswer(
        left_out=tuple((doubt.place, str(doubt.reason), doubt.against) for doubt in life.doubts),
        untold=tuple(map(str, life.untold)),
        rate=None if life.rate is None else Fraction(life.rate.lost) / Fraction(life.rate.over),
        disputed=part.disputed,
        counted_from=_pm(part.counted_from),
        left=None if life.left_km is None else _whole(life.left_km, 0),
        reached=None if reach is None else (reach.count, following, last, missed),
        at_least=None if life.at_least_km is None else float(life.at_least_km),
    )


def _metal(metal: MetalTaken | None) -> MetalAnswer | None:
    if metal is None:
        return None
    return MetalAnswer(
        told=_pm(metal.told),
        by_worst=_pm(metal.by_least),
        by_mean=_pm(metal.by_mean),
        truing=_pm(metal.truing),
        both=_pm(metal.both),
        agrees=metal.agrees,
        grew=metal.grew,
    )


def answer_of(case: Case, verdict: Verdict) -> Answer:
    """Everything of a verdict that the oracle answers too."""
    limits = verdict.limits
    step, sign = TICK[case["request"]["unit"]], 1 if case["request"]["kind"] == "rotor" else -1
    return Answer(
        verdict=verdict.ruling,
        lines=tuple(map(_line, verdict.checks)),
        figures=_figures(verdict.figures),
        limits={
            "discard": _limit(limits.discard),
            "machining": _limit(limits.machining),
            "groove_depth": _limit(limits.groove_depth),
            "lateral_runout": _limit(limits.lateral_runout),
            "thickness_variation": _limit(limits.thickness_variation),
            "out_of_round": _limit(limits.out_of_round),
            "taper": _limit(limits.taper),
        },
        cut=_cut(verdict.cut),
        margins={
            "to_machining_limit": _pm(verdict.margins.to_machining_limit),
            "to_discard_limit": _pm(verdict.margins.to_discard_limit),
            "guard_band": _whole(verdict.margins.guard_band),
        },
        room=_room(verdict.room, step, sign),
        settled_by=tuple(
            (
                one.check,
                one.missing,
                _printed(one.reading_needed, step, -sign),
                _pm(one.expanded_uncertainty_at_most),
            )
            for one in verdict.room.settled_by
        ),
        cautions=frozenset(caution.code for caution in verdict.cautions) - UNCOMPARED,
        missing=verdict.missing,
        life=_life(verdict.life),
        metal=_metal(verdict.metal),
    )


def engine_answer(case: Case) -> Answer:
    """The engine's judgement of a case."""
    return answer_of(case, engine_verdict(case))

"""The engine's verdict in the shape that the oracle answers in: whole picometres, plain words, nothing left out."""

from __future__ import annotations

from decimal import Decimal

from tests.judging.agreement.adapter import engine_verdict
from tests.judging.agreement.answers import Answer, CutAnswer, Line
from tests.judging.agreement.shapes import Case
from turnrule.judging.limits import Governing
from turnrule.judging.verdict import Check, JudgedCut, Verdict

PM = 10**9
# Cautions that speak of handling, not of judging: when they are shown is the engine's own choice.
UNCOMPARED = frozenset(
    "follow_service_data regulation_applies finding_noted axle_partner do_not_machine composite_part coated_part "
    "drilled_or_slotted_part heat_rises_with_cut finish_after_machining brake_option_assumed near_limit "
    "dust_hazard".split()
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
    if check.outcome.value == "not_assessed":
        return Line(check.check.value, "not_assessed")
    chance = check.probability
    return Line(
        check.check.value,
        check.outcome.value,
        check.quantity,
        _counted(check, check.value),
        _counted(check, check.limit),
        None if check.origin is None else check.origin.value,
        _pm(check.guard_band),
        None if chance is None else float(chance),
    )


def _limit(limit: Governing | None) -> tuple[int, str] | None:
    return None if limit is None else (_whole(limit.value), limit.origin.value)


def _cut(cut: JudgedCut | None) -> CutAnswer | None:
    if cut is None:
        return None
    least = cut.least_cleaning
    return CutAnswer(
        {face.value: _whole(depth) for face, depth in cut.depths.items()},
        cut.zero.value,
        cut.asked,
        cut.allowed,
        cut.cleans_up,
        None if least is None else {face.value: _whole(depth) for face, depth in least.items()},
        cut.least_cleaning_allowed,
    )


def answer_of(verdict: Verdict) -> Answer:
    """Everything of a verdict that the oracle answers too."""
    figures, limits = verdict.figures, verdict.limits
    return Answer(
        verdict=verdict.ruling.value,
        lines=tuple(map(_line, verdict.checks)),
        figures={
            "least": _pm(figures.least),
            "greatest": _pm(figures.greatest),
            "variation": _pm(figures.variation),
            "taper": _pm(figures.taper),
            "lateral_runout": _pm(figures.lateral_runout),
            "runout_to_true": _pm(figures.runout_to_true),
            "clean_up": _pm(figures.clean_up),
            "after_cut": _pm(figures.after_cut),
        },
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
        room={
            "most_total_cut": _pm(verdict.room.most_total_cut),
            "most_cut_per_face": _pm(verdict.room.most_cut_per_face),
            "reading_needed": _pm(verdict.room.reading_needed),
        },
        settled_by=tuple(
            (one.check.value, one.missing, _pm(one.reading_needed), _pm(one.expanded_uncertainty_at_most))
            for one in verdict.room.settled_by
        ),
        cautions=frozenset(caution.code for caution in verdict.cautions) - UNCOMPARED,
        missing=verdict.missing,
    )


def engine_answer(case: Case) -> Answer:
    """The engine's judgement of a case."""
    return answer_of(engine_verdict(case))

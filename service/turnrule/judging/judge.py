"""The judgement of one part: the one door into the engine."""

from __future__ import annotations

import datetime
from decimal import Decimal, localcontext

from turnrule.judging.assessment import Assessment, CutChecks, assess
from turnrule.judging.case import Case, prepare
from turnrule.judging.catalogue import Catalogue
from turnrule.judging.checks import safe_side
from turnrule.judging.cuts import standing
from turnrule.judging.faults import PartError, faults_of
from turnrule.judging.finished import metal_taken
from turnrule.judging.governing import Strength
from turnrule.judging.lengths import EXACT
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.noticing import cautions_of
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy
from turnrule.judging.room import room_of
from turnrule.judging.ruling import as_governing, decide
from turnrule.judging.sentences import next_steps_of, summary_of
from turnrule.judging.verdict import Figures, Gauge, JudgedCut, Margins, Verdict
from turnrule.judging.words import Face


def judge(
    part: Part,
    *,
    record: Record | None,
    caller: LimitSet | None,
    policy: Policy,
    catalogue: Catalogue,
    on: datetime.date,
    withdrawn: str | None = None,
) -> Verdict:
    """The verdict on one part as of the day `on`, from the limits record and the caller's own limits, if any.

    `withdrawn` is why the record that is for the part must not be used; `record` is None then, and unless the caller
    brings limits the part cannot be passed.

    The same arguments give an equal verdict, always and anywhere: nothing else is read. Raises `PartError`
    with every fault of the request when it cannot be judged.
    """
    with localcontext(EXACT):
        faults = faults_of(part, caller=caller, policy=policy, catalogue=catalogue, record=record)
        if faults:
            raise PartError(faults)
        case = prepare(
            part, record=record, caller=caller, policy=policy, catalogue=catalogue, on=on, withdrawn=withdrawn
        )
        return _verdict(case, assess(case))


def _verdict(case: Case, assessment: Assessment) -> Verdict:
    decision = decide(case, assessment)
    listed = assessment.listed()
    return Verdict(
        ruling=decision.ruling,
        summary=summary_of(case, assessment, decision),
        governing=as_governing(decision.governing),
        figures=_figures(case, assessment),
        margins=_margins(case, assessment),
        room=room_of(case, assessment, listed),
        limits=case.limits,
        cut=_judged_cut(case, assessment),
        life=assessment.life,
        checks=listed,
        cautions=cautions_of(case, assessment, listed),
        next_steps=next_steps_of(case, assessment, decision),
        gauge=_gauge(case),
        metal=metal_taken(case),
        missing=decision.missing,
    )


def _figures(case: Case, assessment: Assessment) -> Figures:
    measured = case.measured
    rate = assessment.life.life.rate if assessment.life is not None else None
    return Figures(
        least=measured.least,
        greatest=measured.greatest,
        mean=measured.mean,
        variation=measured.variation,
        taper=measured.taper,
        lateral_runout=measured.lateral_runout,
        harmonic=measured.harmonic,
        runout_to_true=measured.trued.runout if measured.trued.known else None,
        clean_up=measured.trued.clean_up,
        after_cut=assessment.main.cut.after if assessment.main is not None else None,
        wear_per_1000_km=None if rate is None else rate.per_1000_km,
        remaining_km=assessment.remaining.value,
    )


def _gauge(case: Case) -> Gauge:
    stated, policy = case.part.instrument, case.policy.instrument
    names = ("resolution", "expanded_uncertainty", "repeatability")
    taken = {name: getattr(stated if getattr(stated, name) is not None else policy, name) for name in names}
    return Gauge(**taken, stated=frozenset(name for name in names if getattr(stated, name) is not None))


def _margins(case: Case, assessment: Assessment) -> Margins:
    size = case.measured.worst(case.part.kind)
    if assessment.main is not None:
        size = assessment.main.cut.after
    return Margins(_margin(size, case.machining), _margin(size, case.discard), case.uncertainty.expanded)


def _margin(size: Decimal | None, limit: Strength) -> Decimal | None:
    if size is None or limit.governing is None:
        return None
    return safe_side(size, limit.governing)


def _judged_cut(case: Case, assessment: Assessment) -> JudgedCut | None:
    main, least = assessment.main, assessment.least
    if main is None:
        return None
    return JudgedCut(
        depths=main.cut.depths,
        zero=main.cut.zero,
        asked=assessment.was_asked,
        allowed=main.allowed(assessment.permitted),
        cleans_up=least is None,
        least_cleaning=_depths(least),
        least_cleaning_allowed=least.allowed(assessment.permitted) if least is not None else None,
        standing=standing(case.part, case.measured, main.cut.zero),
    )


def _depths(cut: CutChecks | None) -> dict[Face, Decimal] | None:
    return None if cut is None else dict(cut.cut.depths)

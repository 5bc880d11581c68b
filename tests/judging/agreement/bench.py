"""Every check of one case, before the verdict is drawn from them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tests.judging.agreement.answers import LifeAnswer, Line
from tests.judging.agreement.figures import Figures, figures_of
from tests.judging.agreement.finished import Finished, finished_of
from tests.judging.agreement.form import Form, form_of, unread
from tests.judging.agreement.governed import Rules, rules_of
from tests.judging.agreement.shapes import Case
from tests.judging.agreement.told import Told, told
from tests.judging.agreement.turning import Cut, cut_of, least_cleaning, planned, strength
from tests.judging.agreement.wear import (
    asked_of_life,
    life_of,
    remaining_km,
    remaining_line,
    size_for_distance,
    wear_of,
)


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything that the verdict is drawn from. `cuts` holds the judged cut first, then the least cleaning one."""

    told: Told
    rules: Rules
    figures: Figures
    form: Form
    needed: bool
    findings: Line
    measured: tuple[Line, ...]  # the discard limit, and after machining the machining limit, as measured
    permitted: Line
    cuts: tuple[Cut, ...]
    finished: Finished
    remaining: Line
    life: LifeAnswer | None
    size_for_distance: Fraction | None  # the size that still lasts as far as the policy asks
    unread: tuple[str, ...]  # what the policy requires and nobody read
    cautions: frozenset[str]


def _permitted(told: Told, rules: Rules, *, judged: bool) -> Line:
    if not (judged or told.after_machining):
        return Line("machining_permitted", "not_assessed")
    on_bench = told.request.get("lathe") == "bench"
    refused = rules.permission == "prohibited" or (rules.permission == "on_vehicle_only" and on_bench)
    return Line("machining_permitted", "fail" if refused else "pass", "machining")


def _cuts(told: Told, figures: Figures, rules: Rules, *, needed: bool) -> tuple[Cut, ...]:
    if told.asked is None:
        return (cut_of(told, figures, rules, planned(told, figures), "thinnest_point"),) if needed else ()
    asked = cut_of(told, figures, rules, told.asked, told.zero)
    if asked.cleans_up:
        return (asked,)
    least = least_cleaning(told, figures, told.zero)
    return asked, cut_of(told, figures, rules, least, told.zero, least=True)


def _measured(told: Told, figures: Figures, rules: Rules) -> tuple[Line, ...]:
    size = figures.deciding(told.sign)
    quantity = "least_thickness" if told.rotor else "greatest_diameter"
    discard = strength(told, "discard_limit", quantity, size, rules.discard)
    if not told.after_machining:
        return (discard,)
    return discard, strength(told, "machining_limit", quantity, size, rules.machining)


def bench_of(case: Case) -> Bench:
    """Every check of a case, before the verdict is drawn from them."""
    part = told(case)
    rules = rules_of(part)
    figures = figures_of(part, rules.permission)
    form = form_of(part, figures, rules)
    effects = {seen.effect for seen in part.seen}
    needed = form.failed or "machine" in effects
    cuts = _cuts(part, figures, rules, needed=needed)
    wear = wear_of(part, figures.deciding(part.sign))
    left = _left(cuts if needed else (), figures.deciding(part.sign), part.sign)
    remaining, unknown = remaining_line(part, wear, remaining_km(part, wear, left, rules.discard))
    wanted = size_for_distance(part, wear, rules.discard)
    permitted = _permitted(part, rules, judged=bool(cuts))
    marks = {
        "history_suspect": asked_of_life(part) and wear.suspect,
        "remaining_distance_unknown": unknown,
        "machining_not_stated": permitted.outcome != "not_assessed" and rules.permission == "not_stated",
        "on_vehicle_lathe_only": _only_on_vehicle(part, rules, permitted),
        "first_contact_without_trace": bool(cuts) and _untraced(part),
    }
    cautions = {code for code, holds in marks.items() if holds} | rules.cautions | figures.cautions | form.cautions
    return Bench(
        told=part,
        rules=rules,
        figures=figures,
        form=form,
        needed=needed,
        findings=_findings(part),
        measured=_measured(part, figures, rules),
        permitted=permitted,
        cuts=cuts,
        finished=finished_of(part, figures.deciding(part.sign)),
        remaining=remaining,
        life=life_of(part, wear, left, rules.discard),
        size_for_distance=wanted,
        unread=unread(part, figures, form),
        cautions=frozenset(cautions),
    )


def _findings(part: Told) -> Line:
    hard = [seen.raised for seen in part.seen if seen.effect == "replace"]
    if hard:
        return Line("findings", "fail", "findings", origin="policy" if any(hard) else "catalogue")
    return Line("findings", "pass", "findings")


def _untraced(part: Told) -> bool:
    return part.rotor and part.zero == "first_contact" and (not part.track or len(part.trace) != len(part.track))


def _only_on_vehicle(part: Told, rules: Rules, permitted: Line) -> bool:
    """True where the on-vehicle rules serve unasked, or where a bench lathe is named and the record refuses it."""
    lathe = part.request.get("lathe")
    return rules.permission == "on_vehicle_only" and (lathe is None or permitted.outcome == "fail")


def _left(cuts: tuple[Cut, ...], measured: int | None, sign: int) -> int | None:
    """The size that the distance left counts from: after the worse of the cuts that are judged, else as measured."""
    sizes = [cut.after for cut in cuts if cut.after is not None]
    return min(sizes, key=lambda size: sign * size) if sizes else measured

"""The judgement of one case, written a second time from the rules alone, in whole numbers.

It shares no code with the engine. Where a figure cannot be whole (a mean, a slope), it is compared crosswise.
"""

from __future__ import annotations

from collections.abc import Iterator

from tests.judging.agreement.answers import Answer, CutAnswer, Line
from tests.judging.agreement.bench import Bench, bench_of
from tests.judging.agreement.form import points_line
from tests.judging.agreement.governed import Governed
from tests.judging.agreement.room import margins_of, room_of, settling
from tests.judging.agreement.shapes import Case
from tests.judging.agreement.turning import cut_of, planned

ORDER = [
    "findings",
    "discard_limit",
    "thickness_variation",
    "out_of_round",
    "lateral_runout",
    "taper",
    "groove_depth",
    "surface_finish",
    "cut_cleans_up",
    "machining_permitted",
    "machining_limit",
    "discard_after_cut",
    "total_cut",
    "face_balance",
    "remaining_distance",
    "measurement_points",
    "axle_difference",
]
RANK = {name: rank for rank, name in enumerate(ORDER)}
CUT_CHECKS = ("discard_after_cut", "total_cut", "face_balance")


def _is_missing(limit: Governed | None) -> bool:
    return limit is None or not limit.proper


def _without_depth(bench: Bench) -> bool:
    """True where a finding has to be measured, and neither its own depth nor its face's groove depth was read.

    A finding that names no face is content with the groove depth of any face.
    """
    told = bench.told
    return any(
        seen.effect == "measure"
        and seen.depth is None
        and (not told.grooves if seen.face is None else seen.face not in told.grooves)
        for seen in told.seen
    )


def _missing(bench: Bench) -> list[str]:
    """What decides and was not given, by the contract's names."""
    told, rules = bench.told, bench.rules
    size = "thickness" if told.rotor else "diameter"
    turned = "minimum_machining_thickness" if told.rotor else "maximum_machining_diameter"
    gaps = {
        size: not told.track,
        f"discard_{size}": _is_missing(rules.discard),
        turned: _is_missing(rules.machining) and (bench.needed or told.after_machining),
        "groove_depth": _without_depth(bench),
    }
    found = [name for name, gap in gaps.items() if gap]
    late = {"calibration_due": "calibration_overdue", "review_due": "limits_review_due"}
    found.extend(name for name in bench.unread if name not in found)
    stopping = [code for code in _overdue(bench) if told.policy.get(code) == "inconclusive"]
    found.extend(name for name, code in late.items() if code in stopping)
    return found + ["nominal_diameter"] * rules.nominal_missing


def _overdue(bench: Bench) -> set[str]:
    due = bench.told.request.get("instrument", {}).get("calibration_due")
    late = {"calibration_overdue"} if due is not None and due < bench.told.case["on"] else set()
    return late | (bench.rules.cautions & {"limits_review_due"})


def _stops(bench: Bench) -> bool:
    """True where the policy makes an overdue date undecided."""
    policy, late = bench.told.policy, _overdue(bench)
    return ("calibration_overdue" in late and policy.get("calibration_overdue") == "inconclusive") or (
        "limits_review_due" in late and policy.get("limits_review_due") == "inconclusive"
    )


def _deciding(bench: Bench) -> Iterator[Line]:
    """The checks that the verdict rests on: a cut's own only where machining is needed."""
    yield bench.findings
    yield from bench.measured
    yield bench.remaining
    yield bench.permitted if bench.needed or bench.told.after_machining else bench.findings
    if bench.needed:
        for cut in bench.cuts:
            yield from cut.lines
    yield from bench.finished.lines


def verdict_of(bench: Bench, missing: list[str]) -> str:
    """The verdict, from worst to best."""
    outcomes = {line.outcome for line in _deciding(bench)}
    if "fail" in outcomes:
        return "replace"
    if "unproven" in outcomes or missing or _stops(bench):
        return "inconclusive"
    return "machine" if bench.needed else "serviceable"


def _smaller_cut_possible(bench: Bench) -> bool:
    """True where only the depth of the cut asked for fails, and the planned cut would pass."""
    told = bench.told
    whole = [bench.findings, *bench.measured, bench.permitted, *bench.finished.lines]
    if told.asked is None or not bench.needed or any(line.outcome == "fail" for line in whole):
        return False
    if not (bench.cuts[0].any("fail") or bench.cuts[0].any("unproven")):
        return False
    plan = cut_of(told, bench.figures, bench.rules, planned(told, bench.figures), "thinnest_point")
    return plan.allowed(bench.permitted.outcome) is True


def _cautions(bench: Bench) -> frozenset[str]:
    told, rules = bench.told, bench.rules
    required = {"lateral_runout", "taper"} & set(bench.unread)
    unmeasured = (
        not told.track or (told.rotor and bench.figures.runout is None and "lateral_runout" in rules.form) or required
    )
    marks = {
        "discard_limit_missing": _is_missing(rules.discard),
        "machining_limit_missing": _is_missing(rules.machining) and (bench.needed or told.after_machining),
        "not_measured": bool(unmeasured),
        "finding_needs_depth": _without_depth(bench),
        "cut_leaves_uncut": bool(bench.cuts) and not bench.cuts[0].cleans_up,
        "smaller_cut_possible": _smaller_cut_possible(bench),
    }
    return bench.cautions | bench.finished.cautions | {code for code, holds in marks.items() if holds} | _overdue(bench)


def _cut_answer(bench: Bench) -> CutAnswer | None:
    if not bench.cuts:
        return None
    first, permitted = bench.cuts[0], bench.permitted.outcome
    asked = bench.told.asked is not None
    if first.cleans_up:
        return CutAnswer(first.depths, first.zero, asked, first.allowed(permitted), cleans_up=True)
    least = bench.cuts[1]
    return CutAnswer(
        first.depths,
        first.zero,
        asked,
        first.allowed(permitted),
        cleans_up=False,
        least_cleaning=least.depths,
        least_cleaning_allowed=least.allowed(permitted),
    )


def _rank(line: Line) -> int:
    return RANK[line.check]


def _lines(bench: Bench) -> tuple[Line, ...]:
    """The checks in the answer's order: by name, and of one name as measured, after the cut, after the least cut."""
    cuts, told = bench.cuts, bench.told
    cleaned = "not_assessed" if not cuts else "pass" if cuts[0].cleans_up else "fail"
    judged = [*bench.finished.lines, *(line for cut in cuts for line in cut.lines)]
    if not cuts:
        names = ("machining_limit",) * (not told.after_machining) + CUT_CHECKS
        answered = {line.check for line in judged}
        judged += [Line(name, "not_assessed") for name in names if name not in answered]
    lines = (
        bench.findings,
        *bench.measured,
        *bench.form.lines,
        Line("cut_cleans_up", cleaned, "cut" if cuts else None),
        bench.permitted,
        *judged,
        bench.remaining,
        points_line(told, bench.figures),
        Line("axle_difference", "not_assessed"),  # one part alone has no partner to differ from
    )
    return tuple(sorted(lines, key=_rank))


def _limits(bench: Bench) -> dict[str, tuple[int, str] | None]:
    rules = bench.rules
    form = {name: rules.form.get(name) for name in ("lateral_runout", "thickness_variation", "out_of_round", "taper")}
    known = {"discard": rules.discard, "machining": rules.machining, "groove_depth": rules.groove, **form}
    return {name: None if limit is None else (limit.value, limit.origin) for name, limit in known.items()}


def judge_case(case: Case) -> Answer:
    """The whole judgement of a case."""
    bench = bench_of(case)
    told, rules, figures = bench.told, bench.rules, bench.figures
    missing = _missing(bench)
    now = figures.deciding(told.sign)
    after = bench.cuts[0].after if bench.cuts else None
    return Answer(
        verdict=verdict_of(bench, missing),
        lines=_lines(bench),
        figures={
            "least": figures.least,
            "greatest": figures.greatest,
            "variation": figures.variation,
            "taper": figures.taper,
            "lateral_runout": figures.runout,
            "runout_to_true": figures.to_true,
            "clean_up": figures.clean_up,
            "after_cut": after,
        },
        limits=_limits(bench),
        cut=_cut_answer(bench),
        margins=margins_of(told, rules, after if bench.cuts else now),
        room=room_of(bench),
        settled_by=settling(bench),
        cautions=_cautions(bench),
        missing=tuple(missing),
        life=bench.life,
        metal=bench.finished.metal,
    )

"""The checks that ask for machining, and the ones that only say what was read: form, grooves, finish, points."""

from __future__ import annotations

from dataclasses import dataclass

from tests.judging.agreement.answers import Line
from tests.judging.agreement.exact import conformity, length
from tests.judging.agreement.figures import Figures
from tests.judging.agreement.governed import Governed, Rules
from tests.judging.agreement.told import Told

FINISH_LIMIT = 2_032_000  # 80 microinches in pm; common practice, no source


@dataclass(frozen=True, slots=True)
class Form:
    """The form checks, whether any asks for machining, and the cautions that they call for."""

    lines: tuple[Line, ...]
    failed: bool
    cautions: frozenset[str]


def minimum_points(told: Told) -> int:
    """The readings that a track needs before its variation is assessed."""
    return told.policy.get("minimum_points", 4)


def _line(told: Told, quantity: str, value: int | None, limit: Governed | None) -> Line:
    if value is None or limit is None:
        return Line(quantity, "not_assessed")
    outcome = "pass" if value <= limit.value else "fail"
    chance = conformity(limit.value - value, told.twelve)
    return Line(quantity, outcome, quantity, value, limit.value, limit.origin, 0, chance)


def _finish(told: Told) -> Line:
    body = told.request.get("surface_roughness")
    if body is None:
        return Line("surface_finish", "not_assessed")
    value = length(body["value"], "mm") // 1000 if body["unit"] == "um" else length(body["value"], "in") // 10**6
    outcome = "pass" if value <= FINISH_LIMIT else "fail"
    return Line("surface_finish", outcome, "surface_finish", value, FINISH_LIMIT, "practice", 0)


def form_of(told: Told, figures: Figures, rules: Rules) -> Form:
    """Every form check, by the simple rule; a figure closer to its limit than U carries a caution."""
    variation = "thickness_variation" if told.rotor else "out_of_round"
    spread = _line(told, variation, figures.variation, rules.form.get(variation))
    few = figures.points is not None and figures.points < minimum_points(told)
    cautions = set()
    if few and spread.outcome == "pass":
        spread = Line(variation, "not_assessed")
        cautions.add("few_points")
    if few and spread.outcome == "not_assessed" and variation in told.policy.get("require", ()):
        cautions.add("few_points")
    lines = [spread]
    if told.rotor:
        lines.append(_line(told, "lateral_runout", figures.runout, rules.form.get("lateral_runout")))
    lines.append(_line(told, "taper", figures.taper, rules.form.get("taper")))
    if any(
        line.value is not None and line.limit is not None and abs(line.value - line.limit) < told.expanded
        for line in lines
    ):
        cautions.add("within_uncertainty")
    lines.append(_line(told, "groove_depth", figures.groove, rules.groove))
    if told.after_machining:
        lines.append(_finish(told))
    return Form(tuple(lines), any(line.outcome == "fail" for line in lines), frozenset(cautions))


def points_line(told: Told, figures: Figures) -> Line:
    """How many readings the shortest track has, against the policy's least number."""
    points, least = figures.points or 0, minimum_points(told)
    outcome = "pass" if points >= least else "fail"
    return Line("measurement_points", outcome, "readings_per_track", points, least, "policy")


def unread(told: Told, figures: Figures, form: Form) -> tuple[str, ...]:
    """What the policy requires to have been read, and was not."""
    required = told.policy.get("require")
    if not required:
        return ()
    size, variation = ("thickness", "thickness_variation") if told.rotor else ("diameter", "out_of_round")
    request = told.request
    read = {
        size: bool(told.track),
        f"{size}_inner": bool(told.inner),
        variation: (figures.points or 0) >= minimum_points(told) or form.lines[0].outcome == "fail",
        "taper": figures.taper is not None,
        "setup_runout": told.setup is not None,
        "groove_depth": figures.groove is not None,
        "marking": told.marking is not None,
        "part_temperature_c": "part_temperature_c" in request,
        "surface_roughness": "surface_roughness" in request or not told.after_machining,
        "history": bool(request.get("history")),
    }
    if told.rotor:
        read["lateral_runout"] = figures.runout is not None
    return tuple(name for name in sorted(required) if not read.get(name, True))

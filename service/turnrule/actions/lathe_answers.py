"""What an answer tells of the lathe: its passes, their times and finish, and what the cut means for heat.

Lengths and feeds in the caller's unit, a feed a turn; surface speeds in m or ft a minute; Ra in um or uin.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from turnrule.actions.lathes import FT_PER_MIN, M_PER_MIN, METRES_PER_FOOT
from turnrule.actions.numbers import Lengths, number
from turnrule.actions.planning import AtTheLathe, PlannedCut
from turnrule.judging.heat import Heating
from turnrule.judging.lengths import quotient
from turnrule.judging.passes import Finish, Pass, PassPlan, Refusal
from turnrule.judging.turning import SPEED_GRID
from turnrule.judging.words import Face, Unit

Json = dict[str, object]

_MM_PER_UM, _MM_PER_UIN = Decimal("0.001"), Decimal("0.0000254")
_MM3_PER_IN3 = Decimal("16387.064")
"""One cubic inch, exactly."""

_ROUGHNESS_GRID = Decimal("0.0001")


def lathe_named(work: AtTheLathe) -> Json | None:
    """The lathe that the request names: the revision of its profile, or its kind alone; null where it names none."""
    if work.kind is None:
        return None
    profile = work.profile
    return {
        "name": None if profile is None else profile.name,
        "revision": None if profile is None else profile.revision,
        "kind": work.kind,
    }


def passes_document(cut: PlannedCut | None, length: Lengths) -> list[Json]:
    """The passes in their order; none where none may or can be made."""
    return [] if cut is None or cut.plan is None else [_pass(one, length) for one in cut.plan.passes]


def _pass(one: Pass, length: Lengths) -> Json:
    return {
        "number": one.number,
        "work": one.work,
        "depths": _depths(one.depths, length),
        "reached": _depths(one.reached, length),
        "feed": length(one.feed),
        "minutes": number(one.minutes),
        "metal_removal_rate": _rate(one.metal_per_minute, length.unit),
    }


def _depths(depths: Mapping[Face, Decimal], length: Lengths) -> Json:
    """Depths in inches never deeper than they are: no plan takes more than the cut."""
    return {face.value: length(depth, ROUND_FLOOR) for face, depth in depths.items()}


def _rate(rate: Decimal | None, unit: Unit) -> Json | None:
    if rate is None:
        return None
    if unit is Unit.MM:
        return {"value": number(rate), "unit": "mm3/min"}
    return {"value": number(quotient(rate, _MM3_PER_IN3, ROUND_HALF_EVEN)), "unit": "in3/min"}


def plan_document(cut: PlannedCut | None, length: Lengths) -> Json | None:
    """What is told of the passes as a whole, or why there are none; null where no lathe was named by its profile."""
    if cut is None:
        return None
    plan = cut.plan
    return {
        "planned_for": cut.planned_for,
        "none_because": cut.none_because,
        "refusals": [] if plan is None else [_refusal(one, length) for one in plan.refusals],
        "speed": None if plan is None else number(plan.speed),
        "surface_speed": None if plan is None else _surface_speed(plan, length.unit),
        "minutes": None if plan is None else number(plan.minutes),
        "finish": None if plan is None else _finish(plan.finish, length),
        "notes": [] if plan is None else list(plan.notes),
    }


def _refusal(one: Refusal, length: Lengths) -> Json:
    return {
        "face": one.face,
        "reason": one.reason,
        "less": length(one.less, ROUND_FLOOR),
        "more": length(one.more, ROUND_CEILING),
    }


def _surface_speed(plan: PassPlan, unit: Unit) -> Json | None:
    speed = plan.surface_speed
    if speed is None:
        return None
    if unit is Unit.MM:
        return {"value": number(speed), "unit": M_PER_MIN}
    return {"value": number(quotient(speed, METRES_PER_FOOT, ROUND_HALF_EVEN, SPEED_GRID)), "unit": FT_PER_MIN}


def _finish(finish: Finish, length: Lengths) -> Json:
    return {
        "feed": length(finish.feed),
        "peak_roughness": _roughness(finish.peak, length.unit),
        "mean_roughness": _roughness(finish.mean, length.unit),
        "needed_feed": length(finish.needed_feed, ROUND_FLOOR),
        "reached": finish.reached,
    }


def _roughness(value: Decimal, unit: Unit) -> Json:
    """A theoretical roughness, rounded up: a real one is rougher still."""
    name, step = ("um", _MM_PER_UM) if unit is Unit.MM else ("uin", _MM_PER_UIN)
    return {"value": number(quotient(value, step, ROUND_CEILING, _ROUGHNESS_GRID)), "unit": name}


def heat_document(heating: Heating | None) -> Json | None:
    """What the cut means for the heat of the same stop, for information only."""
    if heating is None:
        return None
    return {
        "mass_before_kg": number(heating.mass_before),
        "mass_after_kg": number(heating.mass_after),
        "relative_rise": number(heating.relative_rise),
        "overestimated": heating.overestimated,
        "caution": "heat_rises_with_cut",
    }

"""What the generated cases must reach, and the count of what they did reach."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from tests.judging.agreement.answers import Answer, Line
from tests.judging.agreement.exact import TICK
from tests.judging.agreement.shapes import Case, PolicyBody, RequestBody

ALL = ("pass", "fail", "unproven", "not_assessed")
PLAIN = ("pass", "fail", "not_assessed")
OUTCOMES = {
    "findings": ("pass", "fail"),
    "discard_limit": ALL,
    "thickness_variation": PLAIN,
    "out_of_round": PLAIN,
    "lateral_runout": PLAIN,
    "taper": PLAIN,
    "groove_depth": PLAIN,
    "surface_finish": PLAIN,
    "cut_cleans_up": PLAIN,
    "machining_permitted": PLAIN,
    "machining_limit": ALL,
    "discard_after_cut": ALL,
    "total_cut": PLAIN,
    "face_balance": PLAIN,
    "remaining_distance": PLAIN,
    "measurement_points": ("pass", "fail"),
    "axle_difference": ("not_assessed",),
}
MEASURED = ("least_thickness", "greatest_diameter")
TURNED = ("thickness_after_cut", "thickness_after_least_cut", "diameter_after_cut", "diameter_after_least_cut")
QUANTITIES = {"discard_limit": MEASURED, "machining_limit": (*MEASURED, *TURNED), "discard_after_cut": TURNED}
ORIGINS = {
    "discard": ("reference", "caller", "marking", "policy", "regulation"),
    "machining": ("reference", "caller", "derived", "policy", "regulation"),
    "lateral_runout": ("reference", "caller", "policy"),
    "thickness_variation": ("reference", "caller", "policy"),
    "out_of_round": ("reference", "caller", "policy"),
    "taper": ("reference", "caller", "policy"),
    "groove_depth": ("policy",),
}
VERDICTS = ("serviceable", "machine", "inconclusive", "replace")
KINDS = ("rotor", "drum", "parking_drum")
CAUTIONS = (
    "marking_disagrees",
    "limit_derived",
    "limits_review_due",
    "marking_only",
    "limits_from_caller",
    "few_points",
    "runout_may_include_hub",
    "setup_runout_unknown",
    "part_not_at_reference_temperature",
    "calibration_overdue",
    "within_uncertainty",
    "machining_not_stated",
    "on_vehicle_lathe_only",
    "not_measured",
    "machining_limit_missing",
    "discard_limit_missing",
    "cut_leaves_uncut",
    "smaller_cut_possible",
    "first_contact_without_trace",
    "regulation_needs_nominal",
    "history_suspect",
    "remaining_distance_unknown",
    "finding_needs_depth",
    "cut_made_disagrees",
    "part_grew",
)
MISSING = (
    "thickness",
    "diameter",
    "discard_thickness",
    "discard_diameter",
    "minimum_machining_thickness",
    "maximum_machining_diameter",
    "nominal_diameter",
    "groove_depth",
    "calibration_due",
    "review_due",
    "thickness_inner",
    "diameter_inner",
    "thickness_variation",
    "out_of_round",
    "taper",
    "lateral_runout",
    "setup_runout",
    "marking",
    "part_temperature_c",
    "surface_roughness",
    "history",
)
BOUNDED = (
    *QUANTITIES,
    "thickness_variation",
    "out_of_round",
    "lateral_runout",
    "taper",
    "groove_depth",
    "total_cut",
    "face_balance",
)
LEFT_OUT = ("grown", "earlier_part", "machined_since")
UNTOLD = (
    "readings_contradict",
    "too_few_readings",
    "one_distance",
    "not_wearing",
    "too_few_for_bound",
    "no_size",
    "no_discard_limit",
)
EDGES = ("all of the room", "cut as deep as the grooves", "just as far as the policy asks")
ALLOWED = ("True", "False", "None")

Reached = tuple[str, ...]


def wanted() -> Iterator[Reached]:
    """Everything that the cases must reach at least once."""
    yield from (("check", check, outcome) for check, outcomes in OUTCOMES.items() for outcome in outcomes)
    for check, quantities in QUANTITIES.items():
        yield from (("size", check, quantity, outcome) for quantity in quantities for outcome in ALL[:3])
    yield from (("limit", limit, origin) for limit, origins in ORIGINS.items() for origin in origins)
    for stage in ("before_machining", "after_machining"):
        yield from (("verdict", kind, stage, verdict) for kind in KINDS for verdict in VERDICTS)
    yield from (("caution", code) for code in CAUTIONS)
    yield from (("missing", name) for name in MISSING)
    yield from (("request", name) for name in RequestBody.__annotations__)
    yield from (("policy", name) for name in PolicyBody.__annotations__)
    for asked in ("asked", "planned"):
        yield from (("cut", asked, allowed) for allowed in ALLOWED)
    yield from (("least cut", allowed) for allowed in ALLOWED)
    for place in ("at the limit", "just inside", "just past"):
        yield from (("place", check, place) for check in BOUNDED)
    for place in ("at the guard band", "just short of the guard band"):
        yield from (("place", check, place) for check in QUANTITIES)
    yield from (("edge", edge) for edge in EDGES)
    yield from (("left out", reason, disputed) for reason in LEFT_OUT for disputed in ("disputed", "undisputed"))
    yield from (("untold", reason) for reason in UNTOLD)
    yield from (("bound", told) for told in ("told", "none"))
    yield from (("services", how, some) for how in ("interval", "list") for some in ("reached", "none"))
    for figure in ("most_total_cut", "most_cut_per_face", "reading_needed"):
        yield from (("room", figure, known) for known in ("known", "none"))


def _places(case: Case, line: Line) -> Iterator[Reached]:
    """Which boundary of its limit a length lies on, to the last digit."""
    if line.value is None or line.limit is None or line.check not in BOUNDED:
        return
    request = case["request"]
    at_least = request["kind"] == "rotor" and line.check in QUANTITIES
    safe_by = line.value - line.limit if at_least else line.limit - line.value
    tick, guard = TICK[request["unit"]], line.guard or 0
    places = {"at the limit": 0, "just inside": tick, "just past": -tick}
    if guard:
        places |= {"at the guard band": guard, "just short of the guard band": guard - tick}
    yield from (("place", line.check, place) for place, distance in places.items() if safe_by == distance)


def _edges(case: Case, answer: Answer) -> Iterator[Reached]:
    """What lies on the very edge: a cut of all the room, or as deep as the grooves; a distance just as far as asked."""
    cut, request = case["request"].get("cut"), case["request"]
    if any(
        line.check == "remaining_distance" and line.value is not None and line.value == line.limit
        for line in answer.lines
    ):
        yield ("edge", "just as far as the policy asks")
    if cut is None or answer.cut is None:
        return
    if answer.cut.zero == "thinnest_point" and sum(answer.cut.depths.values()) == answer.room["most_total_cut"]:
        yield ("edge", "all of the room")
    grooves = request.get("groove_depth")
    if grooves and all(cut.get(face) == depth for face, depth in grooves.items()):
        yield ("edge", "cut as deep as the grooves")


def _life(case: Case, answer: Answer) -> Iterator[Reached]:
    """What was told of the life, what was not, and why."""
    life = answer.life
    if life is None:
        return
    yield from (("left out", reason, "disputed" if life.disputed else "undisputed") for _, reason, _ in life.left_out)
    yield from (("untold", reason) for reason in life.untold)
    yield "bound", "none" if life.at_least is None else "told"
    if life.reached is not None:
        how = "list" if "at" in case["request"].get("services", {}) else "interval"
        yield "services", how, "reached" if life.reached[0] else "none"


def reached(case: Case, answer: Answer) -> Iterator[Reached]:
    """Everything that one case reaches."""
    request = case["request"]
    for line in answer.lines:
        yield "check", line.check, line.outcome
        yield from _places(case, line)
        if line.quantity and line.check in QUANTITIES:
            yield "size", line.check, line.quantity, line.outcome
    yield from (("limit", name, limit[1]) for name, limit in answer.limits.items() if limit)
    yield "verdict", request["kind"], request.get("stage", "before_machining"), answer.verdict
    yield from (("caution", code) for code in answer.cautions)
    yield from (("missing", name) for name in answer.missing)
    yield from (("request", name) for name in request)
    yield from (("policy", name) for name in case["policy"])
    if answer.cut:
        yield "cut", "asked" if answer.cut.asked else "planned", str(answer.cut.allowed)
        if answer.cut.least_cleaning is not None:
            yield "least cut", str(answer.cut.least_cleaning_allowed)
    yield from _edges(case, answer)
    yield from _life(case, answer)
    yield from (("room", name, "none" if value is None else "known") for name, value in answer.room.items())


def tally(judged: Iterator[tuple[Case, Answer]]) -> Counter[Reached]:
    """How often each thing was reached."""
    return Counter(thing for case, answer in judged for thing in reached(case, answer))

"""Random cases from a seed: every field of a request, with a strong share that lies on a boundary.

The same seed always gives the same case. `aim` moves a drafted case onto a limit, a guard band or a room's edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from tests.judging.agreement.aim import aimed
from tests.judging.agreement.drawing import (
    DATES,
    DAY,
    EFFECTS,
    REGULATIONS,
    Draw,
    instrument,
    limits,
    marking,
    pm,
    policy,
    record,
)
from tests.judging.agreement.exact import PM_PER_MM, TICK, as_text
from tests.judging.agreement.governed import Governed, Rules, rules_of
from tests.judging.agreement.shapes import BeforeBody, Case, CutBody, FacesBody, FindingBody, HistoryBody, RequestBody
from tests.judging.agreement.told import told
from tests.judging.agreement.wild import made_wild

AIMED_SHARE = 0.55
WILD_SHARE = 0.05


def _on(draw: Draw, limit: Governed | None, greatest: float) -> int:
    """Ticks at a form limit, beside it, a guard band away, under it, or anything up to `greatest` mm."""
    if limit is not None and draw.chance(0.7):
        at = limit.value // TICK[draw.unit]
        close = at + draw.rng.choice((1, -1)) * draw.guard
        return max(0, draw.rng.choice((at, at, at // 2, at // 2, at // 3, at - 1, at + 1, 2 * at, close, close)))
    return draw.rng.choice((0, draw.between(0.0, greatest), draw.between(0.0, greatest)))


def _track(draw: Draw, centre: int, spread: int, points: int) -> list[str]:
    """`points` readings from `centre` upwards, both ends of the spread taken where there are two or more."""
    rises = [0, spread, *(draw.rng.randint(0, spread) for _ in range(points - 2))][:points]
    draw.rng.shuffle(rises)
    return [as_text(centre + rise) for rise in rises]


def _sizes(draw: Draw, request: RequestBody, rules: Rules, size: float) -> None:
    """The tracks: a base anywhere from good to past every limit (aiming comes later)."""
    rng, rotor = draw.rng, request["kind"] == "rotor"
    safe = 1 if rotor else -1
    base_pm = (
        rules.machining.value if rules.machining else rules.discard.value if rules.discard else int(size * PM_PER_MM)
    )
    base = base_pm // TICK[draw.unit] + safe * rng.choice((1, 1, 1, -1)) * draw.between(0.0, 1.2)
    points = rng.choice((1, 2, 3, 4, 4, 5, 6, 8, 8, 12))
    spread = _on(draw, rules.form.get("thickness_variation" if rotor else "out_of_round"), 0.05)
    outer, inner = ("thickness", "thickness_inner") if rotor else ("diameter", "diameter_inner")
    request[outer] = _track(draw, base, spread, points)  # type: ignore[literal-required] # one of the shape's keys
    if draw.chance(0.3):
        shift = rng.choice((1, -1)) * _on(draw, rules.form.get("taper"), 0.1)
        same = draw.chance(0.7)
        track = _track(draw, base + shift, rng.choice((spread, 0, spread // 2)), points if same else rng.randint(1, 9))
        if same and draw.chance(0.4):
            track = [as_text(pm_ticks + shift) for pm_ticks in _ticks(draw, request[outer])]  # type: ignore[literal-required] # as above
        request[inner] = track  # type: ignore[literal-required] # as above


def _ticks(draw: Draw, texts: list[str]) -> list[int]:
    return [(pm(text, draw.unit) or 0) // TICK[draw.unit] for text in texts]


def _runout(draw: Draw, request: RequestBody, rules: Rules) -> None:
    rng = draw.rng
    if request["kind"] == "rotor":
        tir = _on(draw, rules.form.get("lateral_runout"), 0.12)
        if draw.chance(0.6):
            request["lateral_runout"] = as_text(tir)
        if draw.chance(0.3):
            points = len(request.get("thickness", ()))
            count = points if points >= 3 and draw.chance(0.75) else rng.choice((3, 4, 8, 9))
            start = rng.randint(-tir - 3, 3)
            request["lateral_runout_trace"] = _track(draw, start, tir, count)
        if draw.chance(0.3):
            request["runout_read_on"] = rng.choice(("vehicle", "lathe"))
    if draw.chance(0.35):
        request["setup_runout"] = as_text(rng.choice((0, draw.between(0.0, 0.08), draw.between(0.0, 0.2))))
    if draw.chance(0.5):
        request["lathe"] = rng.choice(("bench", "on_vehicle"))


def _grooves(draw: Draw, request: RequestBody, rules: Rules) -> None:
    rng, faces = draw.rng, ("inboard", "outboard") if request["kind"] == "rotor" else ("depth",)

    def depth() -> str:
        return as_text(draw.rng.choice((0, _on(draw, rules.groove, 0.5), draw.between(0.0, 0.2))))

    if draw.chance(0.45):
        body = FacesBody()
        for face in rng.sample(faces, rng.randint(1, len(faces))):
            body[face] = depth()  # type: ignore[literal-required] # a face is a key of the shape
        request["groove_depth"] = body
    if draw.chance(0.3):
        found = []
        weights = (1, 4, 3, 5, 2)
        for code in rng.choices(list(EFFECTS), weights, k=rng.choice((1, 1, 2, 3))):
            finding: FindingBody = {"finding": code}
            if draw.chance(0.4):
                finding["face"] = rng.choice(faces)
            if draw.chance(0.4):
                finding["depth"] = depth()
            found.append(finding)
        request["findings"] = found


def _cut(draw: Draw, request: RequestBody) -> None:
    rng, rotor = draw.rng, request["kind"] == "rotor"
    body, grooves = CutBody(), request.get("groove_depth", {})
    for face in ("inboard", "outboard") if rotor else ("depth",):
        groove = grooves.get(face)
        if isinstance(groove, str) and draw.chance(0.5):
            body[face] = as_text(max(0, draw.beside(_ticks(draw, [groove])[0])))
        else:
            body[face] = as_text(rng.choice((0, draw.between(0.0, 0.3), draw.between(0.05, 0.6))))
    if draw.chance(0.5):
        body["zero"] = rng.choice(("thinnest_point", "first_contact", "first_contact"))
    request["cut"] = body


def _history(draw: Draw, request: RequestBody) -> None:
    """Earlier readings, mostly safer than today's, at odometers no higher than today's."""
    rng, rotor = draw.rng, request["kind"] == "rotor"
    unit = rng.choice(("km", "km", "mi"))
    now = rng.randrange(20_000, 200_000, 100)
    request["odometer"] = {"value": str(now), "unit": unit}
    sizes = request.get("thickness") or request.get("diameter")
    known = _ticks(draw, sizes) if sizes else [draw.near(24.0 if rotor else 280.0)]
    today = min(known) if rotor else max(known)
    field, safe = ("thickness", 1) if rotor else ("diameter", -1)
    earlier: list[HistoryBody] = []
    if draw.chance(0.3):
        # A rate that no decimal holds (a third, a seventh), and yet whole kilometres left.
        went, wore = rng.choice((3_000, 7_000, 21_000, 33_000, 9_999)), rng.choice((10_000, 20_000, 200_000, 2_000_000))
        before = HistoryBody(odometer={"value": str(max(0, now - went)), "unit": unit})
        before[field] = as_text(max(1, today + safe * wore))  # type: ignore[literal-required] # one of the shape's keys
        request["history"] = [before]
        return
    for _ in range(rng.choice((1, 1, 2, 3))):
        was = today + safe * rng.choice((1, 1, 1, 1, 0, -1)) * draw.between(0.0, 1.0)
        at = rng.choice((now, *(rng.randint(0, now) for _ in range(9))))
        one: HistoryBody = {"odometer": {"value": str(at), "unit": unit}}
        one[field] = as_text(max(1, was))  # type: ignore[literal-required] # one of the shape's keys
        earlier.append(one)
    request["history"] = earlier


def _life(draw: Draw, request: RequestBody) -> None:
    """Readings out of the store, the size when new, services; all at odometers no higher than today's."""
    rng, rotor, odometer = draw.rng, request["kind"] == "rotor", request["odometer"]
    now, unit = int(odometer["value"]), odometer["unit"]
    field, safe = ("thickness", 1) if rotor else ("diameter", -1)
    sizes = request.get("thickness") or request.get("diameter")
    known = _ticks(draw, sizes) if sizes else [draw.near(24.0 if rotor else 280.0)]
    today = min(known) if rotor else max(known)

    def reading(at: int, rise: int) -> HistoryBody:
        body: HistoryBody = {"odometer": {"value": str(at), "unit": unit}}
        body[field] = as_text(max(1, today + safe * rise))  # type: ignore[literal-required] # one of the shape's keys
        return body

    if draw.chance(0.5):
        places = sorted(rng.choice((now, now * 3 // 4, now // 2, now // 4, rng.randint(0, now))) for _ in range(5))
        drawn = [reading(at, draw.between(0.0, 1.0) * (now - at) // now - draw.between(0.0, 0.06)) for at in places]
        if draw.chance(0.3):
            rng.shuffle(spoilt := rng.sample(drawn, 2))
            spoilt[0][field] = as_text(max(1, today + safe * draw.between(0.2, 3.0)))  # type: ignore[literal-required] # as above
        for one in drawn:
            one["expanded"] = draw.rng.choice(("0", "0.0077", "0.03", "0.2"))
            one["finished"] = draw.chance(0.12)
        request["drawn"] = drawn[: rng.randint(0, 5)]
        if draw.chance(0.3):
            del request["history"]
    if draw.chance(0.3):
        request["when_new"] = reading(rng.choice((0, now // 4, now // 2, now)), draw.between(0.0, 1.5))
    if draw.chance(0.4):
        step = rng.choice((5_000, 15_000, 33_333))
        request["services"] = {"interval": {"value": str(step), "unit": rng.choice(("km", unit))}}
        if draw.chance(0.5):
            request["services"]["last"] = {"value": str(rng.randint(0, now)), "unit": unit}
    elif draw.chance(0.3):
        at = [str(now + rng.randint(-5_000, 60_000)) for _ in range(rng.randint(1, 4))]
        request["services"] = {"at": [{"value": one, "unit": unit} for one in at]}


def _gauge(draw: Draw, request: RequestBody) -> None:
    rng = draw.rng
    if draw.chance(0.5):
        body = instrument(draw)
        if draw.chance(0.4):
            body["calibration_due"] = rng.choice(DATES)
        request["instrument"] = body
    if draw.chance(0.15):
        request["part_temperature_c"] = rng.choice(("20", "0", "40", "40.1", "-0.5", "-40", "63.25", "120", "600"))
    if request.get("stage") == "after_machining" and draw.chance(0.6):
        unit, at = rng.choice(
            (("um", "2.032"), ("um", "2.033"), ("um", "1.6"), ("uin", "80"), ("uin", "81"), ("uin", "60"))
        )
        request["surface_roughness"] = {"value": at, "unit": unit}


def draft(rng: Random) -> Case:
    """One random case, not aimed at anything."""
    draw = Draw(rng, rng.choice(("mm", "mm", "in")))
    kind = rng.choice(("rotor",) * 6 + ("drum",) * 3 + ("parking_drum",))
    size = rng.uniform(9.0, 42.0) if kind == "rotor" else rng.uniform(160.0, 420.0)
    request: RequestBody = {"unit": draw.unit, "kind": kind}
    if draw.chance(0.2):
        request["stage"] = rng.choice(("before_machining", "after_machining", "after_machining"))
    known = record(draw, kind, size) if draw.chance(0.85) else None
    if draw.chance(0.25) or (known is None and draw.chance(0.4)):
        request["limits"] = limits(draw, kind, size, whole=0.6)
    if draw.chance(0.35) or (known is None and "limits" not in request):
        discard = (known or {}).get("discard_thickness") or (known or {}).get("discard_diameter")
        request["marking"] = marking(draw, pm(discard, (known or {}).get("unit", "mm")), size)
    case = Case(on=DAY, request=request, record=known, policy=policy(rng), effects=EFFECTS, regulations=REGULATIONS)
    _gauge(draw, request)
    part = told(case)
    rules, draw = rules_of(part), Draw(rng, draw.unit, part.expanded // TICK[draw.unit])
    if draw.chance(0.96):
        _sizes(draw, request, rules, size)
    _runout(draw, request, rules)
    _grooves(draw, request, rules)
    if draw.chance(0.4):
        _cut(draw, request)
    if draw.chance(0.25):
        _history(draw, request)
        _life(draw, request)
    if request.get("stage") == "after_machining":
        _finished(draw, request)
    return case


def _finished(draw: Draw, request: RequestBody) -> None:
    """The cut that was made, and what was found before it, mostly such that the two about agree."""
    rng, rotor = draw.rng, request["kind"] == "rotor"
    sizes = request.get("thickness", []) if rotor else request.get("diameter", [])
    depths = [draw.between(0.0, 0.4) for _ in range(2 if rotor else 1)]
    if draw.chance(0.6):
        faces = ("inboard", "outboard") if rotor else ("depth",)
        request["cut_made"] = {face: as_text(depth) for face, depth in zip(faces, depths, strict=True)}  # type: ignore[typeddict-item] # one of the faces
    if not sizes or draw.chance(0.5):
        return
    gone = sum(depths) * TICK[draw.unit] * (1 if rotor else -2)
    worst = (min if rotor else max)(pm(size, draw.unit) or 0 for size in sizes)
    off = rng.choice((0, 0, 100, -100, 10**6, -(10**7), rng.randrange(-(10**9), 10**9)))
    then = max(10**9, worst + gone + off) // 100
    side = 1 if rotor else -1
    uneven, wobble = (rng.choice((0, 0, rng.randrange(10**6))) for _ in range(2))
    before = BeforeBody(expanded=rng.choice(("0", "0.0071", "0.01", "0.0302")))
    if draw.chance(0.95):
        before["worst"] = as_text(then)
        before["mean"] = as_text(then + side * uneven)
        if draw.chance(0.9):
            before["clean_up"] = as_text(then - side * wobble)
    request["before"] = before


def case_of(seed: int) -> Case:
    """The case of this seed."""
    rng = Random(seed)
    case = draft(rng)
    if rng.random() < WILD_SHARE:
        made_wild(rng, case)
    return aimed(rng, case) if rng.random() < AIMED_SHARE else case


def cases(first: int, count: int) -> Iterator[tuple[int, Case]]:
    """`count` cases from the seed `first` on, each with its seed."""
    for seed in range(first, first + count):
        yield seed, case_of(seed)

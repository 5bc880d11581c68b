"""Moving a drafted case onto a boundary: a size at a limit, at its guard band, a cut at the room's very edge."""

from __future__ import annotations

from random import Random

from tests.judging.agreement.answers import Line
from tests.judging.agreement.bench import Bench, bench_of
from tests.judging.agreement.exact import TICK, as_text, length
from tests.judging.agreement.room import room_of
from tests.judging.agreement.shapes import Case, CutBody, RequestBody
from tests.judging.agreement.turning import least_cleaning
from tests.judging.agreement.wear import remaining_km, wear_of

TRACKS = ("thickness", "thickness_inner", "diameter", "diameter_inner")


def _shifted(request: RequestBody, ticks: int) -> None:
    """All size readings moved alike, kept above zero."""
    step = TICK[request["unit"]]
    for name in TRACKS:
        texts = request.get(name)
        if isinstance(texts, list):
            moved = [max(1, length(text, request["unit"]) // step + ticks) for text in texts]
            request[name] = [as_text(size) for size in moved]  # type: ignore[literal-required] # a key of the shape


def _offset(rng: Random, bench: Bench) -> int:
    """How far on the safe side of the limit the size shall lie, in pm."""
    guard, step = bench.told.expanded, TICK[bench.told.unit]
    return rng.choice((0, 0, guard, guard, guard // 2)) + rng.choice((0, 0, 1, -1)) * step


def _sizes_aimed(rng: Random, case: Case, bench: Bench) -> None:
    """One strength check's size brought onto its limit by shifting every reading."""
    lines = [*bench.measured, *(line for cut in bench.cuts for line in cut.lines[:2])]
    held = [line for line in lines if line.value is not None]
    if held:
        line = rng.choice(held)
        _shifted(case["request"], _to_go(rng, bench, line) // TICK[bench.told.unit])


def _to_go(rng: Random, bench: Bench, line: Line) -> int:
    return (line.limit or 0) + bench.told.sign * _offset(rng, bench) - (line.value or 0)


def _cut_body(rng: Random, bench: Bench, depths: dict[str, int]) -> CutBody:
    """The depths (pm) as a cut, one face of it a least digit off now and then."""
    step, body = TICK[bench.told.unit], CutBody()
    for face, depth in depths.items():
        ticks = depth // step + rng.choice((0, 0, 0, 1, -1))
        body[face] = as_text(max(0, ticks))  # type: ignore[literal-required] # a face is a key of the shape
    zero = (bench.told.request.get("cut") or {}).get("zero")
    if zero is not None:
        body["zero"] = zero
    return body


def _cut_aimed(rng: Random, case: Case, bench: Bench) -> None:
    """The cut asked for brought to the edge of the room, of a policy's ceiling, or of cleaning up."""
    told = bench.told
    room = room_of(bench)
    total, ceiling = room["most_total_cut"], told.policy_length(told.policy.get("total_cut"))
    choices = [least_cleaning(told, bench.figures, told.zero)]
    for most in (total, total, ceiling):
        if most is not None:
            part = most // 2 if told.rotor else most
            choices.append(dict.fromkeys(told.faces, part))
    balance = told.policy_length(told.policy.get("face_balance"))
    if told.rotor and balance is not None:
        choices.append({"inboard": balance, "outboard": 0})
    case["request"]["cut"] = _cut_body(rng, bench, rng.choice(choices))


def _distance_aimed(rng: Random, case: Case, bench: Bench) -> None:
    """The policy's least distance set to the very kilometres that are left, or one beside them."""
    told, cut = bench.told, bench.cuts[0] if bench.cuts and bench.needed else None
    size = bench.figures.deciding(told.sign) if cut is None else cut.after
    left = remaining_km(told, wear_of(told, bench.figures.deciding(told.sign)), size, bench.rules.discard)
    if left is not None:
        wanted = max(0, left + rng.choice((0, 0, 1, -1)))
        case["policy"]["remaining_distance"] = {"value": str(wanted), "unit": "km"}


def aimed(rng: Random, case: Case) -> Case:
    """The case, moved onto a boundary where it has one."""
    bench = bench_of(case)
    if "history" in case["request"] and rng.random() < 0.4:
        _distance_aimed(rng, case, bench)
    elif rng.random() < 0.7:
        _sizes_aimed(rng, case, bench)
    else:
        _cut_aimed(rng, case, bench)
    return case

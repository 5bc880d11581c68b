"""A case read into integers: picometres, micrometres of distance, and plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.judging.agreement.exact import guard_band, length, scaled, twelve_u_squared
from tests.judging.agreement.shapes import Case, FacesBody, LimitsBody, PolicyBody, RequestBody

REFERENCE = 20 * 10**6  # 20 C (ISO 1), in millionths
SEVERITY = ("caution", "measure", "machine", "replace")


@dataclass(frozen=True, slots=True)
class Given:
    """The figures of a record or of a caller's own limits (pm); None where not given."""

    nominal: int | None
    machining: int | None
    discard: int | None
    form: dict[str, int]
    permission: str


@dataclass(frozen=True, slots=True)
class Seen:
    """One finding: its effect, whether the policy raised it above the catalogue's, its face and its depth (pm)."""

    effect: str
    raised: bool
    face: str | None
    depth: int | None


@dataclass(frozen=True, slots=True)
class Told:
    """A whole case. `sign` is 1 where thicker is safer and -1 where a smaller diameter is."""

    case: Case
    sign: int
    unit: str
    faces: tuple[str, ...]
    track: tuple[int, ...]
    inner: tuple[int, ...]
    trace: tuple[int, ...]
    runout: int | None
    setup: int | None
    grooves: dict[str, int]
    seen: tuple[Seen, ...]
    marking: int | None
    record: Given | None
    caller: Given | None
    asked: dict[str, int] | None
    zero: str
    twelve: int  # 12 u^2, pm^2
    expanded: int  # U, pm
    guard: int  # what is kept between a size and a strength limit: U, or nothing under the simple rule
    after_machining: bool
    heat: tuple[int, int] | None  # 1 + a (T - 20) as a fraction

    @property
    def request(self) -> RequestBody:
        return self.case["request"]

    @property
    def policy(self) -> PolicyBody:
        return self.case["policy"]

    @property
    def rotor(self) -> bool:
        return self.sign > 0

    def policy_length(self, text: str | None) -> int | None:
        """A length of the policy in pm; None stays None."""
        return None if text is None else length(text, "mm")


FORM_FIELDS = {
    "lateral_runout": "maximum_lateral_runout",
    "thickness_variation": "maximum_thickness_variation",
    "out_of_round": "maximum_out_of_round",
    "taper": "maximum_taper",
}


def _given(body: LimitsBody | None, unit: str) -> Given | None:
    if body is None:
        return None
    nominal = body.get("nominal_thickness") or body.get("nominal_diameter")
    machining = body.get("minimum_machining_thickness") or body.get("maximum_machining_diameter")
    discard = body.get("discard_thickness") or body.get("discard_diameter")
    form = {
        quantity: length(text, unit)
        for quantity, field in FORM_FIELDS.items()
        if isinstance(text := body.get(field), str)
    }
    return Given(
        nominal=length(nominal, unit) if nominal else None,
        machining=length(machining, unit) if machining else None,
        discard=length(discard, unit) if discard else None,
        form=form,
        permission=body.get("machining", "not_stated"),
    )


def _faces(body: FacesBody, unit: str, faces: Sequence[str]) -> dict[str, int]:
    return {face: length(text, unit) for face in faces if isinstance(text := body.get(face), str)}


def _twelve(request: RequestBody, policy: PolicyBody) -> int:
    """12 u^2 of the gauge: what the request states, else the policy, else the rules' defaults (mm)."""
    gauge, fallback = request.get("instrument", {}), policy.get("instrument", {})

    def part(stated: str | None, own: str | None, rule: str) -> int:
        return length(stated, request["unit"]) if stated is not None else length(own or rule, "mm")

    return twelve_u_squared(
        part(gauge.get("resolution"), fallback.get("resolution"), "0.01"),
        part(gauge.get("expanded_uncertainty"), fallback.get("expanded_uncertainty"), "0.005"),
        part(gauge.get("repeatability"), fallback.get("repeatability"), "0"),
    )


def _seen(case: Case) -> tuple[Seen, ...]:
    """The findings, each with the harder of the catalogue's and the policy's effect."""
    unit, raised = case["request"]["unit"], case["policy"].get("findings", {})
    found = []
    for body in case["request"].get("findings", []):
        code, depth = body["finding"], body.get("depth")
        effects = (case["effects"][code], raised.get(code, "caution"))
        found.append(
            Seen(
                effect := max(effects, key=SEVERITY.index),
                effect != effects[0],
                body.get("face"),
                None if depth is None else length(depth, unit),
            )
        )
    return tuple(found)


def _heat(case: Case) -> tuple[int, int] | None:
    """1 + a (T - 20) as whole numbers over 10**18, a being the record's own or 10.5e-6 /K for grey iron."""
    warmth = case["request"].get("part_temperature_c")
    if warmth is None or scaled(warmth, 6) == REFERENCE:
        return None  # at 20 C a reading is what it is, to the last digit
    expansion = (case["record"] or {}).get("expansion_per_k", "0.0000105")
    return 10**18 + scaled(expansion, 12) * (scaled(warmth, 6) - REFERENCE), 10**18


def _sizes(texts: Sequence[str], unit: str, heat: tuple[int, int] | None, sign: int) -> tuple[int, ...]:
    """Readings at 20 C, rounded on 0.0000001 mm so that the part looks no safer, where a temperature is given."""
    raw = (length(text, unit) for text in texts)
    if heat is None:
        return tuple(raw)
    warm, cold = heat
    return tuple(sign * (sign * size * cold // (warm * 100)) * 100 for size in raw)


def told(case: Case) -> Told:
    """The case in integers."""
    request = case["request"]
    unit, rotor = request["unit"], request["kind"] == "rotor"
    sign, faces = (1, ("inboard", "outboard")) if rotor else (-1, ("depth",))
    heat = _heat(case)
    outer = request.get("thickness", []) if rotor else request.get("diameter", [])
    inner = request.get("thickness_inner", []) if rotor else request.get("diameter_inner", [])
    asked, record = request.get("cut"), case["record"]
    twelve = _twelve(request, case["policy"])
    expanded = guard_band(twelve)

    def maybe(text: str | None) -> int | None:
        return None if text is None else length(text, unit)

    return Told(
        case=case,
        sign=sign,
        unit=unit,
        faces=faces,
        track=_sizes(outer, unit, heat, sign),
        inner=_sizes(inner, unit, heat, sign),
        trace=tuple(length(text, unit) for text in request.get("lateral_runout_trace", [])),
        runout=maybe(request.get("lateral_runout")),
        setup=maybe(request.get("setup_runout")),
        grooves=_faces(request.get("groove_depth", {}), unit, faces),
        seen=_seen(case),
        marking=maybe(request.get("marking")),
        record=_given(record, (record or {}).get("unit", "mm")),
        caller=_given(request.get("limits"), unit),
        asked=None if asked is None else _faces(asked, unit, faces),
        zero="thinnest_point" if asked is None else asked.get("zero", "thinnest_point"),
        twelve=twelve,
        expanded=expanded,
        guard=0 if case["policy"].get("decision_rule") == "simple" else expanded,
        after_machining=request.get("stage") == "after_machining",
        heat=heat,
    )

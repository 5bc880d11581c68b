"""A case handed to the engine: its part, limits, policy and catalogue, built of the engine's own data classes."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal

from tests.judging.agreement.drawing import EFFECTS, REGULATIONS
from tests.judging.agreement.shapes import (
    Case,
    HistoryBody,
    LimitsBody,
    OdometerBody,
    PolicyBody,
    RequestBody,
    ServicesBody,
)
from turnrule.judging.catalogue import Catalogue, CautionText, FindingRule, Practice, Regulation
from turnrule.judging.judge import judge
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import (
    AskedCut,
    BeforeMachining,
    CutMade,
    EarlierReading,
    Instrument,
    Part,
    Readings,
    ReportedFinding,
    Services,
)
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import (
    Binds,
    DecisionRule,
    Effect,
    Face,
    Kind,
    LatheKind,
    Level,
    Machining,
    Overdue,
    Reading,
    Ruling,
    RunoutPlace,
    Stage,
    Unit,
    Zero,
)

MM_PER = {"mm": Decimal(1), "in": Decimal("25.4")}
MM_PER_ROUGHNESS = {"um": Decimal("0.001"), "uin": Decimal("0.0000254")}
KM_PER = {"km": Decimal(1), "mi": Decimal("1.609344")}
CAUTION_CODES = [
    "follow_service_data",
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
    "regulation_applies",
    "cut_made_disagrees",
    "part_grew",
    "history_suspect",
    "remaining_distance_unknown",
    "finding_needs_depth",
    "finding_noted",
    "axle_partner",
    "do_not_machine",
    "composite_part",
    "coated_part",
    "drilled_or_slotted_part",
    "heat_rises_with_cut",
    "finish_after_machining",
    "brake_option_assumed",
    "near_limit",
    "dust_hazard",
]
CATALOGUE = Catalogue(
    version="agreement",
    findings={
        code: FindingRule(code, code, Effect(effect), frozenset(Kind), f"Seen: {code}.", "a test")
        for code, effect in EFFECTS.items()
    },
    cautions={code: CautionText(code, Level.WARNING, code, "a test") for code in CAUTION_CODES},
    rules={},
    practice={
        "greatest_surface_roughness": Practice(
            "greatest_surface_roughness", Decimal("0.002032"), "mm", "80 microinches", "common practice, no source"
        )
    },
    regulations={
        code: Regulation(
            code,
            "a place",
            Binds(law["binds"]),
            frozenset(map(Kind, law["kinds"])),
            None if law["oversize"] is None else Decimal(law["oversize"]),
            code,
            "a test",
        )
        for code, law in REGULATIONS.items()
    },
)


def _length(text: str | None, unit: str) -> Decimal | None:
    return None if text is None else Decimal(text) * MM_PER[unit]


def _lengths(texts: Sequence[str], unit: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(text) * MM_PER[unit] for text in texts)


def _km(body: OdometerBody) -> Decimal:
    return Decimal(body["value"]) * KM_PER[body["unit"]]


def _limit_set(body: LimitsBody, unit: str, kind: str) -> LimitSet:
    expansion = body.get("expansion_per_k")
    return LimitSet(
        Kind(kind),
        nominal=_length(body.get("nominal_thickness") or body.get("nominal_diameter"), unit),
        machining=_length(body.get("minimum_machining_thickness") or body.get("maximum_machining_diameter"), unit),
        discard=_length(body.get("discard_thickness") or body.get("discard_diameter"), unit),
        maximum_lateral_runout=_length(body.get("maximum_lateral_runout"), unit),
        maximum_thickness_variation=_length(body.get("maximum_thickness_variation"), unit),
        maximum_out_of_round=_length(body.get("maximum_out_of_round"), unit),
        maximum_taper=_length(body.get("maximum_taper"), unit),
        permission=Machining(body.get("machining", "not_stated")),
        expansion_per_k=None if expansion is None else Decimal(expansion),
    )


def _date(text: str | None) -> datetime.date | None:
    return None if text is None else datetime.date.fromisoformat(text)


def _readings(request: RequestBody) -> Readings:
    unit, rotor = request["unit"], request["kind"] == "rotor"
    outer, inner = ("thickness", "thickness_inner") if rotor else ("diameter", "diameter_inner")
    grooves, rough = request.get("groove_depth", {}), request.get("surface_roughness")
    warmth = request.get("part_temperature_c")
    tracks: dict[str, tuple[Decimal, ...]] = {
        name: _lengths(texts, unit) for name in (outer, inner) if isinstance(texts := request.get(name), list)
    }
    return Readings(
        track=tracks.get(outer, ()),
        inner_track=tracks.get(inner, ()),
        lateral_runout=_length(request.get("lateral_runout"), unit),
        runout_trace=_lengths(request.get("lateral_runout_trace", []), unit),
        runout_read_on=RunoutPlace(request.get("runout_read_on", "vehicle")),
        setup_runout=_length(request.get("setup_runout"), unit),
        grooves={
            face: Decimal(text) * MM_PER[unit] for face in Face if isinstance(text := grooves.get(face.value), str)
        },
        surface_roughness=None if rough is None else Decimal(rough["value"]) * MM_PER_ROUGHNESS[rough["unit"]],
        part_temperature_c=None if warmth is None else Decimal(warmth),
    )


def _findings(request: RequestBody) -> tuple[ReportedFinding, ...]:
    return tuple(
        ReportedFinding(
            body["finding"],
            face=Face(body["face"]) if "face" in body else None,
            depth=_length(body.get("depth"), request["unit"]),
        )
        for body in request.get("findings", [])
    )


def _cut(request: RequestBody) -> AskedCut | None:
    body, unit = request.get("cut"), request["unit"]
    if body is None:
        return None
    return AskedCut(
        inboard=_length(body.get("inboard"), unit),
        outboard=_length(body.get("outboard"), unit),
        depth=_length(body.get("depth"), unit),
        zero=Zero(body.get("zero", "thinnest_point")),
    )


def _cut_made(request: RequestBody) -> CutMade | None:
    body, unit = request.get("cut_made"), request["unit"]
    if body is None:
        return None
    return CutMade(*(_length(body.get(face), unit) for face in ("inboard", "outboard", "depth")))  # type: ignore[arg-type] # texts


def _before(request: RequestBody) -> BeforeMachining | None:
    body = request.get("before")
    if body is None:
        return None
    worst, mean, clean_up = (_length(body.get(name), "mm") for name in ("worst", "mean", "clean_up"))  # type: ignore[arg-type] # texts
    return BeforeMachining("before", "sha256:0", Ruling.MACHINE, worst, mean, clean_up, Decimal(body["expanded"]))


def _earlier(request: RequestBody, body: HistoryBody) -> EarlierReading:
    unit, field = request["unit"], "thickness" if request["kind"] == "rotor" else "diameter"
    return EarlierReading(
        Decimal(str(body.get(field))) * MM_PER[unit],
        _km(body["odometer"]),
        expanded=_length(body.get("expanded"), unit),
        finished=body.get("finished", False),
    )


def _services(body: ServicesBody | None) -> Services | None:
    if body is None:
        return None
    return Services(
        interval_km=_km(body["interval"]) if "interval" in body else None,
        from_km=_km(body["last"]) if "last" in body else Decimal(0),
        at_km=tuple(map(_km, body.get("at", []))),
    )


def part_of(request: RequestBody) -> Part:
    """The request as the engine's part, every length in mm."""
    gauge, unit = request.get("instrument", {}), request["unit"]
    return Part(
        unit=Unit(unit),
        kind=Kind(request["kind"]),
        readings=_readings(request),
        stage=Stage(request.get("stage", "before_machining")),
        marking=_length(request.get("marking"), unit),
        findings=_findings(request),
        instrument=Instrument(
            resolution=_length(gauge.get("resolution"), unit),
            expanded_uncertainty=_length(gauge.get("expanded_uncertainty"), unit),
            repeatability=_length(gauge.get("repeatability"), unit),
            calibration_due=_date(gauge.get("calibration_due")),
        ),
        cut=_cut(request),
        cut_made=_cut_made(request),
        before=_before(request),
        lathe=LatheKind(request["lathe"]) if "lathe" in request else None,
        odometer_km=_km(request["odometer"]) if "odometer" in request else None,
        history=tuple(_earlier(request, body) for body in request.get("history", [])),
        drawn=tuple(_earlier(request, body) for body in request["drawn"]) if "drawn" in request else None,
        new=_earlier(request, request["when_new"]) if "when_new" in request else None,
        services=_services(request.get("services")),
    )


def _mm(text: str | None, default: str) -> Decimal:
    return Decimal(default if text is None else text)


def policy_of(body: PolicyBody) -> Policy:
    """The policy's fields, the defaults of the rules where it is silent."""
    gauge, far = body.get("instrument", {}), body.get("remaining_distance")
    return Policy(
        decision_rule=DecisionRule(body.get("decision_rule", "guarded")),
        instrument=InstrumentDefaults(
            _mm(gauge.get("resolution"), "0.01"),
            _mm(gauge.get("expanded_uncertainty"), "0.005"),
            _mm(gauge.get("repeatability"), "0"),
        ),
        minimum_points=body.get("minimum_points", 4),
        require=frozenset(map(Reading, body.get("require", []))),
        discard_margin=_mm(body.get("discard_margin"), "0"),
        machining_margin=_mm(body.get("machining_margin"), "0"),
        wear_allowance=_mm(body.get("wear_allowance"), "0"),
        derive_machining_limit=body.get("derive_machining_limit", False),
        maximum_runout=_length(body.get("maximum_runout"), "mm"),
        maximum_thickness_variation=_length(body.get("maximum_thickness_variation"), "mm"),
        maximum_out_of_round=_length(body.get("maximum_out_of_round"), "mm"),
        maximum_taper=_length(body.get("maximum_taper"), "mm"),
        groove_limit=_mm(body.get("groove_limit"), "0.38"),
        minimum_cut=_mm(body.get("minimum_cut"), "0.05"),
        total_cut=_length(body.get("total_cut"), "mm"),
        face_balance=_length(body.get("face_balance"), "mm"),
        remaining_distance_km=None if far is None else _km(far),
        findings={code: Effect(effect) for code, effect in body.get("findings", {}).items()},
        regulations=tuple(body.get("regulations", [])),
        limits_review_due=Overdue(body.get("limits_review_due", "caution")),
        calibration_overdue=Overdue(body.get("calibration_overdue", "caution")),
    )


def engine_verdict(case: Case) -> Verdict:
    """What the engine says of the case."""
    request, body = case["request"], case["record"]
    record, caller = None, request.get("limits")
    if body is not None:
        limits = _limit_set(body, body.get("unit", "mm"), request["kind"])
        record = Record("L-1", 1, limits, "a service manual", _date(body.get("review_due")))
    return judge(
        part_of(request),
        record=record,
        caller=None if caller is None else _limit_set(caller, request["unit"], request["kind"]),
        policy=policy_of(case["policy"]),
        catalogue=CATALOGUE,
        on=datetime.date.fromisoformat(case["on"]),
    )

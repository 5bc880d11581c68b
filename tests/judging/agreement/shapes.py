"""The shape of one case: a request in the contract's names, and what it is judged under.

Every number is text, so that a case can be printed, kept and read again without losing a digit. Lengths of the
request are in the request's unit, those of a record in the record's own, those of a policy in mm.
"""

from __future__ import annotations

from typing import Required, TypedDict


class OdometerBody(TypedDict):
    value: str
    unit: str


class FindingBody(TypedDict, total=False):
    finding: Required[str]
    face: str
    depth: str


class FacesBody(TypedDict, total=False):
    """Depths by face: `inboard` and `outboard` of a rotor, `depth` of a drum."""

    inboard: str
    outboard: str
    depth: str


class CutBody(FacesBody, total=False):
    zero: str


class InstrumentBody(TypedDict, total=False):
    resolution: str
    expanded_uncertainty: str
    repeatability: str
    calibration_due: str


class HistoryBody(TypedDict, total=False):
    thickness: str
    diameter: str
    odometer: Required[OdometerBody]
    expanded: str
    finished: bool


class ServicesBody(TypedDict, total=False):
    interval: OdometerBody
    last: OdometerBody
    at: list[OdometerBody]


class LimitsBody(TypedDict, total=False):
    """A record's figures, or a caller's own; `unit`, `expansion_per_k` and `review_due` are a record's only."""

    unit: str
    nominal_thickness: str
    minimum_machining_thickness: str
    discard_thickness: str
    maximum_lateral_runout: str
    maximum_thickness_variation: str
    nominal_diameter: str
    maximum_machining_diameter: str
    discard_diameter: str
    maximum_out_of_round: str
    maximum_taper: str
    machining: str
    expansion_per_k: str
    review_due: str


class RoughnessBody(TypedDict):
    value: str
    unit: str


class BeforeBody(TypedDict, total=False):
    """What was found of the part before it was machined, in mm."""

    worst: str
    mean: str
    clean_up: str
    expanded: Required[str]


class RequestBody(TypedDict, total=False):
    unit: Required[str]
    kind: Required[str]
    stage: str
    thickness: list[str]
    thickness_inner: list[str]
    diameter: list[str]
    diameter_inner: list[str]
    lateral_runout: str
    lateral_runout_trace: list[str]
    runout_read_on: str
    setup_runout: str
    groove_depth: FacesBody
    surface_roughness: RoughnessBody
    part_temperature_c: str
    marking: str
    findings: list[FindingBody]
    instrument: InstrumentBody
    cut: CutBody
    cut_made: FacesBody
    before: BeforeBody
    lathe: str
    odometer: OdometerBody
    history: list[HistoryBody]
    drawn: list[HistoryBody]
    when_new: HistoryBody
    services: ServicesBody
    limits: LimitsBody


class PolicyBody(TypedDict, total=False):
    """A policy's fields, lengths in mm; what is left out has the default of the rules."""

    decision_rule: str
    instrument: InstrumentBody
    minimum_points: int
    require: list[str]
    discard_margin: str
    machining_margin: str
    wear_allowance: str
    derive_machining_limit: bool
    maximum_runout: str
    maximum_thickness_variation: str
    maximum_out_of_round: str
    maximum_taper: str
    groove_limit: str
    minimum_cut: str
    total_cut: str
    face_balance: str
    remaining_distance: OdometerBody
    findings: dict[str, str]
    regulations: list[str]
    limits_review_due: str
    calibration_overdue: str


class RegulationBody(TypedDict):
    """One rule of law: what it binds, on which kinds, and the oversize over nominal in mm (None: it has no figure)."""

    binds: str
    kinds: list[str]
    oversize: str | None


class Case(TypedDict):
    """One part and everything that its judgement rests on."""

    on: str
    request: RequestBody
    record: LimitsBody | None
    policy: PolicyBody
    effects: dict[str, str]
    regulations: dict[str, RegulationBody]

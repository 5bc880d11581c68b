"""The values of a request's fields into the part that the engine judges: exact millimetres and kilometres."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from turnrule.actions.requests import AskedLathe, Dimensions
from turnrule.judging.lengths import EXACT, MM_PER_INCH
from turnrule.judging.parts import (
    Application,
    AskedCut,
    CutMade,
    EarlierReading,
    Instrument,
    Part,
    Readings,
    ReportedFinding,
    Services,
)
from turnrule.judging.words import Face, Kind, RunoutPlace, Stage, Unit, Zero

KM_PER_MILE = Decimal("1.609344")
"""One mile, exactly (NIST SP 811, appendix B)."""

UM_PER_MICROINCH = Decimal("0.0254")
_UM_PER_MM = Decimal("0.001")

Values = Mapping[str, Any]


class Lengths:
    """Takes lengths out of values, in millimetres."""

    def __init__(self, unit: Unit) -> None:
        self.metric = unit is Unit.MM

    def mm(self, value: Decimal) -> Decimal:
        """One length."""
        return value if self.metric else EXACT.multiply(value, MM_PER_INCH)

    def maybe(self, values: Values, name: str) -> Decimal | None:
        """A length that may have been left out."""
        value = values.get(name)
        return value if value is None or self.metric else EXACT.multiply(value, MM_PER_INCH)

    def several(self, values: Values, name: str) -> tuple[Decimal, ...]:
        """A list of lengths; empty where it was left out."""
        listed: tuple[Decimal, ...] = values.get(name, ())
        return listed if self.metric else tuple(EXACT.multiply(value, MM_PER_INCH) for value in listed)


def part_of(values: Values) -> Part:
    """The part that a request is about."""
    kind: Kind = values["kind"]
    lengths = Lengths(values["unit"])
    return Part(
        unit=values["unit"],
        kind=kind,
        readings=_readings(values, lengths, kind),
        stage=values.get("stage", Stage.BEFORE_MACHINING),
        application=_application(values),
        side=values.get("side"),
        marking=lengths.maybe(values, "marking"),
        findings=tuple(_finding(found, lengths) for found in values.get("findings", ())),
        instrument=_instrument(values, lengths),
        cut=_cut(values, lengths),
        cut_made=_cut_made(values, lengths),
        lathe=values.get("lathe", {}).get("kind"),
        odometer_km=_kilometres(values.get("vehicle", {}).get("odometer")),
        history=tuple(_earlier(earlier, lengths, kind) for earlier in values.get("history", ())),
        new=_earlier(values["when_new"], lengths, kind) if "when_new" in values else None,
        services=_services(values.get("services")),
    )


def lathe_of(values: Values) -> AskedLathe | None:
    """The lathe that a request names by its profile, if it does."""
    given = values.get("lathe", {})
    return AskedLathe(given["profile"], given.get("revision")) if "profile" in given else None


def dimensions_of(values: Values) -> Dimensions | None:
    """The dimensions of the part beside its size, if they are given."""
    given = values.get("dimensions")
    if given is None:
        return None
    lengths = Lengths(values["unit"])
    return Dimensions(
        outer_diameter=lengths.maybe(given, "outer_diameter"),
        inner_diameter=lengths.maybe(given, "inner_diameter"),
        width=lengths.maybe(given, "width"),
        air_gap=lengths.maybe(given, "air_gap") or Decimal(0),
    )


def roughness_of(values: Values) -> Decimal | None:
    """The Ra that is wanted, in mm."""
    return _roughness(values.get("wanted_roughness"))


def _readings(values: Values, lengths: Lengths, kind: Kind) -> Readings:
    name = "thickness" if kind.is_rotor else "diameter"
    return Readings(
        track=lengths.several(values, name),
        inner_track=lengths.several(values, f"{name}_inner"),
        lateral_runout=lengths.maybe(values, "lateral_runout"),
        runout_trace=lengths.several(values, "lateral_runout_trace"),
        runout_read_on=values.get("runout_read_on", RunoutPlace.VEHICLE),
        setup_runout=lengths.maybe(values, "setup_runout"),
        grooves={Face(face): lengths.mm(depth) for face, depth in values.get("groove_depth", {}).items()},
        surface_roughness=_roughness(values.get("surface_roughness")),
        part_temperature_c=values.get("part_temperature_c"),
    )


def _application(values: Values) -> Application | None:
    given = values.get("application")
    if given is None:
        return None
    return Application(given["make"], given["model"], given["year"], given["axle"], given.get("brake_option"))


def _finding(found: Values, lengths: Lengths) -> ReportedFinding:
    return ReportedFinding(
        code=found["finding"],
        face=found.get("face"),
        depth=lengths.maybe(found, "depth"),
        length=lengths.maybe(found, "length"),
        note=found.get("note"),
    )


def _instrument(values: Values, lengths: Lengths) -> Instrument:
    given = values.get("instrument", {})
    return Instrument(
        resolution=lengths.maybe(given, "resolution"),
        expanded_uncertainty=lengths.maybe(given, "expanded_uncertainty"),
        repeatability=lengths.maybe(given, "repeatability"),
        calibration_due=given.get("calibration_due"),
        label=given.get("label"),
    )


def _cut(values: Values, lengths: Lengths) -> AskedCut | None:
    given = values.get("cut")
    if given is None:
        return None
    return AskedCut(
        inboard=lengths.maybe(given, "inboard"),
        outboard=lengths.maybe(given, "outboard"),
        depth=lengths.maybe(given, "depth"),
        zero=given.get("zero", Zero.THINNEST_POINT),
    )


def _cut_made(values: Values, lengths: Lengths) -> CutMade | None:
    given = values.get("cut_made")
    if given is None:
        return None
    return CutMade(lengths.maybe(given, "inboard"), lengths.maybe(given, "outboard"), lengths.maybe(given, "depth"))


def _kilometres(distance: Values | None) -> Decimal | None:
    if distance is None:
        return None
    value: Decimal = distance["value"]
    return value if distance["unit"] == "km" else EXACT.multiply(value, KM_PER_MILE)


def _roughness(given: Values | None) -> Decimal | None:
    """Ra in mm."""
    if given is None:
        return None
    micrometres = given["value"] if given["unit"] == "um" else EXACT.multiply(given["value"], UM_PER_MICROINCH)
    return EXACT.multiply(micrometres, _UM_PER_MM)


def _services(given: Values | None) -> Services | None:
    if given is None:
        return None
    last = _kilometres(given.get("last"))
    at = (_kilometres(one) for one in given.get("at", ()))
    return Services(
        interval_km=_kilometres(given.get("interval")),
        from_km=Decimal(0) if last is None else last,
        at_km=tuple(one for one in at if one is not None),
    )


def _earlier(earlier: Values, lengths: Lengths, kind: Kind) -> EarlierReading:
    kilometres = _kilometres(earlier["odometer"])
    if kilometres is None:  # pragma: no cover - the shape requires it
        raise AssertionError
    return EarlierReading(
        size=lengths.mm(earlier["thickness" if kind.is_rotor else "diameter"]),
        odometer_km=kilometres,
        read_on=earlier.get("date"),
    )

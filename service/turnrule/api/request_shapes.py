"""The shapes of a request for a verdict: which fields a rotor and a drum have, within which bounds."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import fields

from turnrule.api.fields import (
    Choice,
    ExactDecimal,
    Inner,
    IsoDate,
    ListOf,
    NumberList,
    Shape,
    Sized,
    Text,
    WholeNumber,
    Within,
)
from turnrule.api.limit_shapes import (
    LARGEST_FORM,
    DrumFigures,
    RotorFigures,
    axle_field,
    brake_option_field,
    form,
    kind_field,
    make_field,
    model_field,
    size,
    unit_field,
    year_field,
)
from turnrule.judging.words import Face, Kind, LatheKind, RunoutPlace, Side, Stage, Zero

CODE = re.compile(r"^[a-z][a-z0-9_]{0,62}$")
"""Codes and policy names."""

LONGEST_TRACK, LONGEST_TRACE, MOST_FINDINGS, LONGEST_HISTORY = 1000, 3600, 50, 100
LARGEST_ODOMETER = 10_000_000

DISTANCE_UNITS = ("km", "mi")
ROUGHNESS_UNITS = ("um", "uin")


class Word(Choice):
    """One of a few words that need no vocabulary of their own."""

    def __init__(self, *words: str, **kwargs: Any) -> None:
        fields.String.__init__(self, metadata={"enum": list(words), **kwargs.pop("metadata", {})}, **kwargs)
        self.words = {word: word for word in words}  # type: ignore[assignment]  # the words stand for themselves


class Distance(Shape):
    """A distance with its own unit."""

    value = ExactDecimal(
        required=True, validate=Within(min=0, max=LARGEST_ODOMETER), metadata={"description": "The distance."}
    )
    unit = Word(*DISTANCE_UNITS, required=True, metadata={"description": "Kilometres or miles."})


class Roughness(Shape):
    """A surface roughness Ra with its own unit."""

    value = form("The roughness Ra.", required=True)
    unit = Word(*ROUGHNESS_UNITS, required=True, metadata={"description": "Micrometres or microinches."})


class ApplicationShape(Shape):
    """The vehicle and place that the part is fitted to."""

    make = make_field()
    model = model_field()
    year = year_field("The model year.", required=True)
    axle = axle_field()
    brake_option = brake_option_field()


class InstrumentShape(Shape):
    """The gauge; what is left out comes from the policy."""

    resolution = ExactDecimal(
        validate=Within(min=0, min_inclusive=False, max=LARGEST_FORM), metadata={"description": "One digital step."}
    )
    expanded_uncertainty = form("The certificate's expanded uncertainty, k = 2.")
    repeatability = form("The standard deviation of repeated readings.")
    calibration_due = IsoDate(metadata={"description": "The day until which the calibration holds."})
    label = Text(most=80, metadata={"description": "The caller's name for the gauge."})


class FindingShape(Shape):
    """Something seen on the part, with what was measured of it."""

    finding = Text(
        most=63, pattern=CODE, required=True, metadata={"description": "A code of the catalogue of findings."}
    )
    face = Choice(Face, metadata={"description": "The face that it was seen on; left out: all faces."})
    depth = form("How deep it is.")
    length = form("How long it is.")
    note = Text(most=500, metadata={"description": "What else was seen."})


class FindingEntry(Inner):
    """A finding by its code alone, or as an object that says more of it."""

    _code = Text(most=63, pattern=CODE)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str):
            return {"finding": self._code.deserialize(value)}
        return super()._deserialize(value, attr, data, **kwargs)


class LatheShape(Shape):
    """The lathe that the part is to be cut on."""

    kind = Choice(LatheKind, required=True, metadata={"description": "Off the vehicle, or on its own hub."})


class LatheEntry(Inner):
    """A lathe by its kind alone, or as an object."""

    _kind = Choice(LatheKind)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str):
            return {"kind": self._kind.deserialize(value)}
        return super()._deserialize(value, attr, data, **kwargs)


class RotorGrooves(Shape):
    """The deepest groove of each friction face."""

    inboard = form("The deepest groove of the inboard face.")
    outboard = form("The deepest groove of the outboard face.")


class DrumGroove(Shape):
    """The deepest groove of a drum's friction face."""

    depth = form("The deepest groove, on the radius.", required=True)


class DrumGrooveEntry(Inner):
    """A groove depth as a plain number, or as an object."""

    _depth = form("The deepest groove, on the radius.")

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, dict):
            return super()._deserialize(value, attr, data, **kwargs)
        return {"depth": self._depth.deserialize(value)}


_ZERO = "Where the tool stands when the depth is counted as zero; the thinnest point where it is left out."


class RotorCut(Shape):
    """The cut asked for, face by face."""

    inboard = form("Depth off the inboard face.", required=True)
    outboard = form("Depth off the outboard face.", required=True)
    zero = Choice(Zero, metadata={"description": _ZERO})


class DrumCut(Shape):
    """The cut asked for, on the radius."""

    depth = form("Depth on the radius; it counts twice on the diameter.", required=True)
    zero = Choice(Zero, metadata={"description": _ZERO})


class VehicleShape(Shape):
    """The vehicle as the caller knows it."""

    label = Text(most=80, metadata={"description": "The caller's own name for the vehicle."})
    odometer = Inner(Distance, metadata={"description": "What the odometer shows today."})


class RotorEarlier(Shape):
    """An earlier reading of the same rotor."""

    thickness = size("The least thickness then.", required=True)
    odometer = Inner(Distance, required=True, metadata={"description": "What the odometer showed then."})
    date = IsoDate(metadata={"description": "The day of that reading."})


class DrumEarlier(Shape):
    """An earlier reading of the same drum."""

    diameter = size("The greatest diameter then.", required=True)
    odometer = Inner(Distance, required=True, metadata={"description": "What the odometer showed then."})
    date = IsoDate(metadata={"description": "The day of that reading."})


def track(description: str) -> NumberList:
    """One track of sizes at equal angles."""
    return NumberList(
        size("One size."), size=Sized(min=1, max=LONGEST_TRACK), metadata={"description": description}
    )


class _Request(Shape):
    """What requests about rotors and drums have in common."""

    unit = unit_field()
    application = Inner(ApplicationShape, metadata={"description": "The vehicle and place that the part is fitted to."})
    side = Choice(Side, metadata={"description": "The side of the axle, seen from the driver's seat."})
    stage = Choice(Stage, metadata={"description": "When the readings were taken; before machining where left out."})
    setup_runout = form("Runout of the mounted part at the lathe, total indicator reading.")
    part_temperature_c = ExactDecimal(
        signed=True, validate=Within(min=-40, max=600), metadata={"description": "The part's temperature in C."}
    )
    surface_roughness = Inner(Roughness, metadata={"description": "Roughness of the finished face."})
    marking = size("The discard value cast or stamped on the part itself.")
    findings = ListOf(
        FindingEntry(FindingShape),
        validate=Sized(max=MOST_FINDINGS),
        metadata={"description": "What was seen on the part: codes, or objects that say more."},
    )
    instrument = Inner(InstrumentShape, metadata={"description": "The gauge that the sizes were read with."})
    lathe = LatheEntry(LatheShape, metadata={"description": "The lathe that the part is to be cut on."})
    policy = Text(
        most=63, pattern=CODE, metadata={"description": "The name of the policy to judge under; default where left out."}
    )
    release = WholeNumber(
        validate=Within(min=1, max=2**31 - 1), metadata={"description": "The release to judge under; else the newest."}
    )
    reference = Text(most=80, metadata={"description": "The caller's own job number."})
    vehicle = Inner(VehicleShape, metadata={"description": "The vehicle as the caller knows it."})


class RotorRequest(_Request):
    """A rotor to be judged."""

    kind = kind_field(Kind.ROTOR)
    thickness = track("Thicknesses of one track, at equal angles.")
    thickness_inner = track("Thicknesses of a second track, nearer the hub.")
    lateral_runout = form("Lateral runout of the outboard face, total indicator reading.")
    lateral_runout_trace = NumberList(
        ExactDecimal(
            signed=True,
            validate=Within(min=-LARGEST_FORM, max=LARGEST_FORM),
            metadata={"description": "One indicator reading."},
        ),
        size=Sized(min=3, max=LONGEST_TRACE),
        metadata={"description": "Indicator readings of the outboard face at equal angles; outboard is positive."},
    )
    runout_read_on = Choice(RunoutPlace, metadata={"description": "Where it was read; the vehicle where left out."})
    groove_depth = Inner(RotorGrooves, metadata={"description": "The deepest groove of each friction face."})
    cut = Inner(RotorCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    limits = Inner(RotorFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(RotorEarlier),
        validate=Sized(max=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )


class DrumRequest(_Request):
    """A drum or parking drum to be judged."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    diameter = track("Diameters of one track, at equal angles.")
    diameter_inner = track("Diameters of a second track, nearer the closed end.")
    groove_depth = DrumGrooveEntry(DrumGroove, metadata={"description": "The deepest groove, on the radius."})
    cut = Inner(DrumCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    limits = Inner(DrumFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(DrumEarlier),
        validate=Sized(max=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )

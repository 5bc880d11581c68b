"""The shapes of a request for a verdict: which fields a rotor and a drum have, within which bounds."""

from __future__ import annotations

import re

from turnrule.api.bounds import Sized, Within
from turnrule.api.fields import Choice, ExactDecimal, IsoDate, NumberList, Text, WholeNumber
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
from turnrule.api.shapes import Inner, ListOf, Shape, Short
from turnrule.judging.words import Face, Kind, LatheKind, RunoutPlace, Side, Stage, Zero

CODE = re.compile(r"^[a-z][a-z0-9_]{0,62}$")
"""Codes and policy names."""

LONGEST_TRACK, LONGEST_TRACE, MOST_FINDINGS, LONGEST_HISTORY = 1000, 3600, 50, 100
LARGEST_ODOMETER = 10_000_000

DISTANCE_UNITS = ("km", "mi")
ROUGHNESS_UNITS = ("um", "uin")


class Distance(Shape):
    """A distance with its own unit."""

    value = ExactDecimal(
        required=True, bounds=Within(least=0, most=LARGEST_ODOMETER), metadata={"description": "The distance."}
    )
    unit = Choice(DISTANCE_UNITS, required=True, metadata={"description": "Kilometres or miles."})


class Roughness(Shape):
    """A surface roughness Ra with its own unit."""

    value = form("The roughness Ra.", required=True)
    unit = Choice(ROUGHNESS_UNITS, required=True, metadata={"description": "Micrometres or microinches."})


class ApplicationShape(Shape):
    """The vehicle and place that the part is fitted to."""

    make = make_field()
    model = model_field()
    year = year_field("The model year.", required=True)
    axle = axle_field()
    brake_option = brake_option_field()


class InstrumentShape(Shape):
    """The gauge; what is left out comes from the policy."""

    resolution = ExactDecimal(bounds=Within(above=0, most=LARGEST_FORM), metadata={"description": "One digital step."})
    expanded_uncertainty = form("The certificate's expanded uncertainty, k = 2.")
    repeatability = form("The standard deviation of repeated readings.")
    calibration_due = IsoDate(metadata={"description": "The day until which the calibration holds."})
    label = Text(80, metadata={"description": "The caller's name for the gauge."})


class FindingShape(Shape):
    """Something seen on the part, with what was measured of it."""

    finding = Text(63, pattern=CODE, required=True, metadata={"description": "A code of the catalogue of findings."})
    face = Choice(Face, metadata={"description": "The face that it was seen on; left out: all faces."})
    depth = form("How deep it is.")
    length = form("How long it is.")
    note = Text(500, metadata={"description": "What else was seen."})


class LatheShape(Shape):
    """The lathe that the part is to be cut on."""

    kind = Choice(LatheKind, required=True, metadata={"description": "Off the vehicle, or on its own hub."})


class RotorGrooves(Shape):
    """The deepest groove of each friction face."""

    inboard = form("The deepest groove of the inboard face.")
    outboard = form("The deepest groove of the outboard face.")


class DrumGroove(Shape):
    """The deepest groove of a drum's friction face."""

    depth = form("The deepest groove, on the radius.", required=True)


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

    label = Text(80, metadata={"description": "The caller's own name for the vehicle."})
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
    return NumberList(size("One size."), Sized(least=1, most=LONGEST_TRACK), metadata={"description": description})


class _Request(Shape):
    """What requests about rotors and drums have in common."""

    unit = unit_field()
    application = Inner(ApplicationShape, metadata={"description": "The vehicle and place that the part is fitted to."})
    side = Choice(Side, metadata={"description": "The side of the axle, seen from the driver's seat."})
    stage = Choice(Stage, metadata={"description": "When the readings were taken; before machining where left out."})
    setup_runout = form("Runout of the mounted part at the lathe, total indicator reading.")
    part_temperature_c = ExactDecimal(
        signed=True, bounds=Within(least=-40, most=600), metadata={"description": "The part's temperature in C."}
    )
    surface_roughness = Inner(Roughness, metadata={"description": "Roughness of the finished face."})
    marking = size("The discard value cast or stamped on the part itself.")
    findings = ListOf(
        Short(FindingShape, "finding"),
        Sized(most=MOST_FINDINGS),
        metadata={"description": "What was seen on the part: codes, or objects that say more."},
    )
    instrument = Inner(InstrumentShape, metadata={"description": "The gauge that the sizes were read with."})
    lathe = Short(LatheShape, "kind", metadata={"description": "The lathe that the part is to be cut on."})
    policy = Text(
        63,
        pattern=CODE,
        metadata={"description": "The name of the policy to judge under; default where left out."},
    )
    release = WholeNumber(
        Within(least=1, most=2**31 - 1), metadata={"description": "The release to judge under; else the newest."}
    )
    reference = Text(80, metadata={"description": "The caller's own job number."})
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
            bounds=Within(least=-LARGEST_FORM, most=LARGEST_FORM),
            metadata={"description": "One indicator reading."},
        ),
        Sized(least=3, most=LONGEST_TRACE),
        metadata={"description": "Indicator readings of the outboard face at equal angles; outboard is positive."},
    )
    runout_read_on = Choice(RunoutPlace, metadata={"description": "Where it was read; the vehicle where left out."})
    groove_depth = Inner(RotorGrooves, metadata={"description": "The deepest groove of each friction face."})
    cut = Inner(RotorCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    limits = Inner(RotorFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(RotorEarlier),
        Sized(most=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )


class DrumRequest(_Request):
    """A drum or parking drum to be judged."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    diameter = track("Diameters of one track, at equal angles.")
    diameter_inner = track("Diameters of a second track, nearer the closed end.")
    groove_depth = Short(DrumGroove, "depth", metadata={"description": "The deepest groove, on the radius."})
    cut = Inner(DrumCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    limits = Inner(DrumFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(DrumEarlier),
        Sized(most=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )

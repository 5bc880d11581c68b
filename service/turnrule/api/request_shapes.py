"""The shapes of a request for a verdict: which fields a rotor and a drum have, within which bounds."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import ValidationError

from turnrule.api.bounds import Sized, Within
from turnrule.api.faults import Flaw
from turnrule.api.fields import Choice, ExactDecimal, IsoDate, NumberList, Text, Truth, WholeNumber
from turnrule.api.life_shapes import (
    Distance,
    DrumEarlier,
    DrumNew,
    RotorEarlier,
    RotorNew,
    ServicesShape,
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
from turnrule.api.shapes import Inner, ListOf, Shape, Short
from turnrule.api.work_shapes import DrumDimensions, RotorDimensions, Roughness, WantedRoughness
from turnrule.judging.words import Face, Kind, LatheKind, RunoutPlace, Side, Stage, Zero

CODE = re.compile(r"^[a-z][a-z0-9_]{0,62}$")
"""Codes and policy names."""

VERDICT_ID = re.compile(r"^[0-9a-hjkmnp-tv-z]{26}$")
"""The ids of verdicts."""

LONGEST_TRACK, LONGEST_TRACE, MOST_FINDINGS, LONGEST_HISTORY = 1000, 3600, 50, 100


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


class LatheChoiceShape(Shape):
    """The lathe that the part is to be cut on: a kind, or one of the lathes that were written."""

    kind = Choice(LatheKind, metadata={"description": "Off the vehicle, or on its own hub."})
    profile = Text(63, pattern=CODE, metadata={"description": "The name of a lathe; passes are planned for it."})
    revision = WholeNumber(
        Within(least=1, most=2**31 - 1), metadata={"description": "Its revision; the newest where left out."}
    )

    def load(self, data: object, **_options: object) -> dict[str, Any]:
        """The values of the fields, where the lathe is named in one way."""
        values = super().load(data)
        if ("kind" in values) == ("profile" in values):
            raise ValidationError({"_schema": [Flaw("kind_or_profile", "give either the kind or the profile")]})
        if "revision" in values and "profile" not in values:
            raise ValidationError({"revision": [Flaw("revision_without_profile", "a revision is that of a profile")]})
        return values


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


class RotorCutMade(Shape):
    """The cut that a finished rotor was given, counted as a cut that is asked for: below the thinnest place."""

    inboard = form("Depth taken off the inboard face.", required=True)
    outboard = form("Depth taken off the outboard face.", required=True)


class DrumCutMade(Shape):
    """The cut that a finished drum was given, counted as a cut that is asked for: beyond the widest place."""

    depth = form("Depth taken on the radius; it counts twice on the diameter.", required=True)


_CUT_MADE = "After machining only: the cut that was made. The policy's bounds of a cut are held against it."


class VehicleShape(Shape):
    """The vehicle as the caller knows it."""

    label = Text(80, metadata={"description": "The caller's own name for the vehicle."})
    odometer = Inner(Distance, metadata={"description": "What the odometer shows today."})


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
    lathe = Short(LatheChoiceShape, "kind", metadata={"description": "The lathe that the part is to be cut on."})
    wanted_roughness = Inner(
        WantedRoughness,
        metadata={"description": "The finish that is wanted; the feed of the last pass is chosen by it."},
    )
    policy = Text(
        63,
        pattern=CODE,
        metadata={
            "description": "The name of the policy to judge under; that of the key's site, or default, where left out."
        },
    )
    release = WholeNumber(
        Within(least=1, most=2**31 - 1), metadata={"description": "The release to judge under; else the newest."}
    )
    reference = Text(80, metadata={"description": "The caller's own job number."})
    vehicle = Inner(VehicleShape, metadata={"description": "The vehicle as the caller knows it."})
    stored_history = Truth(
        metadata={
            "description": "True: earlier readings are drawn from stored verdicts on the same part as well; this "
            "needs vehicle.label, vehicle.odometer, application and side."
        }
    )
    services = Inner(ServicesShape, metadata={"description": "When the vehicle is serviced; those reached are told."})
    before = Text(
        26,
        pattern=VERDICT_ID,
        metadata={
            "description": "After machining only: the id of the verdict on the same part before it was machined, which "
            "this key may see. What was taken by the two readings is held against the cut that was made."
        },
    )


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
    dimensions = Inner(
        RotorDimensions, metadata={"description": "The friction ring, for the times of the passes and for heat."}
    )
    groove_depth = Inner(RotorGrooves, metadata={"description": "The deepest groove of each friction face."})
    cut = Inner(RotorCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    cut_made = Inner(RotorCutMade, metadata={"description": _CUT_MADE})
    limits = Inner(RotorFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(RotorEarlier),
        Sized(most=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )
    when_new = Inner(RotorNew, metadata={"description": "The part when it was new; the wear line then starts there."})


class DrumRequest(_Request):
    """A drum or parking drum to be judged."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    diameter = track("Diameters of one track, at equal angles.")
    diameter_inner = track("Diameters of a second track, nearer the closed end.")
    dimensions = Inner(DrumDimensions, metadata={"description": "The wall, for the times of the passes and for heat."})
    groove_depth = Short(DrumGroove, "depth", metadata={"description": "The deepest groove, on the radius."})
    cut = Inner(DrumCut, metadata={"description": "The cut asked for; one is planned where it is left out."})
    cut_made = Inner(DrumCutMade, metadata={"description": _CUT_MADE})
    limits = Inner(DrumFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})
    history = ListOf(
        Inner(DrumEarlier),
        Sized(most=LONGEST_HISTORY),
        metadata={"description": "Earlier readings of the same part."},
    )
    when_new = Inner(DrumNew, metadata={"description": "The part when it was new; the wear line then starts there."})

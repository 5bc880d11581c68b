"""The shapes of a check at the lathe: what was read of a mount, of a hub, of both faces, of a drum's tracks."""

from __future__ import annotations

from turnrule.api.bounds import Sized, Within
from turnrule.api.fields import Choice, ExactDecimal, NumberList, Text, WholeNumber
from turnrule.api.limit_shapes import (
    LARGEST_FORM,
    LARGEST_SIZE,
    DrumFigures,
    RotorFigures,
    form,
    kind_field,
    size,
    unit_field,
)
from turnrule.api.request_shapes import (
    CODE,
    LONGEST_TRACE,
    LONGEST_TRACK,
    ApplicationShape,
    DrumGroove,
    InstrumentShape,
    LatheChoiceShape,
    RotorGrooves,
    track,
)
from turnrule.api.shapes import Inner, ListOf, Shape, Short
from turnrule.judging.drum_form import Place
from turnrule.judging.words import Kind

MOST_READINGS, MOST_ARCS, MOST_TRACKS, MOST_POSITIONS = 50, 36, 50, 60
MOST_DEGREES = 3600


def turned_field(description: str, *, required: bool = False) -> ExactDecimal:
    """How far a part was turned on what it sits on."""
    bounds = Within(least=-MOST_DEGREES, most=MOST_DEGREES)
    return ExactDecimal(bounds, signed=True, required=required, metadata={"description": description})


def angle_field(description: str, *, required: bool = False) -> ExactDecimal:
    """A place on the part."""
    return ExactDecimal(Within(least=0, most=360), required=required, metadata={"description": description})


def trace_field(description: str) -> NumberList:
    """An indicator trace: readings at equal steps of one whole turn."""
    entry = ExactDecimal(
        Within(least=-LARGEST_FORM, most=LARGEST_FORM), signed=True, metadata={"description": "One indicator reading."}
    )
    return NumberList(entry, Sized(least=3, most=LONGEST_TRACE), metadata={"description": description})


def pass_depth(description: str) -> ExactDecimal:
    """A depth of a pass: more than 0."""
    return ExactDecimal(Within(above=0, most=LARGEST_FORM), required=True, metadata={"description": description})


class ArcShape(Shape):
    """One unbroken stretch of scratch, along the part from its mark."""

    start = angle_field("Where it begins, in degrees; below 360.", required=True)
    end = angle_field("Where it ends, as angles run; through 0 where it is less than start.", required=True)


class ScratchShape(Shape):
    """A scratch cut: how deep the tool was fed in, and what of the turn it has scratched."""

    depth = pass_depth("How deep the tool was fed in after it first touched.")
    covered = ExactDecimal(
        Within(above=0, most=1),
        metadata={"description": "The scratched fraction of the turn, without angles."},
    )
    arcs = ListOf(
        Inner(ArcShape), Sized(least=1, most=MOST_ARCS), metadata={"description": "The scratched stretches, each once."}
    )


class MountReadingShape(Shape):
    """The face, scratched or indicated once."""

    turned = turned_field(
        "Degrees by which the part was turned on the arbor since the first reading; 0 where left out."
    )
    scratch = Inner(ScratchShape, metadata={"description": "The scratch, where one was made."})
    trace = trace_field(
        "Indicator readings of the face at equal angles from the part's mark; larger is further outboard, "
        "and in a drum further from the axis."
    )


class IndexReadingShape(Shape):
    """The part, read on its hub at one index position: a trace, or the runout with its high spot."""

    turned = turned_field("Degrees by which the part was turned on the hub since the first reading.", required=True)
    trace = trace_field("Indicator readings at equal angles from the part's mark.")
    runout = form("The total indicator reading, where no trace was read.")
    high_spot = angle_field("Where it is highest, in degrees along the part from its mark; below 360.")


class HubShape(Shape):
    """The part on its hub, read at two index positions or more."""

    readings = ListOf(
        Inner(IndexReadingShape),
        Sized(least=1, most=MOST_READINGS),
        required=True,
        metadata={"description": "The readings, each at its index position."},
    )
    studs = WholeNumber(
        Within(least=1, most=MOST_POSITIONS), metadata={"description": "How many equally spaced studs the hub has."}
    )
    turns = NumberList(
        turned_field("One position."),
        Sized(least=1, most=MOST_POSITIONS),
        metadata={"description": "The positions that the studs allow, as degrees turned since the first reading."},
    )
    now = turned_field("How the part sits now, as degrees turned; as at the last reading where left out.")


class FacesShape(Shape):
    """Both faces of a rotor as it sits on the lathe, all read at the same equal angles from its mark."""

    outboard = trace_field("Indicator readings of the outboard face; larger is further outboard.")
    inboard = trace_field("Indicator readings of the inboard face; larger is further outboard here as well.")
    thickness = NumberList(
        size("One size."),
        Sized(least=3, most=LONGEST_TRACK),
        metadata={"description": "Thicknesses at the same angles."},
    )


class DrumTrackShape(Shape):
    """One track of a drum, at one distance from its open edge."""

    distance = ExactDecimal(
        Within(least=0, most=LARGEST_SIZE), metadata={"description": "Distance from the open edge, for every track."}
    )
    place = Choice(Place, metadata={"description": "Where the track is, for every track that has no distance."})
    diameters = track("Diameters at equal angles.")
    trace = trace_field("Indicator readings of the bore as it turns on the lathe; larger is further from the axis.")


class PassDepthsShape(Shape):
    """How deep a pass may be."""

    least_depth = pass_depth("The least depth of a pass, per face; in a drum on the radius.")
    greatest_depth = pass_depth("The greatest depth of a pass.")


class RotorSetupCut(Shape):
    """The cut that is to be made, face by face, from the thinnest point."""

    inboard = form("Depth off the inboard face.", required=True)
    outboard = form("Depth off the outboard face.", required=True)


class DrumSetupCut(Shape):
    """The cut that is to be made, on the radius, from the widest point."""

    depth = form("Depth on the radius; it counts twice on the diameter.", required=True)


class _SetupRequest(Shape):
    """What checks of rotors and drums have in common."""

    unit = unit_field()
    readings = ListOf(
        Inner(MountReadingShape),
        Sized(least=1, most=MOST_READINGS),
        metadata={"description": "Scratches or traces of the face on the lathe, the part turned on the arbor between."},
    )
    hub = Inner(HubShape, metadata={"description": "Readings of the part on its hub, at several index positions."})
    application = Inner(ApplicationShape, metadata={"description": "The vehicle and place that the part is fitted to."})
    marking = size("The discard value cast or stamped on the part itself.")
    instrument = Inner(InstrumentShape, metadata={"description": "The gauge; the coarsest where several were used."})
    angle_uncertainty = ExactDecimal(
        Within(least=0, most=90),
        metadata={"description": "How far an angle may be off, degrees (k = 2); good practice's where left out."},
    )
    covered_uncertainty = ExactDecimal(
        Within(least=0, most=1),
        metadata={"description": "How far a covered fraction may be off (k = 2); good practice's where left out."},
    )
    mount_limit = form("The greatest runout of a mount that is right; good practice's figure where left out.")
    lathe = Short(LatheChoiceShape, "kind", metadata={"description": "The lathe that the part is on."})
    passes = Inner(
        PassDepthsShape,
        metadata={
            "description": "The depths of a pass; where left out, those of the lathe's profile, else good practice's."
        },
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


class RotorSetupRequest(_SetupRequest):
    """A rotor on the lathe or on its hub."""

    kind = kind_field(Kind.ROTOR)
    faces = Inner(FacesShape, metadata={"description": "Both faces, read as the rotor sits on the lathe."})
    thickness = track("Thicknesses of one track, at equal angles from the mark; those of faces where left out.")
    groove_depth = Inner(RotorGrooves, metadata={"description": "The deepest groove of each friction face."})
    cut = Inner(RotorSetupCut, metadata={"description": "The cut in mind; one is planned where it is left out."})
    limits = Inner(RotorFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})


class DrumSetupRequest(_SetupRequest):
    """A drum or parking drum on the lathe or on its hub."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    tracks = ListOf(
        Inner(DrumTrackShape),
        Sized(least=1, most=MOST_TRACKS),
        metadata={"description": "The bore, track by track."},
    )
    setup_runout = form("Runout of the bore on the lathe, for the tracks that have no trace.")
    diameter = track("Diameters of one track, at equal angles; those of all tracks where left out.")
    groove_depth = Short(DrumGroove, "depth", metadata={"description": "The deepest groove, on the radius."})
    cut = Inner(DrumSetupCut, metadata={"description": "The cut in mind; one is planned where it is left out."})
    limits = Inner(DrumFigures, metadata={"description": "The caller's own limits, for a part that the store lacks."})

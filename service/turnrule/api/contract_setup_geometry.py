"""The schemas of the geometry of a set-up: wobbles, forms, index positions, clean-up planes, a drum's tracks."""

from __future__ import annotations

from collections.abc import Mapping

from turnrule.api.contract_parts import Schema, number, or_null, ref, several, thing, truth, whole


def geometry_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "Wobble": thing("A runout that goes once around.", _wobble()),
        "DoubtfulWobble": thing(
            "A runout that goes once around, told apart from another.",
            {**_wobble(), "uncertainty": number("Its expanded uncertainty U (k = 2), rounded up.", minimum=0)},
        ),
        "OwnForm": _own_form(),
        "HubTold": _hub(),
        "IndexPosition": _position(),
        "FacesTold": _faces(),
        "FaceTold": _face(),
        "CutPlan": _plan(),
        "TracksTold": _tracks(),
        "TrackTold": _track(),
    }


def _length(description: str) -> Schema:
    return or_null(number(description))


def _wobble() -> Mapping[str, Schema]:
    angle = number("Degrees along the part from its mark to where it is highest.", minimum=0, exclusiveMaximum=360)
    return {
        "runout": number("The total indicator reading.", minimum=0),
        "angle": or_null(angle | {"description": f"{angle['description']} Null without a direction."}),
    }


def _own_form() -> Schema:
    return thing(
        "The part by itself, out of several traces of as many readings.",
        {
            "runout": number("The total indicator reading of its own form.", minimum=0),
            "residual": number("The range of it without what goes once around.", minimum=0),
            "mixed_harmonics": several(
                whole("How often around.", minimum=2), "Forms of the seat that are still in it."
            ),
            "trace": several(number("One reading, about the middle."), "Its own form, from its mark on."),
        },
    )


def words_said() -> Mapping[str, Schema]:
    """What is missing, and what an answer says of its own worth."""
    return {
        "missing": several(ref("MissingWord"), "What would have to be read for more to be told, in order."),
        "notes": several(ref("NoteWord"), "What to know of these figures."),
    }


def _hub() -> Schema:
    return thing(
        "Hub and part told apart, and where on the hub the part runs truest.",
        {
            "part": or_null(ref("DoubtfulWobble", "The part's own runout.")),
            "hub": or_null(ref("DoubtfulWobble", "The hub's, where it lay on the part at the first reading.")),
            "misfit": _length("How far the worst of three readings or more is from what both add up to."),
            "form": or_null(ref("OwnForm")),
            "now": or_null(ref("IndexPosition", "How the part sits now.")),
            "best": or_null(ref("IndexPosition", "The position with the least runout.")),
            "turn_by": or_null(number("Degrees by which to turn the part on the hub, from now to best.", minimum=0)),
            "gain": _length("By how much the runout falls, rounded down."),
            "positions": several(ref("IndexPosition"), "Every position that the studs allow."),
            **words_said(),
        },
    )


def _position() -> Schema:
    return thing(
        "What hub and part add up to at one index position.",
        {
            "turned": number("Degrees turned since the first reading.", minimum=0, exclusiveMaximum=360),
            "remaining": number("The runout there: the whole of it where traces tell it.", minimum=0),
            "wobble": ref("Wobble"),
            "whole": _length("The whole total indicator reading, where traces tell it."),
        },
    )


def _faces() -> Schema:
    return thing(
        "Where the tools must go, what each face loses, and the least cuts that clean both up.",
        {
            "clean_up_thickness": _length("The thickest disc with flat, parallel faces inside the rotor as it sits."),
            "thickness_needed": _length("What must be left: the governing limit and its guard band."),
            "outboard": or_null(ref("FaceTold")),
            "inboard": or_null(ref("FaceTold")),
            "least_unequal": or_null(ref("CutPlan", "Each face to its own plane.")),
            "least_equal": or_null(ref("CutPlan", "Both faces as deep, from the thinnest point.")),
            "least_equal_from_first_contact": or_null(ref("CutPlan", "Both tools fed in as deep, from first contact.")),
            "closure": _length("How far both traces and the thickness contradict each other over the turn."),
            "closes": or_null(truth("Whether that is as little as readings that belong together show.")),
            **words_said(),
        },
    )


def _face() -> Schema:
    return thing(
        "One face.",
        {
            "plane": number("Where the tool must go, in the trace's own readings."),
            "from_first_contact": number("The depth from where the tool first touches.", minimum=0),
            "from_thinnest_point": number("The depth below the lowest place: the groove.", minimum=0),
            "metal": several(number("Metal that comes off there.", minimum=0), "At each angle, in the trace's order."),
        },
    )


def _plan() -> Schema:
    depths = thing(
        "Depths by face.",
        {
            "inboard": number("Depth off the inboard face.", minimum=0),
            "outboard": number("Depth off the outboard face.", minimum=0),
        },
    )
    return thing(
        "A cut of both faces.",
        {
            "from_first_contact": depths,
            "from_thinnest_point": depths,
            "total": number("Metal off the true disc inside the rotor, both faces together.", minimum=0),
            "thickness_left": _length("The thickness that it leaves; null where no thickness was read."),
            "allowed": or_null(truth("Whether what must be left is left; null where either is not known.")),
        },
    )


def _tracks() -> Schema:
    return thing(
        "The form of a drum from its tracks, the open edge first.",
        {
            "each": several(ref("TrackTold"), "Each track by itself, in the order of depth."),
            "bell_mouth": _length("By how much the open edge is wider than the closed end; 0 where it is not."),
            "taper": _length("Difference of the means of both ends, rounded up."),
            "slope": or_null(number("Rise of the diameter for each unit of length into the drum, by least squares.")),
            "barrel": _length("How far the tracks between are wider than the line through the ends, at most."),
            "least_finished_diameter": _length("The least diameter at which no place is left uncut, rounded up."),
            **words_said(),
        },
    )


def _track() -> Schema:
    return thing(
        "One track of a drum.",
        {
            "mean_diameter": _length("The mean of its diameters."),
            "out_of_round": _length("Greatest less least diameter."),
            "runout": _length("The total indicator reading of its trace."),
            "eccentricity": or_null(
                ref("Wobble", "Half the runout that goes once around, and where the bore is widest.")
            ),
            "residual": _length("The range of its trace without what goes once around."),
        },
    )

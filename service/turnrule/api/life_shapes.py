"""The shapes of what a request gives for the life that is left: earlier readings, the size when new, services."""

from __future__ import annotations

from turnrule.api.bounds import Sized, Within
from turnrule.api.fields import Choice, ExactDecimal, IsoDate
from turnrule.api.limit_shapes import size
from turnrule.api.shapes import Inner, ListOf, Shape

LARGEST_ODOMETER = 10_000_000
MOST_SERVICES = 100

DISTANCE_UNITS = ("km", "mi")


class Distance(Shape):
    """A distance with its own unit."""

    value = ExactDecimal(
        required=True, bounds=Within(least=0, most=LARGEST_ODOMETER), metadata={"description": "The distance."}
    )
    unit = Choice(DISTANCE_UNITS, required=True, metadata={"description": "Kilometres or miles."})


class Stretch(Shape):
    """A distance of some length with its own unit."""

    value = ExactDecimal(
        required=True, bounds=Within(above=0, most=LARGEST_ODOMETER), metadata={"description": "The distance."}
    )
    unit = Choice(DISTANCE_UNITS, required=True, metadata={"description": "Kilometres or miles."})


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


class RotorNew(Shape):
    """The rotor when it was new."""

    thickness = size("The thickness when it was new.", required=True)
    odometer = Inner(Distance, required=True, metadata={"description": "What the odometer showed then."})


class DrumNew(Shape):
    """The drum when it was new."""

    diameter = size("The diameter when it was new.", required=True)
    odometer = Inner(Distance, required=True, metadata={"description": "What the odometer showed then."})


class ServicesShape(Shape):
    """When the vehicle is serviced: every so far, or at odometers that are listed."""

    interval = Inner(Stretch, metadata={"description": "The distance from one service to the next."})
    last = Inner(
        Distance,
        metadata={"description": "The odometer of the last service; round multiples of the interval where left out."},
    )
    at = ListOf(
        Inner(Distance),
        Sized(least=1, most=MOST_SERVICES),
        metadata={"description": "The odometers of the services, in place of an interval."},
    )

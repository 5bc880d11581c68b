"""The shapes of what a part is like beside its size, and of the finish of its faces."""

from __future__ import annotations

from turnrule.api.bounds import Within
from turnrule.api.fields import Choice, ExactDecimal
from turnrule.api.limit_shapes import LARGEST_FORM, form, size
from turnrule.api.shapes import Shape

ROUGHNESS_UNITS = ("um", "uin")


class Roughness(Shape):
    """A surface roughness Ra with its own unit."""

    value = form("The roughness Ra.", required=True)
    unit = Choice(ROUGHNESS_UNITS, required=True, metadata={"description": "Micrometres or microinches."})


class RotorDimensions(Shape):
    """The friction ring of a rotor."""

    outer_diameter = size("The outer diameter of the friction ring.", required=True)
    inner_diameter = size("Its inner diameter.", required=True)
    air_gap = form("The gap between the cheeks of a vented one; 0, a solid one, where left out.")


class DrumDimensions(Shape):
    """The wall of a drum."""

    width = size("The width of the friction face.", required=True)
    outer_diameter = size("The outer diameter of the wall; without it, nothing is told of heat.")


class WantedRoughness(Roughness):
    """The roughness Ra that the finished face is to have, with its own unit."""

    value = ExactDecimal(
        Within(above=0, most=LARGEST_FORM), required=True, metadata={"description": "The roughness Ra, at most."}
    )

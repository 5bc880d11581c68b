"""The names that the figures of limits have in every document: one table for each kind of part."""

from __future__ import annotations

from typing import NamedTuple

from turnrule.judging.words import Kind


class FigureNames(NamedTuple):
    """The names that the figures of `LimitSet` have in documents about one kind of part."""

    nominal: str
    machining: str
    discard: str
    maximum_lateral_runout: str | None
    maximum_thickness_variation: str | None
    maximum_out_of_round: str | None
    maximum_taper: str


ROTOR_NAMES = FigureNames(
    "nominal_thickness",
    "minimum_machining_thickness",
    "discard_thickness",
    "maximum_lateral_runout",
    "maximum_thickness_variation",
    None,
    "maximum_taper",
)
DRUM_NAMES = FigureNames(
    "nominal_diameter",
    "maximum_machining_diameter",
    "discard_diameter",
    None,
    None,
    "maximum_out_of_round",
    "maximum_taper",
)


def names_for(kind: Kind) -> FigureNames:
    """The names of the figures of this kind of part."""
    return ROTOR_NAMES if kind is Kind.ROTOR else DRUM_NAMES


SIZES = 3
"""The first so many names are sizes, thicknesses or diameters; the others are limits of form."""

"""What good practice allows on a part by its build; the figures stand in the catalogue and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.lathe_job import PracticeFigures
from turnrule.judging.words import Construction

INTERRUPTED_DEPTH = "interrupted_cut_depth_greatest"
INTERRUPTED_SPEED = "interrupted_cut_speed_greatest"
COMPOSITE_DEPTH = "composite_cut_depth_greatest"
COMPOSITE_SPEED = "composite_cut_speed_greatest"
IRON_DENSITY = "grey_iron_density"

_INTERRUPTED = (INTERRUPTED_DEPTH, INTERRUPTED_SPEED, "drilled_or_slotted_part")
_FIGURES = MappingProxyType(
    {
        Construction.DRILLED: _INTERRUPTED,
        Construction.SLOTTED: _INTERRUPTED,
        Construction.COMPOSITE: (COMPOSITE_DEPTH, COMPOSITE_SPEED, "composite_part"),
    }
)
"""Build to the codes of the greatest depth of a pass, the greatest speed, and the caution."""


def figures_for(built: Iterable[Construction | None], catalogue: Catalogue) -> PracticeFigures:
    """What a part of these builds allows: the strictest where more than one is told of it."""
    told = list(dict.fromkeys(_FIGURES[one] for one in built if one is not None and one in _FIGURES))
    if not told:
        return PracticeFigures()
    book = catalogue.practice
    return PracticeFigures(
        greatest_depth=min(book[depth].value for depth, _, _ in told),
        greatest_speed=min(book[speed].value for _, speed, _ in told),
        cautions=tuple(caution for _, _, caution in told),
    )

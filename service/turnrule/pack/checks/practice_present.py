"""The figures of practice that the engine goes by are in the catalogue, each in its unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from turnrule.judging.checks import FINISH_FIGURE
from turnrule.judging.lathe_practice import (
    COMPOSITE_DEPTH,
    COMPOSITE_SPEED,
    INTERRUPTED_DEPTH,
    INTERRUPTED_SPEED,
    IRON_DENSITY,
)
from turnrule.judging.setup_check import (
    ANGLE_FIGURE,
    COVERED_FIGURE,
    GREATEST_PASS_FIGURE,
    LEAST_PASS_FIGURE,
    MOUNT_FIGURE,
)
from turnrule.pack.model import Pack

_LENGTH, _ANGLE = ("mm", "um or mm"), ("deg", "deg")
_SPEED, _DENSITY = ("rev/min", "rev/min"), ("kg/m3", "kg/m3")
NEEDED: Mapping[str, tuple[tuple[str, str], str]] = MappingProxyType(
    {
        FINISH_FIGURE: (_LENGTH, "finished parts"),
        MOUNT_FIGURE: (_LENGTH, "checks of a set-up"),
        ANGLE_FIGURE: (_ANGLE, "checks of a set-up"),
        COVERED_FIGURE: (_ANGLE, "checks of a set-up"),
        LEAST_PASS_FIGURE: (_LENGTH, "checks of a set-up"),
        GREATEST_PASS_FIGURE: (_LENGTH, "checks of a set-up"),
        INTERRUPTED_DEPTH: (_LENGTH, "passes at the lathe"),
        INTERRUPTED_SPEED: (_SPEED, "passes at the lathe"),
        COMPOSITE_DEPTH: (_LENGTH, "passes at the lathe"),
        COMPOSITE_SPEED: (_SPEED, "passes at the lathe"),
        IRON_DENSITY: (_DENSITY, "the heat of a cut part"),
    }
)
"""Code to the unit that it is kept in, as the engine and as a person calls it, and what it is needed for."""


def faults(pack: Pack) -> Iterator[str]:
    """Missing figures, those of another unit, and depths of a pass that run backwards."""
    book = pack.catalogue.practice
    for code, ((kept, unit), purpose) in NEEDED.items():
        figure = book.get(code)
        if figure is None:
            yield f"practice.json: {code!r} is needed for {purpose}; add it"
        elif figure.unit != kept:
            yield f"practice.json: {code!r} must be given in {unit}, not {figure.unit}"
        elif figure.value <= 0:
            yield f"practice.json: {code!r} must be more than 0, not {figure.value:f}"
    least, greatest = book.get(LEAST_PASS_FIGURE), book.get(GREATEST_PASS_FIGURE)
    if least is not None and greatest is not None and least.value > greatest.value:
        yield f"practice.json: {LEAST_PASS_FIGURE!r} is more than {GREATEST_PASS_FIGURE!r}; check both"

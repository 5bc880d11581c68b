"""The gauge and the metal taken, as answers tell them: what was taken of either, and where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_CEILING, Decimal

from turnrule.actions.numbers import Lengths
from turnrule.judging.parts import BeforeMachining
from turnrule.judging.verdict import Gauge, MetalTaken
from turnrule.judging.words import Face

Json = dict[str, object]


def metal_document(metal: MetalTaken | None, length: Lengths, *, rotor: bool) -> Json | None:
    """What is known of the metal taken; null where the request told of neither the cut nor the verdict before."""
    if metal is None:
        return None
    return {
        "cut_made": None if metal.depths is None else _depths(metal.depths, length),
        "told": length(metal.told),
        "before": _before(metal.before, length, rotor=rotor),
        f"by_{'least_thickness' if rotor else 'greatest_diameter'}": length(metal.by_least),
        f"by_mean_{'thickness' if rotor else 'diameter'}": length(metal.by_mean),
        "truing": length(metal.truing),
        "expanded_uncertainty": length(metal.both, ROUND_CEILING),
        "agrees": metal.agrees,
        "grew": metal.grew,
    }


def _depths(depths: Mapping[Face, Decimal], length: Lengths) -> Json:
    return {face.value: length(depth, ROUND_CEILING) for face, depth in depths.items()}


def _before(before: BeforeMachining | None, length: Lengths, *, rotor: bool) -> Json | None:
    """The figures that were taken from the verdict before machining, and which verdict that was."""
    if before is None:
        return None
    worst, size = ("least", "thickness") if rotor else ("greatest", "diameter")
    return {
        "id": before.id,
        "digest": before.digest,
        "verdict": before.ruling,
        f"{worst}_{size}": length(before.worst),
        f"mean_{size}": length(before.mean),
        f"clean_up_{size}": length(before.clean_up),
        "guard_band": length(before.expanded, ROUND_CEILING),
    }


def gauge_document(gauge: Gauge, length: Lengths) -> Json:
    """The figures that the gauge was taken with, each with who states it."""
    figures = {
        "resolution": gauge.resolution,
        "expanded_uncertainty": gauge.expanded_uncertainty,
        "repeatability": gauge.repeatability,
    }
    return {
        name: {"value": length(value, ROUND_CEILING), "origin": "request" if name in gauge.stated else "policy"}
        for name, value in figures.items()
    }

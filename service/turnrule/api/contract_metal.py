"""The schemas of the gauge as it was taken, and of the metal that a finished part was cut by."""

from __future__ import annotations

from turnrule.api.contract_parts import DIGEST, VERDICT_ID, Schema, number, or_null, ref, text, thing, truth, words
from turnrule.judging.words import Ruling


def metal_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "InstrumentTaken": _gauge(),
        "RotorCutMadeTold": _depths({"inboard": "the inboard face", "outboard": "the outboard face"}),
        "DrumCutMadeTold": _depths({"depth": "the radius; it counts twice on the diameter"}),
        "RotorBeforeMachining": _before("least", "thickness"),
        "DrumBeforeMachining": _before("greatest", "diameter"),
        "RotorMetalTaken": _metal("Rotor", "least", "thickness"),
        "DrumMetalTaken": _metal("Drum", "greatest", "diameter"),
    }


def _gauge() -> Schema:
    figure = thing(
        "A figure of the gauge.",
        {
            "value": number("Its value.", minimum=0),
            "origin": {"enum": ["request", "policy"], "type": "string", "description": "Who states it."},
        },
    )
    return thing(
        "The gauge as it was taken: what the request states, and the policy's figure where it is silent.",
        {
            "resolution": {**figure, "description": "One digital step."},
            "expanded_uncertainty": {**figure, "description": "The expanded uncertainty of its calibration, k = 2."},
            "repeatability": {**figure, "description": "The standard deviation of repeated readings."},
        },
    )


def _depths(faces: dict[str, str]) -> Schema:
    return thing(
        "The cut that was made, as the request tells it.",
        {face: number(f"Depth taken off {place}.", minimum=0) for face, place in faces.items()},
    )


def _before(worst: str, size: str) -> Schema:
    return thing(
        "What the verdict before machining found, in the unit of this answer.",
        {
            "id": text("That verdict's id.", pattern=VERDICT_ID),
            "digest": text("That verdict's digest.", pattern=DIGEST),
            "verdict": words(Ruling, "What it said."),
            f"{worst}_{size}": or_null(number(f"The {worst} {size} then.")),
            f"mean_{size}": or_null(number(f"The mean {size} then.")),
            f"clean_up_{size}": or_null(number(f"The {size} that would be left once the part just ran true.")),
            "guard_band": number("The expanded uncertainty (k = 2) of the gauge then.", minimum=0),
        },
    )


def _metal(kind: str, worst: str, size: str) -> Schema:
    change = "lost" if kind == "Rotor" else "gained"
    return thing(
        "The metal that a finished part was cut by: as told, and by the readings before and after machining.",
        {
            "cut_made": or_null(ref(f"{kind}CutMadeTold", "Null where the request does not tell it.")),
            "told": or_null(number(f"The {size} {change} by the cut that was made.", minimum=0)),
            "before": or_null(ref(f"{kind}BeforeMachining", "Null where the request names none.")),
            f"by_{worst}_{size}": or_null(number(f"The {worst} {size} {change}, by both readings.")),
            f"by_mean_{size}": or_null(number(f"The mean {size} {change}, by both readings.")),
            "truing": or_null(number("What truing the part cost besides the cut, by the verdict before.", minimum=0)),
            "expanded_uncertainty": or_null(number("Both gauges' expanded uncertainty together.", minimum=0)),
            "agrees": or_null(truth("Whether the readings agree with the cut that was made.")),
            "grew": or_null(truth("Whether the part has more metal than before, beyond both gauges.")),
        },
    )

"""The schemas of the life that is left in a part, as a verdict answers it."""

from __future__ import annotations

from turnrule.api.contract_parts import (
    Schema,
    day,
    number,
    or_null,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.planning_words import DoubtReason, Untold


def life_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "RotorLife": _life("thickness"),
        "DrumLife": _life("diameter"),
        "RotorReadingOfLife": _reading("thickness", "Least thickness"),
        "DrumReadingOfLife": _reading("diameter", "Greatest diameter"),
        "ServicesReached": _services(),
        "OdometerInKm": thing(
            "What an odometer shows.", {"value": number("Kilometres.", minimum=0), "unit": text("km", const="km")}
        ),
    }


def _life(size: str) -> Schema:
    kind = "Rotor" if size == "thickness" else "Drum"
    wear = "Wear over 1,000 km"
    return thing(
        "The life that is left, from the readings that lie on one line of wear; what is null is explained in untold.",
        {
            "wear_per_1000_km": or_null(number(f"{wear}, by least squares.")),
            "wear_per_1000_km_at_most": or_null(number(f"{wear}, its one-sided 95 % upper bound, by Student's t.")),
            "remaining_distance": or_null(ref("RemainingDistance", "Distance left at that wear.")),
            "remaining_distance_at_least": or_null(
                ref("RemainingDistance", "Its one-sided 95 % lower bound. A policy's least distance is not held to it.")
            ),
            f"counted_from_{size}": or_null(
                number("The size that the distance counts from: after the cut where one is needed, else today's.")
            ),
            "readings_used": whole("How many readings were fitted.", minimum=0),
            "disputed": truth(
                "Whether today's reading contradicts an earlier one; a policy's least distance is not assessed then."
            ),
            "history": several(
                ref(f"{kind}ReadingOfLife"), "Every reading, used or left out; today's last, where one was taken."
            ),
            "untold": several(words(Untold, "Why a figure is not told."), "Why figures are null."),
            "services": or_null(ref("ServicesReached", "The services reached; null where none were given.")),
            "services_surely": or_null(ref("ServicesReached", "Those that the lower bound reaches.")),
        },
    )


def _reading(size: str, description: str) -> Schema:
    return thing(
        "One reading of the part.",
        {
            "origin": text("request, today, or the id of the stored verdict that it was drawn from."),
            size: number(f"{description} then."),
            "odometer": ref("OdometerInKm"),
            "date": or_null(day("The day of the reading, where it is known.")),
            "left_out": or_null(
                words(
                    DoubtReason,
                    "Why it is not fitted: it shows the part growing, it is of an earlier part, or a machining lies "
                    "between it and the readings that are fitted. Null where it is fitted.",
                )
            ),
            "against": several(whole("A place in this list, from 0.", minimum=0), "The readings that it contradicts."),
        },
    )


def _services() -> Schema:
    odometer = or_null(ref("OdometerInKm"))
    return thing(
        "The services ahead that the part reaches, by the odometer.",
        {
            "count": whole("How many are reached.", minimum=0),
            "next_reached": odometer,
            "last_reached": odometer,
            "first_missed": odometer,
        },
    )

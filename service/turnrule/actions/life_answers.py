"""The life that is left as answers tell it: rate and distance with their bounds, every reading, the services."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from turnrule.actions.numbers import Lengths, number
from turnrule.judging.doubts import Doubt
from turnrule.judging.part_life import PartLife
from turnrule.judging.parts import EarlierReading
from turnrule.judging.services import Reach

Json = dict[str, object]


def life_document(part: PartLife | None, length: Lengths, *, rotor: bool) -> Json | None:
    """The life of a part; the bounds are rounded to their safe side."""
    if part is None:
        return None
    life, size = part.life, "thickness" if rotor else "diameter"
    doubts = {doubt.place: doubt for doubt in life.doubts}
    last = len(part.readings) - 1 if part.today else None
    return {
        "wear_per_1000_km": length(life.rate.per_1000_km if life.rate else None),
        "wear_per_1000_km_at_most": length(life.rate.at_most_per_1000_km if life.rate else None, ROUND_CEILING),
        "remaining_distance": kilometres(life.left_km),
        "remaining_distance_at_least": kilometres(life.at_least_km),
        f"counted_from_{size}": length(part.counted_from),
        "readings_used": len(part.readings) - len(doubts),
        "disputed": part.disputed,
        "history": [
            _reading(one, doubts.get(place), "today" if place == last else one.verdict or "request", size, length)
            for place, one in enumerate(part.readings)
        ],
        "untold": list(life.untold),
        "services": _reach(part.reached),
        "services_surely": _reach(part.surely_reached),
    }


def kilometres(distance: Decimal | None) -> Json | None:
    """A distance in km."""
    return None if distance is None else {"value": number(distance), "unit": "km"}


def _reading(one: EarlierReading, doubt: Doubt | None, origin: str, size: str, length: Lengths) -> Json:
    return {
        "origin": origin,
        size: length(one.size),
        "odometer": kilometres(one.odometer_km),
        "date": one.read_on,
        "left_out": None if doubt is None else doubt.reason,
        "against": [] if doubt is None else list(doubt.against),
    }


def _reach(reach: Reach | None) -> Json | None:
    if reach is None:
        return None
    return {
        "count": reach.count,
        "next_reached": kilometres(reach.next_reached),
        "last_reached": kilometres(reach.last_reached),
        "first_missed": kilometres(reach.first_missed),
    }

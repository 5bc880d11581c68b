"""An invented fleet of any size: limits and requests that depend on a number alone, so that any run can be had again.

Every vehicle has a front and a rear axle and two runs of model years, and each of the four has a record of its own.
No maker, model or figure is taken from anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Any

Body = dict[str, Any]

RECORDS_PER_VEHICLE = 4
MODELS_PER_MAKE = 500
FIRST_YEARS = (2004, 2014)
YEARS = 10
PUBLISHER = "Fleet bench press"
_HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Figures:
    """The sizes of one record in mm: as made, after machining, and at the end."""

    rotor: bool
    nominal: Decimal
    machining: Decimal
    discard: Decimal


def figures(number: int) -> Figures:
    """The sizes of a record: rotors in front, drums behind on every other vehicle."""
    vehicle, place = divmod(number, RECORDS_PER_VEHICLE)
    rotor = place % 2 == 0 or vehicle % 2 == 0
    if rotor:
        nominal = Decimal(22 + vehicle % 17) + Decimal(place) / 2
        return Figures(rotor, nominal, nominal - Decimal("1.4"), nominal - 2)
    nominal = Decimal(200 + 5 * (vehicle % 23) + place)
    return Figures(rotor, nominal, nominal + Decimal("1.5"), nominal + 2)


def vehicle_of(number: int) -> Body:
    """The make, model and axle that a record is for."""
    vehicle, place = divmod(number, RECORDS_PER_VEHICLE)
    make, model = divmod(vehicle, MODELS_PER_MAKE)
    return {"make": f"Marque {make:04d}", "model": f"Type {model:03d}", "axle": ("front", "rear")[place % 2]}


def first_year(number: int) -> int:
    """The first of the model years that a record is for."""
    return FIRST_YEARS[number % RECORDS_PER_VEHICLE // 2]


def limits_id(number: int) -> str:
    """The id that a file gives a record."""
    return f"bench-{number:08d}"


def limits_body(number: int) -> Body:
    """A limits body in the contract's names, its numbers exact."""
    sizes, year = figures(number), first_year(number)
    body: Body = {
        "unit": "mm",
        "kind": "rotor" if sizes.rotor else "drum",
        "application": {**vehicle_of(number), "year_from": year, "year_to": year + YEARS - 1},
        "machining": "permitted",
        "construction": "vented" if sizes.rotor else "cast",
        "source": {
            "document": f"Service data {number // RECORDS_PER_VEHICLE:06d}",
            "publisher": PUBLISHER,
            "section": f"table {number % RECORDS_PER_VEHICLE + 1}",
            "edition": "2024-01",
            "issued": "2024-01-15",
        },
        "effective_from": f"{year}-01-01",
    }
    if sizes.rotor:
        return body | {
            "nominal_thickness": sizes.nominal,
            "minimum_machining_thickness": sizes.machining,
            "discard_thickness": sizes.discard,
            "maximum_lateral_runout": Decimal("0.05"),
            "maximum_thickness_variation": Decimal("0.015"),
        }
    return body | {
        "nominal_diameter": sizes.nominal,
        "maximum_machining_diameter": sizes.machining,
        "discard_diameter": sizes.discard,
        "maximum_out_of_round": Decimal("0.15"),
    }


def application(number: int, year: int | None = None) -> Body:
    """The application of a request about a vehicle that a record is for."""
    return {**vehicle_of(number), "year": first_year(number) + 3 if year is None else year}


def request_body(number: int, chance: Random) -> Body:
    """A request about a part that a record is for, worn anywhere from nothing to a little past its end."""
    sizes = figures(number)
    worn = Decimal(chance.randint(0, 230)) * _HUNDREDTH
    centre = sizes.nominal - worn if sizes.rotor else sizes.nominal + worn
    track = [centre + Decimal(chance.randint(-1, 1)) * _HUNDREDTH for _ in range(8)]
    body: Body = {
        "unit": "mm",
        "kind": "rotor" if sizes.rotor else "drum",
        "application": application(number),
        "side": chance.choice(("left", "right")),
        "vehicle": {"label": f"unit {chance.randint(1, 9999)}"},
        "reference": f"job {chance.randint(1, 99_999)}",
    }
    runout = Decimal(chance.choice((2, 3, 4, 6, 8))) * _HUNDREDTH
    if sizes.rotor:
        return body | {"thickness": track, "lateral_runout": runout}
    return body | {"diameter": track, "setup_runout": runout}

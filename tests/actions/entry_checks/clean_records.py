"""Invented limits records as service data would hold them: small cars to heavy trucks, both units, many habits.

Odd records are among them on purpose, about as rare as in real data. No vehicle here is a real one.
"""

from __future__ import annotations

import datetime
import random
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from tests.actions.entry_checks.clean_habits import FLEETS, PARKING, D, Drums, Fleet, Rotors, Weight

Body = dict[str, Any]

MAKES = ("Corvane", "Dravender", "Halmering", "Isvalt", "Tarrovik")
NEWEST_YEAR = 2026
_PER_INCH = D("25.4")


def clean_bodies(seed: int, count: int) -> list[Body]:
    """So many limits bodies in the contract's JSON, numbers as decimals with the digits printed; none overlap."""
    chance = random.Random(seed)
    bodies: list[Body] = []
    number = 100
    while len(bodies) < count:
        number += 1
        fleet = chance.choices(FLEETS, [fleet.share for fleet in FLEETS])[0]
        bodies.extend(_vehicle(chance, fleet, f"Type {number}"))
    return bodies[:count]


def _vehicle(chance: random.Random, fleet: Fleet, model: str) -> list[Body]:
    """All records of one or two series of a vehicle."""
    make = chance.choice(MAKES)
    inches = chance.random() < 0.3
    year = chance.randint(1988, 2023)
    bodies = []
    for _ in range(chance.choice((1, 1, 2))):
        last = min(year + chance.randint(*fleet.years), NEWEST_YEAR)
        ends = chance.random() < 0.85 or last < 2015
        fits: Body = {"make": make, "model": model, "year_from": D(year)}
        fits |= {"year_to": D(last)} if ends else {}
        beside = _beside(chance, year, model)
        for axle, figures in _axles(chance, fleet, inches=inches):
            bodies.append({**figures, "application": {**fits, "axle": axle}, **beside})
        year = last + 1
        if not ends or year > NEWEST_YEAR - 1:
            break
    return bodies


def _axles(chance: random.Random, fleet: Fleet, *, inches: bool) -> list[tuple[str, Body]]:
    behind = fleet.rear_drum if chance.random() < fleet.drum_share else fleet.rear
    front = fleet.rear_drum if fleet.more_axles and behind is fleet.rear_drum and chance.random() < 0.5 else fleet.front
    axles = [("front", _part(chance, front, "drum", inches=inches))]
    axles.append(("rear", _part(chance, behind, "drum", inches=inches)))
    if fleet.more_axles and chance.random() < 0.4:
        axles.append(("third", _part(chance, behind, "drum", inches=inches)))
    if isinstance(behind, Rotors) and chance.random() < 0.4:
        axles.append(("rear", _part(chance, PARKING, "parking_drum", inches=inches)))
    return axles


def _part(chance: random.Random, habits: Rotors | Drums, kind: str, *, inches: bool) -> Body:
    body = (
        _rotor(chance, habits, inches=inches)
        if isinstance(habits, Rotors)
        else _drum(chance, habits, kind, inches=inches)
    )
    if chance.random() < 0.1:
        body.pop("nominal_thickness", None)
        body.pop("nominal_diameter", None)
    if chance.random() < 0.1:
        body.pop("construction", None)
    if chance.random() < 0.25:
        body["also"] = twin_of(body)
    return body


def _rotor(chance: random.Random, habits: Rotors, *, inches: bool) -> Body:
    vented = chance.random() < habits.vented_share
    nominal = (habits.vented if vented else habits.solid).draw(chance)
    wear = habits.wear.draw(chance)
    wear = min(wear, D(2) if nominal < 10 else D(3) if nominal < 17 else wear)
    discard = nominal - wear
    machining: Decimal | None = discard + min(habits.reserve.draw(chance), _most_reserve(wear))
    runout, variation = habits.runout.draw(chance), habits.variation.draw(chance)
    if chance.random() < 0.005:
        runout, variation = D("0.1"), D("0.13")
    if inches:
        nominal = _inches(nominal, 3)
        discard = _inches(discard, 3)
        if chance.random() < 0.6:
            discard = nominal - D("0.075") if nominal > D("0.6") else nominal - D("0.06")
            machining = discard + D(chance.choice(("0.015", "0.015", "0.015", "0.03")))
        else:
            machining = _inches(machining or discard, 3)
        runout, variation = _inches(runout, 3) or D("0.001"), _inches(variation, 4)
    body: Body = {"unit": "in" if inches else "mm", "kind": "rotor"}
    body |= {"nominal_thickness": nominal, "minimum_machining_thickness": machining, "discard_thickness": discard}
    forms = {"maximum_lateral_runout": (runout, 0.9), "maximum_thickness_variation": (variation, 0.75)}
    body |= {name: value for name, (value, share) in forms.items() if chance.random() < share}
    if chance.random() < 0.12:
        taper = Weight("0.03 0.05 0.06 0.08 0.1").draw(chance)
        body["maximum_taper"] = _inches(taper, 3) if inches else taper
    body["construction"] = "vented" if vented else "solid"
    if chance.random() < 0.12:
        body["construction"] = chance.choice(("drilled", "slotted", "coated", "coated", "composite"))
    return _told(chance, body, "minimum_machining_thickness", "discard_thickness", inches=inches)


def _drum(chance: random.Random, habits: Drums, kind: str, *, inches: bool) -> Body:
    nominal, wear, reserve = habits.nominal.draw(chance), habits.wear.draw(chance), habits.reserve.draw(chance)
    out_of_round, taper = habits.out_of_round.draw(chance), habits.taper.draw(chance)
    discard = nominal + wear
    machining = discard - min(reserve, _most_reserve(wear))
    if inches:
        nominal = habits.inches.draw(chance)
        heavy, parking = nominal > 14, kind == "parking_drum"
        most = D("0.12") if heavy else D("0.04") if parking else D("0.09")
        discard = nominal + (most if chance.random() < 0.8 else _inches(wear, 3))
        machining = discard - min(D("0.04") if heavy else D("0.01") if parking else D("0.03"), (discard - nominal) / 2)
        out_of_round, taper = _inches(out_of_round, 3), _inches(taper, 3)
    body: Body = {"unit": "in" if inches else "mm", "kind": kind}
    body |= {"nominal_diameter": nominal, "maximum_machining_diameter": machining, "discard_diameter": discard}
    body |= {"maximum_out_of_round": out_of_round} if chance.random() < 0.8 else {}
    body |= {"maximum_taper": taper} if chance.random() < 0.4 else {}
    body["construction"] = "cast" if chance.random() < 0.97 else "composite"
    return _told(chance, body, "maximum_machining_diameter", "discard_diameter", inches=inches)


def _most_reserve(wear: Decimal) -> Decimal:
    """No document keeps much more than half of what may wear away in reserve: nothing could ever be machined."""
    return _rounded(wear * D("0.6"), 1)


def _told(chance: random.Random, body: Body, machining: str, discard: str, *, inches: bool) -> Body:
    """What the document says of machining, what it leaves out, and how many digits it prints."""
    said = chance.random()
    if said < 0.2:
        del body[machining]
        body["machining"] = chance.choice(("prohibited", "not_stated", "not_stated"))
    else:
        body["machining"] = chance.choices(("permitted", "not_stated", "on_vehicle_only"), (75, 17, 8))[0]
        if said > 0.98:
            del body[discard]
    if body["kind"] != "rotor" and body["machining"] == "on_vehicle_only":
        body["machining"] = "permitted"
    digits = 3 if inches else chance.choice((0, 1, 1, 1, 2))
    for name in [name for name in body if name.endswith(("thickness", "diameter"))]:
        places = max(digits, -int(body[name].normalize().as_tuple().exponent))
        body[name] = body[name].quantize(D(1).scaleb(-places))
    return body


def twin_of(body: Body) -> Body:
    """The same values in the other unit, rounded as documents round them."""
    to_mm = body["unit"] == "in"
    twin: Body = {"unit": "mm" if to_mm else "in"}
    for name, value in body.items():
        if not isinstance(value, Decimal):
            continue
        sized = name.endswith(("thickness", "diameter"))
        twin[name] = _rounded(value * _PER_INCH, 2 if sized else 3) if to_mm else _inches(value, 3 if sized else 4)
    return twin


def _beside(chance: random.Random, year: int, model: str) -> Body:
    """The document, and the days."""
    issued = min(
        datetime.date(year, 1, 1) + datetime.timedelta(days=chance.randint(-300, 1500)), datetime.date(2026, 9, 1)
    )
    edition = chance.choice((f"{issued:%Y-%m}", f"{issued:%Y}", "1", "2", "3", "rev. C"))
    start = datetime.date(year, 1, 1)
    if chance.random() < 0.35:
        start = max(issued, datetime.date(year - 1, 7, 1))
    source = {
        "document": f"{model} {chance.choice(('workshop manual', 'service data', 'repair handbook', 'brake sheet'))}",
        "publisher": chance.choice(MAKES),
        "section": f"{chance.randint(1, 40)}.{chance.randint(1, 9)}, table {chance.randint(1, 12)}",
        "edition": edition,
    }
    beside: Body = {"source": source | ({"issued": issued.isoformat()} if chance.random() < 0.8 else {})}
    beside["effective_from"] = start.isoformat()
    if chance.random() < 0.2:
        beside["review_due"] = start.replace(year=start.year + 10, day=1).isoformat()
    return beside


def _inches(value: Decimal, places: int) -> Decimal:
    return _rounded(value / _PER_INCH, places)


def _rounded(value: Decimal, places: int) -> Decimal:
    return value.quantize(D(1).scaleb(-places), ROUND_HALF_UP)

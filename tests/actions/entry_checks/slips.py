"""The slips that people make when they enter limits, planted into limits bodies one at a time.

Each slip is a function of chance and a body; it gives a changed copy, or None where that slip cannot be made in this
body. Bodies are in the contract's JSON, their numbers decimals with the digits as typed; `written` makes bytes of them.
"""

from __future__ import annotations

import copy
import functools
import random
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import orjson

from tests.actions.entry_checks.clean_records import Body, clean_bodies, twin_of
from turnrule.actions.entry_checks.twin_values import swaps

__all__ = ["SLIPS", "Body", "clean_bodies", "written"]

Slip = Callable[[random.Random, Body], Body | None]

_FIGURES = ("thickness", "diameter", "runout", "variation", "taper", "round")
_AXLES = ("front", "rear", "second", "third")
_ROWS_SEED = 77
"""The other rows of the tables that limits are read from are clean records of their own."""


def written(body: Body) -> bytes:
    """A body as JSON, every number with the digits that it was typed with."""
    return orjson.dumps(body, default=_as_typed)


def _as_typed(value: Any) -> orjson.Fragment:  # noqa: ANN401 - orjson hands over whatever it does not know
    if isinstance(value, Decimal):
        return orjson.Fragment(f"{value:f}")
    raise TypeError(value)


def _names(body: Body) -> list[str]:
    """The figures that a body has, in the order of the columns that they are read from."""
    return [name for name in body if name.endswith(_FIGURES)]


def _typed(body: Body, name: str, text: str) -> Body | None:
    """The body with one figure typed otherwise; None where that is the same number, or 0."""
    value = Decimal(text)
    if value == body[name] or not value:
        return None
    changed = copy.deepcopy(body)
    changed[name] = value
    return changed


def digit(chance: random.Random, body: Body) -> Body | None:
    """One digit is another one."""
    name = chance.choice(_names(body))
    text = f"{body[name]:f}"
    place = chance.choice([place for place, letter in enumerate(text) if letter.isdigit()])
    other = chance.choice([letter for letter in "0123456789" if letter != text[place]])
    return _typed(body, name, text[:place] + other + text[place + 1 :])


def transposition(chance: random.Random, body: Body) -> Body | None:
    """Two neighbouring digits changed places."""
    name = chance.choice(_names(body))
    swapped = list(swaps(f"{body[name]:f}"))
    return _typed(body, name, chance.choice(swapped)) if swapped else None


def dropped_point(chance: random.Random, body: Body) -> Body | None:
    """The decimal point was not typed."""
    pointed = [name for name in _names(body) if "." in f"{body[name]:f}"]
    if not pointed:
        return None
    name = chance.choice(pointed)
    return _typed(body, name, f"{body[name]:f}".replace(".", ""))


def times_ten(chance: random.Random, body: Body) -> Body | None:
    """The decimal point is one place off."""
    name = chance.choice(_names(body))
    factor = chance.choice((Decimal(10), Decimal("0.1")))
    return _typed(body, name, f"{body[name] * factor:f}")


def unit_swap(chance: random.Random, body: Body) -> Body | None:
    """The body states the other unit, or one figure was read in it."""
    other = "in" if body["unit"] == "mm" else "mm"
    if chance.random() < 0.5:
        return copy.deepcopy(body) | {"unit": other}
    name = chance.choice(_names(body))
    places = 4 if other == "in" else 2
    factor = Decimal("25.4") if other == "mm" else 1 / Decimal("25.4")
    return _typed(body, name, f"{(body[name] * factor).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}")


@functools.cache
def _rows() -> tuple[Body, ...]:
    return tuple(clean_bodies(_ROWS_SEED, 400))


def wrong_row(chance: random.Random, body: Body) -> Body | None:
    """One figure, or all of them, was read in the row of another vehicle; in both units, where both are printed."""
    rows = [row for row in _rows() if (row["kind"], row["unit"]) == (body["kind"], body["unit"])]
    row = chance.choice(rows)
    shared = [name for name in _names(body) if name in row and row[name] != body[name]]
    if not shared:
        return None
    return _with(body, {name: row[name] for name in (shared if chance.random() < 0.5 else [chance.choice(shared)])})


def wrong_column(chance: random.Random, body: Body) -> Body | None:
    """One figure was read in the column beside its own; in both units, where both are printed."""
    names = _names(body)
    place = chance.randrange(len(names))
    beside = [names[other] for other in (place - 1, place + 1) if 0 <= other < len(names)]
    differing = [name for name in beside if body[name] != body[names[place]]]
    return _with(body, {names[place]: body[chance.choice(differing)]}) if differing else None


def _with(body: Body, figures: Body) -> Body:
    """A body with other figures, and their twins to match."""
    changed = copy.deepcopy(body) | figures
    if "also" in body:
        changed["also"] = twin_of(changed)
    return changed


def swapped_limits(_chance: random.Random, body: Body) -> Body | None:
    """Discard limit and machining limit stand in each other's place."""
    discard = next((name for name in body if name.startswith("discard_")), None)
    machining = next((name for name in body if "_machining_" in name), None)
    if discard is None or machining is None or body[discard] == body[machining]:
        return None
    return _with(body, {discard: body[machining], machining: body[discard]})


def wrong_year_range(chance: random.Random, body: Body) -> Body | None:
    """A digit of a year is another one, both years changed places, or the years are those of another series."""
    fits = body["application"]
    first, last = int(fits["year_from"]), int(fits.get("year_to", 0))
    way = chance.choice(("digit", "digit", "swapped", "series"))
    years = {"year_from": first} | ({"year_to": last} if last else {})
    if way == "digit":
        name = chance.choice(list(years))
        place = chance.randrange(4)
        text = str(years[name])
        years[name] = int(text[:place] + chance.choice("0123456789") + text[place + 1 :])
    elif way == "swapped":
        years = {"year_from": last, "year_to": first} if last else years
    else:
        away = chance.choice((-1, 1)) * ((last or first + 6) - first + 1)
        years = {name: year + away for name, year in years.items()}
    changed = copy.deepcopy(body)
    changed["application"] |= {name: Decimal(year) for name, year in years.items()}
    return changed if changed["application"] != fits else None


def wrong_axle(chance: random.Random, body: Body) -> Body | None:
    """The limits of one axle are entered for another."""
    mostly = _AXLES[:2] if body["application"]["axle"] in _AXLES[:2] and chance.random() < 0.9 else _AXLES
    changed = copy.deepcopy(body)
    changed["application"]["axle"] = chance.choice([axle for axle in mostly if axle != body["application"]["axle"]])
    return changed


SLIPS: dict[str, Slip] = {
    "digit": digit,
    "transposition": transposition,
    "dropped_point": dropped_point,
    "times_ten": times_ten,
    "unit_swap": unit_swap,
    "wrong_row": wrong_row,
    "wrong_column": wrong_column,
    "swapped_limits": swapped_limits,
    "wrong_year_range": wrong_year_range,
    "wrong_axle": wrong_axle,
}
"""Every kind of slip, by its name."""

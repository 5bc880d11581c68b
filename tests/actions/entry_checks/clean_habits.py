"""What service data mostly print, by classes of vehicles: sizes, allowances, limits of form, each with its frequency.

Sizes, allowances and limits of form follow what is published and what is common: drum +0.060 in to machine and +0.090
in to discard, rotor 0.015 in between the two (TM 9-2320-289-34, pages 7-2 and 7-3); heavy drums +0.080 and +0.120 in
(TM 9-2320-279-34-2, page 11-4; TM 5-3825-225-14&P); runout 0.004 in, variation 0.0005 in and, ten times as much,
0.005 in (TM 9-2320-280-34, page 10-2); the rest is common practice, no source.
"""

from __future__ import annotations

import random
from decimal import Decimal
from typing import NamedTuple

D = Decimal


class Weight(NamedTuple):
    """Values with how often each is met."""

    values: str
    weights: str = ""

    def draw(self, chance: random.Random) -> Decimal:
        """One of the values."""
        values = [D(value) for value in self.values.split()]
        weights = [int(weight) for weight in self.weights.split()] or [1] * len(values)
        return chance.choices(values, weights)[0]


class Rotors(NamedTuple):
    """The habits of rotors on one axle of one class of vehicles; lengths in mm."""

    solid: Weight
    vented: Weight
    vented_share: float
    wear: Weight
    runout: Weight
    variation: Weight
    reserve: Weight


class Drums(NamedTuple):
    """The habits of drums; lengths in mm, and the nominal diameters that are made in inches."""

    nominal: Weight
    inches: Weight
    wear: Weight
    reserve: Weight
    out_of_round: Weight
    taper: Weight


_RESERVE = Weight("0 0.3 0.4 0.5 0.6 0.8 1.0", "4 8 12 20 30 12 8")
_CAR_RUNOUT = Weight("0.02 0.03 0.04 0.05 0.06 0.07 0.08 0.1 0.12 0.13 0.15", "2 6 10 30 10 8 8 14 2 1 2")
_CAR_VARIATION = Weight("0.005 0.008 0.01 0.012 0.013 0.015 0.02 0.025 0.03 0.05", "2 8 28 8 14 20 12 4 3 1")
_TRUCK_VARIATION = Weight("0.015 0.02 0.025 0.03 0.04 0.05", "2 4 6 6 3 1")
_TRUCK_RUNOUT = Weight("0.05 0.08 0.1 0.12 0.15 0.2 0.3 0.5", "6 10 34 4 20 4 1 1")

_SMALL = Rotors(
    Weight("8 9 10 11 12 13", "3 6 8 3 6 3"),
    Weight("17 18 19 20 20.5 21 22 24", "1 6 1 12 2 3 14 6"),
    0.6,
    Weight("1.0 1.2 1.4 1.5 1.6 1.8 2.0 2.4 3.0", "4 2 2 6 5 4 60 2 1"),
    _CAR_RUNOUT,
    _CAR_VARIATION,
    _RESERVE,
)
_LARGE = Rotors(
    Weight("10 11 12 13 14 16", "6 3 8 3 3 4"),
    Weight("22 23 24 25 26 28 29 30 32 34 36", "6 1 10 10 12 14 2 12 6 3 4"),
    0.8,
    Weight("1.4 1.5 1.6 1.8 2.0 2.4 2.5 2.6 3.0 4.0", "2 4 5 4 60 4 3 2 8 1"),
    _CAR_RUNOUT,
    _CAR_VARIATION,
    _RESERVE,
)
_TRUCK = Rotors(
    Weight("16 18"),
    Weight("32 34 36 38 39 40 42 45", "2 4 4 2 3 4 2 12"),
    1.0,
    Weight("2.0 3.0 4.0 5.0 6.0 7.0 8.0", "4 6 3 2 6 2 10"),
    _TRUCK_RUNOUT,
    _TRUCK_VARIATION,
    Weight("0 0.5 0.6 1.0 1.5 1.6 2.0", "2 3 6 8 2 4 6"),
)
_CAR_DRUM = Drums(
    Weight(
        "165 180 200 203 203.2 220 228.6 230 240 250 254 255 260 270 280 295 300", "1 4 8 4 6 4 6 6 1 3 6 1 3 3 4 3 1"
    ),
    Weight("7 7.874 8 9 9.5 10 11 11.15 12 13", "1 1 4 12 3 10 6 2 4 2"),
    Weight("0.8 1.0 1.2 1.3 1.4 1.5 1.8 2.0 2.3 3.0", "1 30 4 3 3 16 2 26 4 1"),
    Weight("0 0.2 0.3 0.4 0.5 0.6", "2 4 10 6 22 4"),
    Weight("0.02 0.03 0.04 0.05 0.06 0.08 0.1 0.12 0.15 0.2 0.25", "1 2 2 8 4 8 20 3 4 1 1"),
    Weight("0.03 0.05 0.06 0.08 0.1 0.12 0.15", "1 4 3 6 6 1 1"),
)
_TRUCK_DRUM = Drums(
    Weight("310 325 360 381 394 400 410 419.1 420", "2 2 4 4 1 4 14 4 8"),
    Weight("12.25 15 16.5 16.51", "1 6 20 1"),
    Weight("2.5 3.0 4.0 5.0 6.0", "2 20 6 2 2"),
    Weight("0 0.5 1.0 1.5 2.0", "1 2 16 2 4"),
    Weight("0.1 0.15 0.2 0.25 0.3 0.38", "3 4 8 12 1 2"),
    Weight("0.1 0.13 0.15 0.2 0.25", "2 1 2 4 8"),
)
PARKING = Drums(
    Weight("150 160 163 168 170 172 178 180 185 190 203 210 254", "1 5 1 4 3 8 3 4 1 8 2 4 1"),
    Weight("6.5 6.77 7.48 8", "1 6 6 2"),
    Weight("0.5 0.8 1.0 1.2 1.3 1.5", "1 2 22 2 2 6"),
    Weight("0.2 0.3 0.5", "6 2 4"),
    Weight("0.03 0.05 0.06 0.08 0.1", "1 10 4 4 4"),
    Weight("0.03 0.05 0.08"),
)


class Fleet(NamedTuple):
    """A class of vehicles: how often, and what sits on which axle."""

    share: int
    front: Rotors | Drums
    rear: Rotors | Drums
    drum_share: float
    rear_drum: Drums
    years: tuple[int, int]
    more_axles: bool = False


FLEETS = (
    Fleet(30, _SMALL, _SMALL._replace(vented_share=0), 0.5, _CAR_DRUM, (2, 9)),
    Fleet(45, _LARGE, _LARGE._replace(vented_share=0.3), 0.15, _CAR_DRUM, (2, 9)),
    Fleet(10, _LARGE, _LARGE._replace(vented_share=0.1), 0.5, _CAR_DRUM, (4, 16)),
    Fleet(15, _TRUCK, _TRUCK, 0.6, _TRUCK_DRUM, (4, 18), more_axles=True),
)

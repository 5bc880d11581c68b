"""Published pairs of inches and millimetres, heat of one stop, and profiles with known harmonics."""

from __future__ import annotations

import math
from decimal import Decimal

from tests.judging.published.sources import Published, Status

ARMY_34 = "TM 9-2320-289-34, p. 7-2 and 7-3"
_PAIRS = (
    ("11.150", "283.21"),
    ("11.210", "284.73"),
    ("11.240", "285.50"),
    ("13.000", "330.20"),
    ("13.060", "331.72"),
    ("13.090", "332.49"),
    ("1.230", "31.24"),
    ("1.215", "30.86"),
    ("1.480", "37.59"),
    ("1.465", "37.21"),
    ("0.0005", "0.0127"),
    ("0.015", "0.381"),
    ("0.080", "2.032"),
    ("0.050", "1.27"),
    ("0.120", "3.05"),
    ("0.090", "2.29"),
)
DUAL_UNIT_PAIRS = tuple(
    (inches, Published(f"{inches} in is {printed} mm", printed, ARMY_34, Status.READ)) for inches, printed in _PAIRS
)
"""Pairs printed in US Army technical manuals; the last four in TM 5-3825-229-14&P and its neighbours."""

PRINTED_SLIPS = (
    ("16.51", Published("16.51 in is not 419.36 mm", "419.36", "TM 9-2320-279-34-2, p. 11-4", Status.READ)),
    ("16.59", Published("16.59 in is not 421.36 mm", "421.36", "TM 9-2320-279-34-2, p. 11-4", Status.READ)),
    ("11.053", Published("11.053 in is not 280.74 mm", "280.74", "TM 10-3930-630-34", Status.READ)),
)
FRACTIONS = (
    ("1/32", Published("1/32 in", "0.79375", "49 CFR 570.59(c); arithmetic", Status.DERIVED)),
    ("1/16", Published("1/16 in", "1.5875", "49 CFR 570.59(c); arithmetic", Status.DERIVED)),
    ("1/8", Published("1/8 in", "3.175", "49 CFR 570.10(b); arithmetic", Status.DERIVED)),
)
HEAT = (
    ("675000", "32", "448", Published("four drums", "47.084", "Serway, ch. 11, problem 24", Status.DERIVED)),
    ("768000", "14", "448", Published("four discs", "122.449", "Holt Physics, ch. 9, problem 32", Status.DERIVED)),
    ("216000", "15", "450", Published("15 kg of iron, 24 m/s", "32", "solve.club", Status.READ)),
    ("198375", "15.0", "450", Published("15 kg of iron, 23 m/s", "29.4", "socratic.org", Status.READ)),
    ("198375", "15.0", "450", Published("15 kg of iron, 23 m/s", "29.389", "socratic.org", Status.DERIVED)),
)
"""Energy (J), mass (kg), specific heat (J/(kg K)), temperature rise (K)."""


def wave(
    count: int,
    *,
    cosine: Decimal = Decimal(0),
    sine: Decimal = Decimal(0),
    twice: Decimal = Decimal(0),
    offset: Decimal = Decimal(0),
) -> tuple[Decimal, ...]:
    """offset + cosine cos + sine sin + twice cos 2, at `count` equal angles, to 1e-12."""
    trace = []
    for index in range(count):
        angle = 2 * math.pi * index / count
        value = float(cosine) * math.cos(angle) + float(sine) * math.sin(angle) + float(twice) * math.cos(2 * angle)
        trace.append(offset + Decimal(value).quantize(Decimal("1E-12")))
    return tuple(trace)

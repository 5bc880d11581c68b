"""Limits as government manuals print them, each with its page; the vehicles' names are invented.

READ: the figures were seen in stored copies of the manuals named.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

D = Decimal


def _body(number: int, kind: str, document: str, section: str, axle: str = "rear", **figures: str) -> dict[str, Any]:
    return {
        "unit": "in",
        "kind": kind,
        "application": {"make": "Dravender", "model": f"Korrum {number}", "year_from": D(1996), "axle": axle},
        **{name: D(value) for name, value in figures.items()},
        "source": {"document": document, "publisher": "Department of the Army", "section": section, "edition": "1"},
        "effective_from": "1996-01-01",
    }


PUBLISHED_RECORDS = [
    _body(
        1,
        "rotor",
        "TM 9-2320-289-34",
        "page 7-2",
        "front",
        minimum_machining_thickness="1.230",
        discard_thickness="1.215",
        maximum_thickness_variation="0.0005",
        maximum_lateral_runout="0.004",
    ),
    _body(
        2,
        "rotor",
        "TM 9-2320-289-34",
        "page 7-2",
        "front",
        minimum_machining_thickness="1.480",
        discard_thickness="1.465",
        maximum_thickness_variation="0.0005",
        maximum_lateral_runout="0.004",
    ),
    _body(
        3,
        "drum",
        "TM 9-2320-289-34",
        "page 7-3",
        nominal_diameter="11.150",
        maximum_machining_diameter="11.210",
        discard_diameter="11.240",
    ),
    _body(
        4,
        "drum",
        "TM 9-2320-289-34",
        "page 7-3",
        nominal_diameter="13.000",
        maximum_machining_diameter="13.060",
        discard_diameter="13.090",
    ),
    _body(
        5,
        "rotor",
        "TM 9-2320-280-34",
        "page 10-2",
        "front",
        discard_thickness="0.81",
        maximum_lateral_runout="0.004",
        maximum_thickness_variation="0.005",
    ),
    _body(6, "rotor", "TM 9-2320-387-24-2", "page 22-2", "front", discard_thickness="0.815"),
    _body(
        7,
        "drum",
        "TM 9-2330-384-14&P",
        "page 5-5",
        maximum_machining_diameter="16.58",
        discard_diameter="16.62",
        maximum_taper="0.010",
        maximum_out_of_round="0.015",
    ),
    _body(
        8,
        "drum",
        "TM 9-2320-279-34-2",
        "page 11-4",
        nominal_diameter="16.51",
        maximum_machining_diameter="16.59",
        maximum_out_of_round="0.003",
    ),
    _body(9, "drum", "TM 9-2330-380-14&P", "section 5-11", nominal_diameter="16.500", discard_diameter="16.625"),
    _body(10, "drum", "TM 9-2330-389-14&P", "page 5-1", maximum_machining_diameter="12.090"),
    _body(
        11,
        "drum",
        "TM 10-3930-630-34",
        "brake drums",
        maximum_machining_diameter="11.053",
        maximum_out_of_round="0.010",
    ),
]

AGREEING_PAIRS = [
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
]
"""Inches and millimetres as printed together (TM 9-2320-289-34 and others), all consistent."""

DISAGREEING_PAIRS = [("16.51", "419.36"), ("16.59", "421.36"), ("11.053", "280.74")]
"""Printed together, and not the same length (TM 9-2320-279-34-2, page 11-4; TM 10-3930-630-34)."""

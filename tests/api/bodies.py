"""Bodies in the contract's names that tests begin from; all vehicles are invented."""

from __future__ import annotations

import copy
import json
from decimal import Decimal
from typing import Any

EXAMPLE = """{
  "unit": "mm",
  "kind": "rotor",
  "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
  "side": "left",
  "stage": "before_machining",
  "thickness": [25.02, 25.01, 25.03, 25.04, 25.03, 25.02, 25.01, 25.02],
  "lateral_runout": 0.07,
  "groove_depth": {"inboard": 0.05, "outboard": 0.08},
  "marking": 24.0,
  "findings": ["heat_checking"],
  "instrument": {"resolution": 0.01, "expanded_uncertainty": 0.004, "calibration_due": "2027-03-01"},
  "cut": {"inboard": 0.10, "outboard": 0.10},
  "policy": "default",
  "vehicle": {"label": "unit 114", "odometer": {"value": 61200, "unit": "km"}}
}"""
"""The request of the contract's own example."""

EXAMPLE_LIMITS = """{
  "unit": "mm",
  "kind": "rotor",
  "application": {
    "make": "Corvane", "model": "Ostrel", "year_from": 2021, "year_to": 2024, "axle": "front", "brake_option": "B16"
  },
  "nominal_thickness": 26.0,
  "minimum_machining_thickness": 24.6,
  "discard_thickness": 24.0,
  "maximum_lateral_runout": 0.05,
  "maximum_thickness_variation": 0.013,
  "machining": "permitted",
  "construction": "vented",
  "source": {
    "document": "Ostrel workshop manual", "publisher": "Corvane", "section": "6.2, table 3", "edition": "2023-04",
    "issued": "2023-04-01"
  },
  "effective_from": "2021-01-01"
}"""
"""The limits body of the contract's own example."""

DRUM = """{
  "unit": "in",
  "kind": "drum",
  "application": {"make": "Harrow", "model": "Tander", "year": 2020, "axle": "rear"},
  "diameter": [9.01, 9.012, 9.011, 9.01],
  "setup_runout": 0.002,
  "groove_depth": 0.004,
  "cut": {"depth": 0.01}
}"""

DRUM_LIMITS = """{
  "unit": "in",
  "kind": "drum",
  "application": {"make": "Harrow", "model": "Tander", "year_from": 2018, "axle": "rear"},
  "nominal_diameter": 9.0,
  "maximum_machining_diameter": 9.06,
  "discard_diameter": 9.09,
  "maximum_out_of_round": 0.004,
  "machining": "permitted",
  "source": {
    "document": "Tander brake data", "publisher": "Harrow", "section": "4.1", "edition": "2", "issued": "2019-05-01"
  },
  "effective_from": "2018-01-01"
}"""


def exact(text: str) -> Any:  # noqa: ANN401 - a document of any shape
    """A document with exact decimals."""
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


def changed(text: str, **changes: object) -> dict[str, Any]:
    """A document with some fields changed; None takes a field out."""
    document: dict[str, Any] = copy.deepcopy(exact(text))
    for name, value in changes.items():
        if value is None:
            document.pop(name, None)
        else:
            document[name] = value
    return document

"""Axles in the contract's names that tests begin from; all vehicles are invented."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from werkzeug.test import TestResponse

from tests.api.bodies import changed
from tests.api.callers import Caller
from turnrule.actions.numbers import write_exact

D = Decimal
AXLE = """{
  "unit": "mm",
  "kind": "rotor",
  "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
  "instrument": {"resolution": 0.01, "expanded_uncertainty": 0.004, "calibration_due": "2027-03-01"},
  "reference": "job 9",
  "vehicle": {"label": "unit 114", "odometer": {"value": 61200, "unit": "km"}},
  "left": {
    "thickness": [25.02, 25.01, 25.03, 25.04, 25.03, 25.02, 25.01, 25.02],
    "lateral_runout": 0.07,
    "groove_depth": {"inboard": 0.05, "outboard": 0.08},
    "marking": 24.0,
    "findings": ["heat_checking"],
    "cut": {"inboard": 0.10, "outboard": 0.10}
  },
  "right": {"thickness": [25.12, 25.12, 25.12, 25.12], "lateral_runout": 0.02}
}"""
"""The left rotor is the one of the contract's own example; the right one is good."""

DRUM_AXLE = """{
  "unit": "in",
  "kind": "drum",
  "application": {"make": "Harrow", "model": "Tander", "year": 2020, "axle": "rear"},
  "left": {
    "diameter": [9.01, 9.012, 9.011, 9.01], "setup_runout": 0.002, "groove_depth": 0.004, "cut": {"depth": 0.01}
  },
  "right": {"diameter": [9.014, 9.013, 9.014, 9.014], "setup_runout": 0}
}"""

GOOD = {"thickness": [D("25.3")] * 4, "lateral_runout": D("0.01")}
WORN = {"thickness": [D("23.8")] * 4, "lateral_runout": D("0.01")}
OPEN = {"thickness": [D("24.002")] * 4, "lateral_runout": D("0.01")}
UNEVEN = {"thickness": [D("25.3"), D("25.3"), D("25.3"), D("25.33")], "lateral_runout": D("0.01")}
"""Rotors that are by themselves serviceable, past their limit, not to be told, and to be machined."""

SHARED = ("unit", "kind", "application", "instrument", "reference", "vehicle", "policy", "limits", "lathe", "stage")


def axle_of(text: str = AXLE, /, **changes: object) -> bytes:
    """The body of an axle with some fields changed; None takes a field out."""
    return write_exact(changed(text, **changes))


def judged(caller: Caller, body: bytes | str = AXLE, **headers: str) -> dict[str, Any]:
    """The answer to an axle that is judged."""
    response = caller.post("/v1/axle-verdicts", body, **headers)
    assert response.status_code == 201, response.get_data(as_text=True)
    answer: dict[str, Any] = response.get_json()
    return answer


def faults(response: TestResponse) -> list[tuple[str, str]]:
    """Pointer and code of every fault of an answer."""
    assert response.status_code == 422, response.get_data(as_text=True)
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]

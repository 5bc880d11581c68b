"""Lathes in the contract's names that tests begin from; they are of no make."""

from __future__ import annotations

BENCH = """{
  "unit": "mm",
  "kind": "bench",
  "least_depth": 0.02,
  "greatest_depth": 0.25,
  "finishing_depth": 0.08,
  "roughing_feed": 0.2,
  "finishing_feeds": [0.05, 0.1, 0.15],
  "speeds": [60, 90, 120, 150],
  "nose_radius": 0.4,
  "surface_speed": {"least": 40, "greatest": 130, "unit": "m/min"},
  "both_faces_at_once": true,
  "note": "An invented lathe."
}"""

INCHES = """{
  "unit": "in",
  "kind": "on_vehicle",
  "least_depth": 0.001,
  "greatest_depth": 0.01,
  "finishing_depth": 0.004,
  "roughing_feed": 0.008,
  "finishing_feeds": {"least": 0.001, "greatest": 0.006},
  "speeds": {"least": 40, "greatest": 160},
  "nose_radius": 0.0156,
  "surface_speed": {"least": 100, "greatest": 400, "unit": "ft/min"},
  "both_faces_at_once": true
}"""

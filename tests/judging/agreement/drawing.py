"""Drawing limits and policies for random cases, with a liking for equal values and near ones.

Lengths are drawn as whole ticks of 0.0000001 of their unit, so that every printed number is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tests.judging.agreement.exact import PM_PER_MM, TICK, as_text, length
from tests.judging.agreement.shapes import InstrumentBody, LimitsBody, PolicyBody, RegulationBody

EFFECTS = {
    "crack": "replace",
    "hard_spot": "machine",
    "pit": "measure",
    "crazing": "caution",
    "old_tool_mark": "caution",
}
DRUMS = ["drum", "parking_drum"]
REGULATIONS: dict[str, RegulationBody] = {
    "oversize_in_use": {"binds": "use", "kinds": DRUMS, "oversize": "2.286"},
    "oversize_turned": {"binds": "machining", "kinds": ["drum"], "oversize": "1.524"},
    "oversize_of_both": {"binds": "both", "kinds": DRUMS, "oversize": "2.032"},
    "marking_is_law": {"binds": "both", "kinds": ["rotor", *DRUMS], "oversize": None},
}
READINGS = [
    "thickness",
    "thickness_inner",
    "thickness_variation",
    "diameter",
    "diameter_inner",
    "out_of_round",
    "taper",
    "lateral_runout",
    "setup_runout",
    "groove_depth",
    "marking",
    "part_temperature_c",
    "surface_roughness",
    "history",
]
DAY = "2026-06-15"
DATES = ("2026-06-14", "2026-06-15", "2026-06-16", "2020-01-01", "2031-12-31")


@dataclass(frozen=True, slots=True)
class Draw:
    """Random choices in one unit; `guard` is the guard band of the case's gauge in whole ticks, once that is drawn."""

    rng: Random
    unit: str
    guard: int = 0

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def near(self, millimetres: float) -> int:
        """Ticks of about so many mm, on a gauge's step: 0.01 mm or 0.0005 in mostly, now and then much finer."""
        ticks = round(millimetres * PM_PER_MM / TICK[self.unit])
        step = (
            self.rng.choice((100_000, 100_000, 10_000, 1)) if self.unit == "mm" else self.rng.choice((5_000, 1_000, 1))
        )
        return max(1, round(ticks / step)) * step

    def between(self, least: float, greatest: float) -> int:
        """Ticks of a length between two given in mm."""
        return self.near(self.rng.uniform(least, greatest))

    def beside(self, ticks: int) -> int:
        """The same, or one least digit to either side."""
        return ticks + self.rng.choice((0, 0, -1, 1))

    def text(self, least: float, greatest: float) -> str:
        return as_text(self.between(least, greatest))


def instrument(draw: Draw) -> InstrumentBody:
    """A gauge that states some of its figures."""
    body: InstrumentBody = {}
    if draw.chance(0.6):
        body["resolution"] = draw.rng.choice(("0.01", "0.001", "0.0005", "0.02"))
    if draw.chance(0.6):
        body["expanded_uncertainty"] = draw.rng.choice(("0", "0.004", "0.0002", "0.03"))
    if draw.chance(0.3):
        body["repeatability"] = draw.rng.choice(("0", "0.002", "0.0123"))
    return body


def limits(draw: Draw, kind: str, size: float, *, whole: float) -> LimitsBody:
    """Limits around a nominal `size` (mm); each field is given with the chance `whole`."""
    rng, body = draw.rng, LimitsBody()
    worn = draw.between(0.4, 2.4)
    wear = rng.choice((0, draw.between(0.0, 1.0), draw.between(0.3, 0.6)))
    nominal = draw.near(size)
    sign = -1 if kind == "rotor" else 1
    ranked = (nominal, nominal + sign * worn, nominal + sign * (worn + wear))
    names = (
        ("nominal_thickness", "minimum_machining_thickness", "discard_thickness")
        if kind == "rotor"
        else ("nominal_diameter", "maximum_machining_diameter", "discard_diameter")
    )
    given = [as_text(ticks) if draw.chance(whole) else None for ticks in ranked]
    form = ("maximum_lateral_runout", "maximum_thickness_variation") if kind == "rotor" else ("maximum_out_of_round",)
    for name, text in zip(names, given, strict=True):
        if text is not None:
            body[name] = text  # type: ignore[literal-required] # one of three keys of the shape
    for name in (*form, "maximum_taper"):
        if draw.chance(whole * 0.8):
            body[name] = draw.text(0.01, 0.15)  # type: ignore[literal-required] # as above
    if draw.chance(0.8):
        body["machining"] = rng.choice(("permitted",) * 6 + ("on_vehicle_only", "prohibited", "not_stated"))
    return body


def record(draw: Draw, kind: str, size: float) -> LimitsBody:
    """A released record, now and then in the other unit."""
    other = {"mm": "in", "in": "mm"}[draw.unit]
    own = Draw(draw.rng, other if draw.chance(0.1) else draw.unit)
    body = limits(own, kind, size, whole=0.92)
    body["unit"] = own.unit
    if draw.chance(0.1):
        body["expansion_per_k"] = draw.rng.choice(("0.0000105", "0.000012", "0.0000099"))
    if draw.chance(0.25):
        body["review_due"] = draw.rng.choice(DATES)
    return body


def marking(draw: Draw, discard: int | None, size: float) -> str:
    """A marking (text in the draw's unit): the record's own discard (pm), 0.05 mm beside it, or about there."""
    if discard is None:
        return draw.text(size * 0.9, size)
    fair = draw.rng.choice((0, 0, 50_000_000, -50_000_000, 300_000_000, -300_000_000))
    return as_text(draw.beside((discard + fair) // TICK[draw.unit]))


def _maxima(draw: Draw, body: PolicyBody) -> None:
    if draw.chance(0.2):
        body["maximum_runout"] = draw.text(0.02, 0.1)
    if draw.chance(0.2):
        body["maximum_thickness_variation"] = draw.text(0.01, 0.05)
    if draw.chance(0.2):
        body["maximum_out_of_round"] = draw.text(0.02, 0.1)
    if draw.chance(0.2):
        body["maximum_taper"] = draw.text(0.02, 0.1)
    if draw.chance(0.2):
        body["groove_limit"] = draw.text(0.05, 0.38)
    if draw.chance(0.3):
        body["minimum_cut"] = draw.text(0.05, 0.2)
    if draw.chance(0.25):
        body["total_cut"] = draw.text(0.1, 1.2)
    if draw.chance(0.25):
        body["face_balance"] = draw.rng.choice(("0", draw.text(0.01, 0.3)))
    if draw.chance(0.3):
        body["remaining_distance"] = {
            "value": str(draw.rng.randrange(0, 60_000, 500)),
            "unit": draw.rng.choice(("km", "mi")),
        }


def _margins(draw: Draw, body: PolicyBody) -> None:
    if draw.chance(0.2):
        body["discard_margin"] = draw.text(0.05, 0.5)
    if draw.chance(0.2):
        body["machining_margin"] = draw.text(0.05, 0.5)
    if draw.chance(0.3):
        body["wear_allowance"] = draw.text(0.05, 1.0)
    if draw.chance(0.5):
        body["derive_machining_limit"] = draw.chance(0.6)


def policy(rng: Random) -> PolicyBody:
    """A policy: about half the time the default, else some of its fields (mm)."""
    draw, body = Draw(rng, "mm"), PolicyBody()
    if draw.chance(0.4):
        return body
    if draw.chance(0.3):
        body["decision_rule"] = rng.choice(("simple", "guarded"))
    if draw.chance(0.2):
        body["instrument"] = instrument(draw)
    if draw.chance(0.3):
        body["minimum_points"] = rng.choice((4, 5, 8))
    if draw.chance(0.15):
        body["require"] = sorted(rng.sample(READINGS, rng.choice((1, 1, 2))))
    if draw.chance(0.3):
        body["findings"] = {rng.choice(list(EFFECTS)): rng.choice(("caution", "measure", "machine", "replace"))}
    if draw.chance(0.4):
        body["regulations"] = rng.sample(list(REGULATIONS), rng.choice((1, 1, 2, 4)))
    if draw.chance(0.3):
        body["limits_review_due"] = rng.choice(("caution", "inconclusive"))
    if draw.chance(0.3):
        body["calibration_overdue"] = rng.choice(("caution", "inconclusive"))
    _margins(draw, body)
    _maxima(draw, body)
    return body


def pm(text: str | None, unit: str) -> int | None:
    """Picometres of a printed length; None stays None."""
    return None if text is None else length(text, unit)

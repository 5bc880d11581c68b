"""Figures that no workshop would give, but that a caller may: enormous cuts, coarse gauges, hardly any wear."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from tests.judging.agreement.shapes import Case

Edit = Callable[[Random, Case], None]


def _enormous_cut(rng: Random, case: Case) -> None:
    depths = [rng.choice(("0", "0.0000001", "7.5", "1234.5678901")) for _ in range(2)]
    cut = case["request"].setdefault("cut", {})
    if case["request"]["kind"] == "rotor":
        cut["inboard"], cut["outboard"] = depths
    else:
        cut["depth"] = depths[0]


def _coarse_gauge(rng: Random, case: Case) -> None:
    gauge = case["request"].setdefault("instrument", {})
    gauge["resolution"] = rng.choice(("0.0000001", "5", "250"))
    gauge["expanded_uncertainty"] = rng.choice(("0", "0.0000001", "12.3456789"))
    gauge["repeatability"] = rng.choice(("0", "0.0000001", "3.1415926"))


def _sizes_far_off(rng: Random, case: Case) -> None:
    request = case["request"]
    size = rng.choice(("0.0000001", "0.1", "99999.9999999"))
    if request["kind"] == "rotor":
        request["thickness"] = [size] * rng.choice((1, 3, 50))
    else:
        request["diameter"] = [size] * rng.choice((1, 3, 50))


def _marking_far_off(rng: Random, case: Case) -> None:
    case["request"]["marking"] = rng.choice(("0.0000001", "1", "5000"))


def _hardly_any_wear(rng: Random, case: Case) -> None:
    request = case["request"]
    sizes = request.get("thickness") or request.get("diameter")
    if sizes:
        was = {"thickness": max(sizes)} if request["kind"] == "rotor" else {"diameter": min(sizes)}
        near = rng.choice(("0", "999999", "999999.999"))
        request["odometer"] = {"value": "1000000", "unit": "mi"}
        request["history"] = [{"odometer": {"value": near, "unit": "mi"}, **was}]  # type: ignore[typeddict-item] # one of two keys


def _wide_policy(rng: Random, case: Case) -> None:
    policy = case["policy"]
    policy["minimum_cut"] = rng.choice(("0", "0.0000001", "40"))
    policy["discard_margin"] = rng.choice(("0", "0.0000001", "100"))
    policy["wear_allowance"] = rng.choice(("0", "0.0000001", "100"))
    policy["minimum_points"] = rng.choice((4, 1000))
    policy["groove_limit"] = rng.choice(("0", "0.0000001", "0.38"))


def _swung_trace(rng: Random, case: Case) -> None:
    request = case["request"]
    if request["kind"] == "rotor":
        count = max(3, len(request.get("thickness", ())))
        request["lateral_runout_trace"] = [rng.choice(("-5", "0", "0.0000001", "12")) for _ in range(count)]


EDITS: tuple[Edit, ...] = (
    _enormous_cut,
    _coarse_gauge,
    _sizes_far_off,
    _marking_far_off,
    _hardly_any_wear,
    _wide_policy,
    _swung_trace,
)


def made_wild(rng: Random, case: Case) -> None:
    """One or two of the case's figures replaced by wild ones."""
    for edit in rng.sample(EDITS, rng.choice((1, 1, 2))):
        edit(rng, case)

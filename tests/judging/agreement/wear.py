"""How fast the part wears and how far it still goes, by least squares in whole numbers."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from tests.judging.agreement.answers import Line
from tests.judging.agreement.exact import KM_IN_UM, distance, length
from tests.judging.agreement.governed import Governed
from tests.judging.agreement.told import Told


@dataclass(frozen=True, slots=True)
class Wear:
    """Loss of size per distance as a fraction: `loss` pm in `way` um; both None where no rate can be had."""

    loss: int | None
    way: int | None
    suspect: bool


def wear_of(told: Told, size: int | None) -> Wear:
    """The least-squares rate over the earlier readings and today's; suspect where the part does not wear."""
    history, odometer = told.request.get("history", []), told.request.get("odometer")
    if not history or odometer is None or size is None:
        return Wear(None, None, suspect=bool(history))
    field = "thickness" if told.rotor else "diameter"
    points = [
        (distance(one["odometer"]["value"], one["odometer"]["unit"]), length(str(one.get(field)), told.unit))
        for one in history
    ]
    points.append((distance(odometer["value"], odometer["unit"]), size))
    n, sum_x, sum_y = len(points), sum(x for x, _ in points), sum(y for _, y in points)
    way = n * sum(x * x for x, _ in points) - sum_x * sum_x
    loss = -told.sign * (n * sum(x * y for x, y in points) - sum_x * sum_y)
    if way <= 0 or loss <= 0:
        return Wear(None, None, suspect=True)
    return Wear(loss, way, suspect=False)


def remaining_km(told: Told, wear: Wear, size: int | None, discard: Governed | None) -> int | None:
    """Whole kilometres until the discard limit, from `size`; none where it is past already."""
    if wear.loss is None or wear.way is None or size is None or discard is None:
        return None
    return max(0, told.sign * (size - discard.value) * wear.way // (wear.loss * KM_IN_UM))


def size_for_distance(told: Told, wear: Wear, discard: Governed | None) -> Fraction | None:
    """The size from which the part still goes the policy's whole kilometres; None where none is asked or none known."""
    asked = told.policy.get("remaining_distance")
    if asked is None or wear.loss is None or wear.way is None or discard is None:
        return None
    kilometres = -(-distance(asked["value"], asked["unit"]) // KM_IN_UM)
    return discard.value + told.sign * Fraction(kilometres * KM_IN_UM * wear.loss, wear.way)


def remaining_line(told: Told, kilometres: int | None) -> tuple[Line, bool]:
    """The policy's least distance, and whether it is asked for but cannot be told."""
    asked = told.policy.get("remaining_distance")
    if asked is None or kilometres is None:
        return Line("remaining_distance", "not_assessed"), asked is not None
    least = distance(asked["value"], asked["unit"])
    outcome = "pass" if kilometres * KM_IN_UM >= least else "fail"
    return Line("remaining_distance", outcome, "remaining_distance", kilometres * KM_IN_UM, least, "policy"), False

"""What a judgement comes to, in one shape for both sides, and how two of them differ."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from fractions import Fraction

PROBABILITY_TOLERANCE = 1e-6
BOUND_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Line:
    """One check. Lengths in pm, distances in km, points as a count; None where the check has no such figure."""

    check: str
    outcome: str
    quantity: str | None = None
    value: int | None = None
    limit: int | None = None
    origin: str | None = None
    guard: int | None = None
    probability: float | None = field(default=None, compare=False)  # held apart, within its rounding


@dataclass(frozen=True, slots=True)
class CutAnswer:
    """The cut that was judged, and the least one that cleans up where the asked one does not (pm by face)."""

    depths: dict[str, int]
    zero: str
    asked: bool
    allowed: bool | None
    cleans_up: bool
    least_cleaning: dict[str, int] | None = None
    least_cleaning_allowed: bool | None = None


Reached = tuple[int, int | None, int | None, int | None]
"""Services: how many are reached, the next and the last of them, the first that is not; odometers in um."""


@dataclass(frozen=True, slots=True)
class LifeAnswer:
    """The life that is left: readings left out (place, reason, against), the rate (pm in a um), distances in km."""

    left_out: tuple[tuple[int, str, tuple[int, ...]], ...]
    untold: tuple[str, ...]
    rate: Fraction | None
    disputed: bool
    counted_from: int | None
    left: int | None
    reached: Reached | None
    at_least: float | None = field(default=None, compare=False)  # held apart, within a kilometre and a hair


@dataclass(frozen=True, slots=True)
class MetalAnswer:
    """The metal that a finished part was cut by: as told and by the two readings (pm); None: not known."""

    told: int | None
    by_worst: int | None = None
    by_mean: int | None = None
    truing: int | None = None
    both: int | None = None
    agrees: bool | None = None
    grew: bool | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """One judgement; lengths in pm. `limits` holds value and origin of each limit that governs, by quantity."""

    verdict: str
    lines: tuple[Line, ...]
    figures: dict[str, int | None]
    limits: dict[str, tuple[int, str] | None]
    cut: CutAnswer | None
    margins: dict[str, int | None]
    room: dict[str, int | None]
    settled_by: tuple[tuple[str, str | None, int | None, int | None], ...]
    cautions: frozenset[str]
    missing: tuple[str, ...]
    life: LifeAnswer | None = None
    metal: MetalAnswer | None = None


def _close(left: float | None, right: float | None) -> bool:
    """True where both are absent, or no further apart than the rounding of the sixth decimal."""
    if left is None or right is None:
        return left is right
    return abs(left - right) <= PROBABILITY_TOLERANCE


def _line_differences(ours: tuple[Line, ...], theirs: tuple[Line, ...]) -> list[str]:
    if ours != theirs:
        found = [f"oracle only: {line}" for line in ours if line not in theirs]
        found.extend(f"engine only: {line}" for line in theirs if line not in ours)
        return found or [f"order or number of checks: oracle {ours}, engine {theirs}"]
    return [
        f"probability of {left.check}: oracle {left.probability}, engine {right.probability}"
        for left, right in zip(ours, theirs, strict=True)
        if not _close(left.probability, right.probability)
    ]


def _bound_differs(ours: object, theirs: object) -> bool:
    """True where the lower bounds are further apart than whole kilometres and a float's digits explain."""
    left, right = (one.at_least if isinstance(one, LifeAnswer) else None for one in (ours, theirs))
    if left is None or right is None:
        return left is not right
    return not right - BOUND_TOLERANCE * left <= left <= right + 1 + BOUND_TOLERANCE * left


def differences(oracle: Answer, engine: Answer) -> list[str]:
    """Every point on which the two judgements differ, in words; empty where they agree."""
    found = _line_differences(oracle.lines, engine.lines)
    if _bound_differs(oracle.life, engine.life):
        found.append(f"lower bound of the life: oracle {oracle.life}, engine {engine.life}")
    for part in fields(Answer):
        left, right = getattr(oracle, part.name), getattr(engine, part.name)
        if part.name == "lines" or left == right:
            continue
        if isinstance(left, dict) and isinstance(right, dict):
            found.extend(
                f"{part.name}.{key}: oracle {left.get(key)}, engine {right.get(key)}"
                for key in sorted({*left, *right})
                if left.get(key) != right.get(key)
            )
        elif isinstance(left, frozenset) and isinstance(right, frozenset):
            found.append(f"{part.name}: oracle only {sorted(left - right)}, engine only {sorted(right - left)}")
        else:
            found.append(f"{part.name}: oracle {left}, engine {right}")
    return found

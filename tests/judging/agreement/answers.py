"""What a judgement comes to, in one shape for both sides, and how two of them differ."""

from __future__ import annotations

from dataclasses import dataclass, fields

PROBABILITY_TOLERANCE = 1e-6


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
    probability: float | None = None


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


def _same(ours: Line, theirs: Line) -> bool:
    """True where every figure is equal and the probabilities differ by no more than their rounding."""
    for field in fields(Line):
        left, right = getattr(ours, field.name), getattr(theirs, field.name)
        if field.name == "probability" and left is not None and right is not None:
            if abs(left - right) > PROBABILITY_TOLERANCE:
                return False
        elif left != right:
            return False
    return True


def _line_differences(ours: Answer, theirs: Answer) -> list[str]:
    if len(ours.lines) == len(theirs.lines) and all(map(_same, ours.lines, theirs.lines)):
        return []
    found = []
    ours_left = [line for line in ours.lines if not any(_same(line, other) for other in theirs.lines)]
    theirs_left = [line for line in theirs.lines if not any(_same(other, line) for other in ours.lines)]
    found.extend(f"oracle only: {line}" for line in ours_left)
    found.extend(f"engine only: {line}" for line in theirs_left)
    return found or [f"checks: oracle {ours.lines}, engine {theirs.lines}"]


def differences(oracle: Answer, engine: Answer) -> list[str]:
    """Every point on which the two judgements differ, in words; empty where they agree."""
    found = _line_differences(oracle, engine)
    for field in fields(Answer):
        left, right = getattr(oracle, field.name), getattr(engine, field.name)
        if field.name == "lines" or left == right:
            continue
        if isinstance(left, dict) and isinstance(right, dict):
            found.extend(
                f"{field.name}.{key}: oracle {left.get(key)}, engine {right.get(key)}"
                for key in sorted({*left, *right})
                if left.get(key) != right.get(key)
            )
        elif isinstance(left, frozenset) and isinstance(right, frozenset):
            found.append(f"{field.name}: oracle only {sorted(left - right)}, engine only {sorted(right - left)}")
        else:
            found.append(f"{field.name}: oracle {left}, engine {right}")
    return found

"""The cut: asked for or planned, what it leaves, whether it cleans up, and the checks that it is held against."""

from __future__ import annotations

from dataclasses import dataclass

from tests.judging.agreement.answers import Line
from tests.judging.agreement.exact import conformity, length
from tests.judging.agreement.figures import Figures
from tests.judging.agreement.governed import Governed, Rules
from tests.judging.agreement.told import Told


def strength(told: Told, check: str, quantity: str, size: int | None, limit: Governed | None) -> Line:
    """A size against a limit that protects the part's strength."""
    if size is None or limit is None:
        return Line(check, "not_assessed")
    safe_by = told.sign * (size - limit.value)
    if safe_by < 0:
        outcome = "fail"
    elif not limit.proper:
        return Line(check, "not_assessed")
    else:
        outcome = "pass" if safe_by >= told.guard else "unproven"
    chance = conformity(safe_by, told.twelve)
    return Line(check, outcome, quantity, size, limit.value, limit.origin, told.guard, chance)


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut that is judged: its depths by face, the size it leaves, its checks in the answer's order."""

    depths: dict[str, int]
    zero: str
    after: int | None
    cleans_up: bool
    lines: tuple[Line, ...]

    def any(self, outcome: str) -> bool:
        return any(line.outcome == outcome for line in self.lines)

    def allowed(self, permitted: str) -> bool | None:
        """Whether every check of the cut passes; None where a limit is missing and all else passes."""
        if permitted == "fail" or self.any("fail") or self.any("unproven"):
            return False
        return None if any(line.outcome == "not_assessed" for line in self.lines[:2]) else True


def size_after(told: Told, figures: Figures, depths: dict[str, int], zero: str) -> int | None:
    """The size that a cut leaves; a cut counts once per face of a rotor and twice on a drum's diameter."""
    start = figures.clean_up if zero == "thinnest_point" else figures.contact
    if start is None:
        return None
    return start - told.sign * sum(depths.values()) * (1 if told.rotor else 2)


def ceiling(check: str, value: int, limit: int | None, quantity: str | None = None) -> Line:
    """A cut's own limit from the policy, held by the plain rule."""
    if limit is None:
        return Line(check, "not_assessed")
    return Line(check, "pass" if value <= limit else "fail", quantity or check, value, limit, "policy")


def cut_of(
    told: Told, figures: Figures, rules: Rules, depths: dict[str, int], zero: str, *, least: bool = False
) -> Cut:
    """The cut with everything that it is held against."""
    size = "thickness" if told.rotor else "diameter"
    quantity = f"{size}_after_least_cut" if least else f"{size}_after_cut"
    after = size_after(told, figures, depths, zero)
    lines = [
        strength(told, "machining_limit", quantity, after, rules.machining),
        strength(told, "discard_after_cut", quantity, after, rules.discard),
        ceiling("total_cut", sum(depths.values()), told.policy_length(told.policy.get("total_cut"))),
    ]
    balance = told.policy_length(told.policy.get("face_balance"))
    lines.append(ceiling("face_balance", max(depths.values()) - min(depths.values()), balance))
    return Cut(depths, zero, after, cleans_up(told, figures, depths, zero), tuple(lines))


def least_cleaning(told: Told, figures: Figures, zero: str) -> dict[str, int]:
    """The least depth on each face that leaves no uncut place."""
    grooves = {face: figures.grooves.get(face, 0) for face in told.faces}
    if zero == "thinnest_point":
        return grooves
    return {face: figures.reach[face] + depth for face, depth in grooves.items()}


def cleans_up(told: Told, figures: Figures, depths: dict[str, int], zero: str) -> bool:
    """True where every face is cut at least as deep as it needs."""
    return all(depths[face] >= depth for face, depth in least_cleaning(told, figures, zero).items())


def planned(told: Told, figures: Figures) -> dict[str, int]:
    """The cut that is planned where none is asked for: the groove or the least cut, kept within the faces' balance."""
    least = length(told.policy.get("minimum_cut", "0.05"), "mm")
    depths = {face: max(figures.grooves.get(face, 0), least) for face in told.faces}
    balance = told.policy_length(told.policy.get("face_balance"))
    if told.rotor and balance is not None:
        floor = max(depths.values()) - balance
        depths = {face: max(depth, floor) for face, depth in depths.items()}
    return depths

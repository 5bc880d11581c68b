"""The cut: planned or asked for, where it takes the faces to, and whether it cleans them up.

Depths are metal off one face (rotor) or off the radius (drum), in mm; each counts twice on a drum's diameter.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.parts import AskedCut, Part
from turnrule.judging.policy import Policy
from turnrule.judging.readings import Measured
from turnrule.judging.trace import total_indicator_reading
from turnrule.judging.words import Face, Zero


@dataclass(frozen=True, slots=True)
class Cut:
    """Depths by face, counted from `zero`, and the size that they leave; None where no size was read."""

    depths: dict[Face, Decimal]
    zero: Zero
    after: Decimal | None

    @property
    def total(self) -> Decimal:
        """Metal taken off in all."""
        return sum(self.depths.values(), Decimal(0))

    @property
    def imbalance(self) -> Decimal:
        """How much more one face loses than the other."""
        return max(self.depths.values()) - min(self.depths.values())


def grooves_of(part: Part) -> dict[Face, Decimal]:
    """The deepest groove of each face: as measured, or as reported with a finding (on every face if unnamed)."""
    deepest = {face: part.readings.grooves.get(face, Decimal(0)) for face in part.faces}
    for finding in part.findings:
        if finding.depth is not None:
            for face in part.faces:
                if finding.face in (None, face):
                    deepest[face] = max(deepest[face], finding.depth)
    return deepest


def groove_is_known(part: Part) -> bool:
    """True where a groove depth was measured on any face, or a finding came with its depth."""
    return bool(part.readings.grooves) or any(finding.depth is not None for finding in part.findings)


def planned(part: Part, measured: Measured, policy: Policy) -> Cut:
    """The least cut of good practice: each face its groove or the policy's least cut, kept in balance.

    Rule: planned_cut.
    """
    depths = {face: max(groove, policy.minimum_cut) for face, groove in grooves_of(part).items()}
    if policy.face_balance is not None:
        least = max(depths.values()) - policy.face_balance
        depths = {face: max(depth, least) for face, depth in depths.items()}
    return Cut(depths, Zero.THINNEST_POINT, _after(part, measured, depths, Zero.THINNEST_POINT))


def asked(part: Part, measured: Measured, cut: AskedCut) -> Cut:
    """The cut that the caller asks for."""
    given = {Face.INBOARD: cut.inboard, Face.OUTBOARD: cut.outboard, Face.DEPTH: cut.depth}
    depths = {face: given[face] or Decimal(0) for face in part.faces}
    return Cut(depths, cut.zero, _after(part, measured, depths, cut.zero))


def least_cleaning(part: Part, measured: Measured, zero: Zero) -> Cut:
    """The least depths, from the same zero, after which no face has an uncut place left."""
    depths = {face: groove + _to_true(part, measured, face, zero) for face, groove in grooves_of(part).items()}
    return Cut(depths, zero, _after(part, measured, depths, zero))


def cleans_up(part: Part, measured: Measured, cut: Cut) -> bool:
    """True where every face is cut to its lowest place."""
    needed = least_cleaning(part, measured, cut.zero).depths
    return all(cut.depths[face] >= depth for face, depth in needed.items())


def standing(part: Part, measured: Measured, zero: Zero) -> dict[Face, Decimal]:
    """The metal of each face above the tool's zero, which goes before the tool cuts all the way round."""
    if zero is Zero.FIRST_CONTACT:
        return {}
    return {face: _to_true(part, measured, face, Zero.FIRST_CONTACT) for face in part.faces}


def _to_true(part: Part, measured: Measured, face: Face, zero: Zero) -> Decimal:
    """What the face loses to wobble alone: nothing beyond the thinnest point, all of it from first contact."""
    trued = measured.trued
    if zero is Zero.THINNEST_POINT:
        return Decimal(0)
    if not trued.from_trace or trued.clean_up is None:
        return trued.runout
    trace = part.readings.runout_trace
    if face is Face.OUTBOARD:
        return total_indicator_reading(trace) + trued.excess
    return min(trace) - trued.clean_up - _first_contact_inboard(part, measured)


def _first_contact_inboard(part: Part, measured: Measured) -> Decimal:
    """The least position of the inboard face, o - t, over the tracks read at the trace's angles."""
    trace = part.readings.runout_trace
    return min(
        o - t
        for track in measured.tracks
        if len(track.sizes) == len(trace)
        for o, t in zip(trace, track.sizes, strict=True)
    )


def _after(part: Part, measured: Measured, depths: dict[Face, Decimal], zero: Zero) -> Decimal | None:
    """The size when the tool has taken these depths from this zero."""
    size = measured.trued.clean_up
    if size is None:
        return None
    total = sum(depths.values(), Decimal(0))
    if zero is Zero.FIRST_CONTACT and measured.trued.from_trace:
        return max(part.readings.runout_trace) - _first_contact_inboard(part, measured) - total
    wobble = 2 * measured.trued.runout if zero is Zero.FIRST_CONTACT else Decimal(0)
    if part.kind.is_rotor:
        return size + wobble - total
    return size - wobble + 2 * total

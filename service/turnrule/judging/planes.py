"""Where the tool must go: the clean-up planes of both faces, the metal that each face loses, and the least cuts.

One coordinate along the lathe's axis, larger further outboard, for both faces and at the same equal angles: o_k of the
outboard face, i_k of the inboard face, t_k = o_k - i_k the thickness. The outboard tool must go to min(o) less the
groove, the inboard tool to max(i) plus the groove. Exact, in mm.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.lathe_faults import negative, not_positive, refuse, too_few
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.lengths import EXACT
from turnrule.judging.trace import total_indicator_reading
from turnrule.judging.words import Face

CLOSURE_TOLERANCE = Decimal("0.02")
"""How far o - i - t may wander over a turn (mm) for the traces to belong together (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class FaceTraces:
    """What was read at the same equal angles; an empty tuple was not read.

    Both traces larger where the face stands further outboard, each from a zero of its own unless the thickness ties
    them together; `thickness` at the same angles. `grooves` by face, below the face where it is lowest.
    """

    outboard: tuple[Decimal, ...] = ()
    inboard: tuple[Decimal, ...] = ()
    thickness: tuple[Decimal, ...] = ()
    grooves: Mapping[Face, Decimal] | None = None

    def groove(self, face: Face) -> Decimal:
        """The deepest groove of a face; 0 where none is given."""
        return (self.grooves or {}).get(face, Decimal(0))


@dataclass(frozen=True, slots=True)
class FaceCut:
    """One face: where its tool must go in the trace's coordinate, and the metal that it loses at each angle."""

    face: Face
    plane: Decimal
    metal: tuple[Decimal, ...]
    from_first_contact: Decimal
    from_thinnest_point: Decimal


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Depths by face, from first contact of each and from the thinnest point, and the thickness that they leave.

    `allowed`: whether at least the thickness asked for is left; None where either is not known.
    """

    from_first_contact: dict[Face, Decimal]
    from_thinnest_point: dict[Face, Decimal]
    thickness_left: Decimal | None
    allowed: bool | None

    @property
    def total(self) -> Decimal:
        """Metal off the true disc inside the part, both faces together."""
        return EXACT.add(*self.from_thinnest_point.values())


@dataclass(frozen=True, slots=True)
class Planes:
    """The faces that were read, and the least cuts; None for what needs a face that was not.

    `closure` is the spread of o - i - t over the turn, where all three were read, and `closes` whether it is within
    the tolerance. `clean_up` is T0, the thickness of the thickest true disc inside the part.
    """

    faces: dict[Face, FaceCut]
    clean_up: Decimal | None
    unequal: CutPlan | None
    equal_from_contact: CutPlan | None
    equal_from_thinnest: CutPlan | None
    closure: Decimal | None
    closes: bool | None
    missing: tuple[Missing, ...] = ()
    notes: tuple[Note, ...] = ()


def planes_of(
    traces: FaceTraces, *, least_left: Decimal | None = None, tolerance: Decimal = CLOSURE_TOLERANCE
) -> Planes:
    """The clean-up planes and the least cuts. Raises `LatheDataError`.

    With a thickness and one face the other face follows. With all three, the outboard trace and the thickness say
    where the faces are, and the inboard trace proves it. With two traces and no thickness the cuts are known and the
    thickness is not. `least_left` is the thickness that must be left (the governing limit and its guard band).

    Rule: clean_up_planes.
    """
    refuse(_faults(traces, least_left, tolerance))
    with decimal.localcontext(EXACT):
        outboard, inboard = _placed(traces)
        faces = {}
        if outboard:
            faces[Face.OUTBOARD] = _outboard(outboard, traces.groove(Face.OUTBOARD))
        if inboard:
            faces[Face.INBOARD] = _inboard(inboard, traces.groove(Face.INBOARD))
        tied = bool(traces.thickness)
        clean_up = min(outboard) - max(inboard) if outboard and inboard and tied else None
        unequal, contact, thinnest = _plans(faces, clean_up, least_left)
        closure = _closure(traces)
        closes = None if closure is None else closure <= tolerance
    return Planes(
        faces=faces,
        clean_up=clean_up,
        unequal=unequal,
        equal_from_contact=contact,
        equal_from_thinnest=thinnest,
        closure=closure,
        closes=closes,
        missing=_missing(traces),
        notes=(Note.FACES_DO_NOT_CLOSE,) if closes is False else (),
    )


def _faults(traces: FaceTraces, least_left: Decimal | None, tolerance: Decimal) -> Iterator[Fault]:
    given = {"outboard": traces.outboard, "inboard": traces.inboard, "thickness": traces.thickness}
    for name, readings in given.items():
        if readings:
            yield from too_few(f"/{name}", len(readings))
    if not traces.outboard and not traces.inboard:
        yield Fault("/outboard", "no_trace", "give the trace of one face or of both")
    if len({len(readings) for readings in given.values() if readings}) > 1:
        yield Fault("/outboard", "different_angles", "read the faces and the thickness at the same angles, all of them")
    for index, thickness in enumerate(traces.thickness):
        yield from not_positive(f"/thickness/{index}", thickness)
    for face, groove in (traces.grooves or {}).items():
        yield from negative(f"/groove_depth/{face.value}", groove)
        if face is Face.DEPTH:
            yield Fault(f"/groove_depth/{face.value}", "not_a_face", "a rotor's faces are inboard and outboard")
    yield from negative("/least_left", least_left)
    yield from negative("/tolerance", tolerance)


def _placed(traces: FaceTraces) -> tuple[tuple[Decimal, ...], tuple[Decimal, ...]]:
    """Both faces in one coordinate as far as the thickness ties them together."""
    outboard, inboard, thickness = traces.outboard, traces.inboard, traces.thickness
    if outboard and thickness:
        inboard = tuple(o - t for o, t in zip(outboard, thickness, strict=True))
    elif inboard and thickness:
        outboard = tuple(i + t for i, t in zip(inboard, thickness, strict=True))
    return outboard, inboard


def _outboard(trace: Sequence[Decimal], groove: Decimal) -> FaceCut:
    plane = min(trace) - groove
    metal = tuple(o - plane for o in trace)
    return FaceCut(Face.OUTBOARD, plane, metal, max(metal), groove)


def _inboard(trace: Sequence[Decimal], groove: Decimal) -> FaceCut:
    plane = max(trace) + groove
    metal = tuple(plane - i for i in trace)
    return FaceCut(Face.INBOARD, plane, metal, max(metal), groove)


def _plans(
    faces: Mapping[Face, FaceCut], clean_up: Decimal | None, least_left: Decimal | None
) -> tuple[CutPlan | None, CutPlan | None, CutPlan | None]:
    """Each face to its own plane; both as deep from first contact; both as deep from the thinnest point."""
    if len(faces) < 2:  # noqa: PLR2004 - both faces
        return None, None, None
    wobble = {face: cut.from_first_contact - cut.from_thinnest_point for face, cut in faces.items()}
    own = {face: cut.from_thinnest_point for face, cut in faces.items()}
    fed = max(cut.from_first_contact for cut in faces.values())
    deepest = max(own.values())

    def plan(depths: dict[Face, Decimal]) -> CutPlan:
        left = None if clean_up is None else clean_up - sum(depths.values(), Decimal(0))
        allowed = None if left is None or least_left is None else left >= least_left
        return CutPlan({face: depth + wobble[face] for face, depth in depths.items()}, depths, left, allowed)

    return (
        plan(own),
        plan({face: fed - wobble[face] for face in faces}),
        plan(dict.fromkeys(faces, deepest)),
    )


def _closure(traces: FaceTraces) -> Decimal | None:
    """How far o - i - t wanders over the turn; the zeros of the indicators drop out."""
    if not (traces.outboard and traces.inboard and traces.thickness):
        return None
    read = zip(traces.outboard, traces.inboard, traces.thickness, strict=True)
    return total_indicator_reading([o - i - t for o, i, t in read])


def _missing(traces: FaceTraces) -> tuple[Missing, ...]:
    """What would have to be read for both planes and the thickness to be known."""
    if traces.thickness:
        return ()
    faces = {Missing.OUTBOARD_TRACE: traces.outboard, Missing.INBOARD_TRACE: traces.inboard}
    return (*(missing for missing, trace in faces.items() if not trace), Missing.THICKNESS)

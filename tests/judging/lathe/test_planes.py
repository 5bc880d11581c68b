"""Clean-up planes, metal lost, and the least cuts."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.judging.samples import rotor, sizes, verdict_on
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.parts import AskedCut
from turnrule.judging.planes import CLOSURE_TOLERANCE, CutPlan, FaceTraces, Planes, planes_of
from turnrule.judging.words import Face, Zero

D = Decimal
OUT, IN = Face.OUTBOARD, Face.INBOARD
BENT = FaceTraces(
    outboard=sizes("0.00", "0.02", "0.05", "0.02"),
    thickness=sizes("25.00", "25.01", "25.05", "25.03"),
    grooves={OUT: D("0.04"), IN: D("0.01")},
)


@st.composite
def faces(draw: st.DrawFn, *, every: bool = False) -> FaceTraces:
    """An outboard trace, thicknesses, and the inboard trace that belongs to them but for its zero."""
    count = draw(st.integers(3, 12))
    outboard = tuple(k * D("0.001") for k in draw(st.lists(st.integers(-60, 60), min_size=count, max_size=count)))
    thick = tuple(25 + k * D("0.001") for k in draw(st.lists(st.integers(-20, 40), min_size=count, max_size=count)))
    zero = draw(st.integers(-50, 50)) * D("0.001")
    inboard = tuple(o - t + zero for o, t in zip(outboard, thick, strict=True))
    groove = st.integers(0, 300).map(lambda k: k * D("0.001"))
    return FaceTraces(outboard, inboard if every else (), thick, {OUT: draw(groove), IN: draw(groove)})


def plans(found: Planes) -> tuple[CutPlan, CutPlan, CutPlan]:
    """The three plans, where both faces are known."""
    assert found.unequal is not None
    assert found.equal_from_contact is not None
    assert found.equal_from_thinnest is not None
    return found.unequal, found.equal_from_contact, found.equal_from_thinnest


def test_each_face_is_taken_to_its_lowest_place_and_its_groove() -> None:
    """Worked by hand: inboard is -25.00, -24.99, -25.00, -25.01."""
    found = planes_of(BENT, least_left=D("24.89"))
    assert found.faces[OUT].plane == D("-0.04")
    assert found.faces[OUT].metal == sizes("0.04", "0.06", "0.09", "0.06")
    assert found.faces[IN].plane == D("-24.98")
    assert found.faces[IN].metal == sizes("0.02", "0.01", "0.02", "0.03")
    assert found.clean_up == D("24.99")
    unequal, contact, thinnest = plans(found)
    assert unequal == CutPlan(
        {OUT: D("0.09"), IN: D("0.03")}, {OUT: D("0.04"), IN: D("0.01")}, D("24.94"), allowed=True
    )
    assert contact == CutPlan(
        {OUT: D("0.09"), IN: D("0.09")}, {OUT: D("0.04"), IN: D("0.07")}, D("24.88"), allowed=False
    )
    assert thinnest == CutPlan(
        {OUT: D("0.09"), IN: D("0.06")}, {OUT: D("0.04"), IN: D("0.04")}, D("24.91"), allowed=True
    )
    assert (found.closure, found.closes, found.missing, found.notes) == (None, None, (), ())
    assert plans(planes_of(BENT, least_left=D("24.94")))[0].allowed is True


def test_the_inboard_trace_and_the_thickness_give_the_outboard_face() -> None:
    inboard = sizes("-25.00", "-24.99", "-25.00", "-25.01")
    assert planes_of(replace(BENT, outboard=(), inboard=inboard)) == planes_of(BENT)


def test_two_traces_give_the_cuts_and_not_the_thickness() -> None:
    """The zero of the inboard indicator is its own: only the thickness depends on it."""
    inboard = sizes("0.01", "0.02", "0.01", "0.00")
    found = planes_of(FaceTraces(BENT.outboard, inboard, (), BENT.grooves), least_left=D(24))
    with_thickness = planes_of(BENT)
    assert found.clean_up is None
    assert found.missing == (Missing.THICKNESS,)
    for plan, known in zip(plans(found), plans(with_thickness), strict=True):
        assert plan.from_first_contact == known.from_first_contact
        assert (plan.thickness_left, plan.allowed) == (None, None)


def test_one_trace_gives_its_own_face_only() -> None:
    found = planes_of(FaceTraces(outboard=BENT.outboard))
    assert set(found.faces) == {OUT}
    assert found.faces[OUT].from_first_contact == D("0.05")
    assert (found.unequal, found.missing) == (None, (Missing.INBOARD_TRACE, Missing.THICKNESS))
    assert planes_of(FaceTraces(inboard=BENT.outboard)).missing == (Missing.OUTBOARD_TRACE, Missing.THICKNESS)


def test_traces_that_do_not_belong_together_are_told() -> None:
    inboard = sizes("0.01", "0.02", "0.01", "0.00")
    good = planes_of(replace(BENT, inboard=inboard))
    assert (good.closure, good.closes, good.notes) == (D("0.00"), True, ())
    bad = planes_of(replace(BENT, inboard=sizes("0.01", "0.02", "0.04", "0.00")))
    assert (bad.closure, bad.closes, bad.notes) == (D("0.03"), False, (Note.FACES_DO_NOT_CLOSE,))
    assert planes_of(replace(BENT, inboard=sizes("0.01", "0.02", "0.03", "0.00"))).closes is True
    assert D("0.02") == CLOSURE_TOLERANCE


@given(faces())
def test_the_plans_leave_no_uncut_place_and_no_less_would_do(traces: FaceTraces) -> None:
    found = planes_of(traces)
    for face, cut in found.faces.items():
        assert min(cut.metal) == traces.groove(face)
        assert max(cut.metal) == cut.from_first_contact
    for plan in plans(found):
        assert all(plan.from_first_contact[face] >= cut.from_first_contact for face, cut in found.faces.items())
    unequal, contact, thinnest = plans(found)
    assert unequal.total <= min(contact.total, thinnest.total)
    for equal in (contact.from_first_contact, thinnest.from_thinnest_point):
        assert equal[OUT] == equal[IN]
        assert any(equal[face] == plans(found)[0].from_first_contact[face] for face in (OUT, IN)) or any(
            equal[face] == unequal.from_thinnest_point[face] for face in (OUT, IN)
        )


@given(faces(every=True))
def test_swapping_the_faces_swaps_only_the_faces(traces: FaceTraces) -> None:
    """Seen from the other side every position is its own negative."""
    swapped = FaceTraces(
        tuple(-i for i in traces.inboard),
        tuple(-o for o in traces.outboard),
        traces.thickness,
        {OUT: traces.groove(IN), IN: traces.groove(OUT)},
    )
    one, other = planes_of(traces), planes_of(swapped)
    assert (one.clean_up, one.closure, one.notes) == (other.clean_up, other.closure, other.notes)
    for face, opposite in ((OUT, IN), (IN, OUT)):
        assert one.faces[face].metal == other.faces[opposite].metal
        assert one.faces[face].from_first_contact == other.faces[opposite].from_first_contact
    for plan, mirrored in zip(plans(one), plans(other), strict=True):
        assert plan.thickness_left == mirrored.thickness_left
        assert plan.from_first_contact == {
            IN: mirrored.from_first_contact[OUT],
            OUT: mirrored.from_first_contact[IN],
        }


@given(faces(every=True), st.integers(1, 11))
def test_turning_the_part_turns_only_the_places(traces: FaceTraces, by: int) -> None:
    def turned(readings: tuple[Decimal, ...]) -> tuple[Decimal, ...]:
        return readings[by:] + readings[:by]

    assume(by < len(traces.outboard))
    one = planes_of(traces)
    other = planes_of(
        FaceTraces(turned(traces.outboard), turned(traces.inboard), turned(traces.thickness), traces.grooves)
    )
    assert plans(one) == plans(other)
    for face, cut in one.faces.items():
        assert turned(cut.metal) == other.faces[face].metal


@given(faces(), st.integers(24_000, 25_100))
def test_no_plan_cuts_more_than_the_room_and_the_verdict_on_it_agrees(traces: FaceTraces, size: int) -> None:
    """The judgement of the part with the plan as the cut asked for, counted from first contact, is the check."""
    shift = size * D("0.001") - 25
    thickness = tuple(t + shift for t in traces.thickness)
    part = rotor(runout_trace=traces.outboard, grooves=dict(traces.grooves or {}))
    part = replace(part, readings=replace(part.readings, track=thickness))
    verdict = verdict_on(part)
    room, machining = verdict.room.most_total_cut, verdict.limits.machining
    assert machining is not None
    least_left = machining.value + verdict.margins.guard_band
    found = planes_of(replace(traces, thickness=thickness), least_left=least_left)
    assert found.clean_up == verdict.figures.clean_up
    for plan in plans(found):
        assert plan.allowed is (room is not None and plan.total <= room)
        cut = AskedCut(plan.from_first_contact[IN], plan.from_first_contact[OUT], zero=Zero.FIRST_CONTACT)
        judged = verdict_on(replace(part, cut=cut))
        assert judged.cut is not None
        assert judged.cut.cleans_up is True
        assert judged.figures.after_cut == plan.thickness_left
        assert judged.cut.allowed is plan.allowed


@pytest.mark.parametrize(
    ("traces", "pointer", "code"),
    [
        (FaceTraces(), "/outboard", "no_trace"),
        (FaceTraces(thickness=sizes("25", "25", "25")), "/outboard", "no_trace"),
        (FaceTraces(outboard=sizes("0", "0")), "/outboard", "too_few_readings"),
        (FaceTraces(sizes("0", "0", "0"), sizes("0", "0", "0", "0")), "/outboard", "different_angles"),
        (FaceTraces(sizes("0", "0", "0"), (), sizes("25", "0", "25")), "/thickness/1", "must_be_positive"),
        (FaceTraces(sizes("0", "0", "0"), grooves={OUT: D(-1)}), "/groove_depth/outboard", "must_not_be_negative"),
        (FaceTraces(sizes("0", "0", "0"), grooves={Face.DEPTH: D(1)}), "/groove_depth/depth", "not_a_face"),
    ],
)
def test_traces_that_cannot_be_are_refused_by_name(traces: FaceTraces, pointer: str, code: str) -> None:
    with pytest.raises(LatheDataError) as raised:
        planes_of(traces)
    assert [(fault.pointer, fault.code) for fault in raised.value.faults] == [(pointer, code)]


def test_bounds_below_nothing_are_refused() -> None:
    with pytest.raises(LatheDataError) as raised:
        planes_of(BENT, least_left=D(-1), tolerance=D(-1))
    assert [fault.pointer for fault in raised.value.faults] == ["/least_left", "/tolerance"]

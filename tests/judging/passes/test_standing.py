"""What stands above the tool's zero, for each face as it sits: with a trace, without one, and from first contact."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from tests.judging.samples import drum, rotor, sizes, verdict_on
from turnrule.judging.parts import AskedCut, Part
from turnrule.judging.words import Face, Zero

D = Decimal
CUT = AskedCut(inboard=D("0.1"), outboard=D("0.1"))


def standing_of(part: Part) -> dict[Face, Decimal]:
    """The metal above the zero of the cut that was judged."""
    cut = verdict_on(part).cut
    assert cut is not None
    return cut.standing


def test_without_a_trace_each_face_stands_as_high_as_the_runout_to_be_trued() -> None:
    part = replace(rotor("25.02", "25.02", "25.02", "25.02", setup_runout=D("0.04")), cut=CUT)
    assert standing_of(part) == {Face.INBOARD: D("0.04"), Face.OUTBOARD: D("0.04")}
    bore = replace(drum("280.2", "280.2", "280.2", "280.2", setup_runout=D("0.03")), cut=AskedCut(depth=D("0.1")))
    assert standing_of(bore) == {Face.DEPTH: D("0.03")}


def test_with_a_trace_each_face_stands_as_the_trace_and_the_thickness_say() -> None:
    # o = 0, 0.02, 0.05, 0.02 and o - t = -25.00, -24.99, -24.97, -24.99: the clean disc lies between 0 and -24.97,
    # so that 0.05 stands outboard and 0.03 inboard; with the disc they make the whole extent, 0.05 + 25.00
    part = rotor("25.00", "25.01", "25.02", "25.01", runout_trace=sizes("0", "0.02", "0.05", "0.02"))
    assert standing_of(replace(part, cut=CUT)) == {Face.INBOARD: D("0.03"), Face.OUTBOARD: D("0.05")}


def test_from_first_contact_nothing_stands_above_the_zero() -> None:
    part = rotor("25.02", "25.02", "25.02", "25.02", setup_runout=D("0.04"))
    assert standing_of(replace(part, cut=replace(CUT, zero=Zero.FIRST_CONTACT))) == {}

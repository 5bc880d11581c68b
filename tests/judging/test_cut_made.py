"""What was taken off a finished part is told of the faces that it has, all of them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.samples import drum, rotor, verdict_on
from turnrule.judging.faults import PartError
from turnrule.judging.parts import CutMade, Part
from turnrule.judging.words import Stage

D = Decimal


@pytest.mark.parametrize(
    ("part", "made", "faults"),
    [
        (rotor("25"), CutMade(inboard=D("0.1")), {("/cut_made/outboard", "missing")}),
        (drum("230"), CutMade(), {("/cut_made/depth", "missing")}),
        (
            drum("230"),
            CutMade(depth=D("0.1"), inboard=D(0)),
            {("/cut_made/inboard", "face_of_another_kind")},
        ),
        (
            rotor("25"),
            CutMade(inboard=D("0.1"), outboard=D("0.1"), depth=D("0.1")),
            {("/cut_made/depth", "face_of_another_kind")},
        ),
    ],
)
def test_a_cut_that_was_made_of_other_faces_is_refused_by_name(
    part: Part, made: CutMade, faults: set[tuple[str, str]]
) -> None:
    with pytest.raises(PartError) as caught:
        verdict_on(replace(part, stage=Stage.AFTER_MACHINING, cut_made=made))
    assert {(fault.pointer, fault.code) for fault in caught.value.faults} == faults


def test_a_cut_that_was_made_is_no_cut_of_a_part_before_machining() -> None:
    with pytest.raises(PartError) as caught:
        verdict_on(replace(rotor("25"), cut_made=CutMade(inboard=D(0), outboard=D(0))))
    assert [(fault.pointer, fault.code) for fault in caught.value.faults] == [("/cut_made", "not_machined_yet")]

"""The sentence on an axle that a clerk can read: what is done with each side in the end."""

from __future__ import annotations

import pytest
from hypothesis import given

from tests.judging.axle.pairs import REPLACED_ALIKE, Pairing, good, on_axle, pairings, uneven
from tests.judging.axle.test_laws import HALF, both
from turnrule.judging.axle_sentences import axle_summary
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy


@pytest.mark.parametrize(
    ("left", "right", "policy", "said"),
    [
        (good("25"), good("25"), Policy(), "Both sides stay in service."),
        (uneven("25"), uneven("25"), Policy(), "Both sides are to be machined."),
        (good("24.001"), good("24.001"), Policy(), "Neither side can be settled yet."),
        (good("23"), good("25"), REPLACED_ALIKE, "Both sides are to be replaced."),
        (good("23"), good("25"), Policy(), "The left side is to be replaced, and the right side stays in service."),
        (
            good("24.001"),
            uneven("25"),
            Policy(),
            "The left side cannot be settled yet, and the right side is to be machined.",
        ),
        (
            None,
            good("25"),
            Policy(),
            "The right side stays in service, and the left side is not measured, so that the axle cannot be passed.",
        ),
        (
            good("23"),
            None,
            Policy(),
            "The left side is to be replaced, and the right side is not measured, so that the axle cannot be passed.",
        ),
    ],
)
def test_the_summary_says_what_is_done_with_each_side(
    left: Part | None, right: Part | None, policy: Policy, said: str
) -> None:
    assert axle_summary(on_axle(left, right, policy)) == said


@HALF
@given(pairings())
def test_the_summary_is_one_sentence_and_both_sides_alike_are_told_as_one(pairing: Pairing) -> None:
    axle = pairing.verdict()
    said = axle_summary(axle)
    assert said.count(".") == 1
    assert said.endswith(".")
    alike = not axle.missing and len({one.ruling for one in both(axle)}) == 1
    assert alike is said.startswith(("Both sides", "Neither side"))

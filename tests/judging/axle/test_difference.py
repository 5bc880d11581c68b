"""The difference of the two sides after their cuts, and the cuts that bring them to match."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.axle.pairs import MACHINED_ALIKE, good, good_drum, judged, on_axle, oval, uneven
from tests.judging.axle.test_pair_rules import sides
from tests.judging.samples import ROTOR
from turnrule.judging.axle import AxleVerdict, judge_axle
from turnrule.judging.axle_sentences import axle_sentences
from turnrule.judging.parts import AskedCut, Part, Readings
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Check
from turnrule.judging.words import CheckName, Face, Origin, Outcome, Ruling, Sense

D = Decimal
SERVICEABLE, MACHINE, INCONCLUSIVE, REPLACE = Ruling
AFTER_CUTS, AFTER_MATCHING = "thickness_difference_after_cuts", "thickness_difference_after_matching"


def within(millimetres: str) -> Policy:
    """A policy that bounds the difference."""
    return Policy(axle_difference=D(millimetres))


def told(axle: AxleVerdict) -> list[tuple[str | None, Decimal | None, Outcome]]:
    """The checks of the difference, in short."""
    return [(check.quantity, check.value, check.outcome) for check in axle.checks]


def test_the_difference_is_told_after_the_cuts_and_held_by_the_simple_rule() -> None:
    axle = on_axle(uneven("25"), good("25"), within("0.1"))
    assert axle.checks == (
        Check(
            CheckName.AXLE_DIFFERENCE,
            Outcome.PASS,
            AFTER_CUTS,
            value=D("0.1"),
            limit=D("0.1"),
            sense=Sense.AT_MOST,
            origin=Origin.POLICY,
            source="policy default, revision 1",
        ),
    )


def test_without_a_bound_the_difference_is_told_and_not_assessed() -> None:
    axle = on_axle(good("25"), good("24.9"))
    assert told(axle) == [(AFTER_CUTS, D("0.1"), Outcome.NOT_ASSESSED)]
    assert axle.checks[0].reason == "the policy sets no bound"


def test_the_side_with_more_metal_is_cut_to_match_by_no_more_than_it_takes() -> None:
    axle = on_axle(good("25.3"), good("24.9"), within("0.1"))
    left, right = sides(axle)
    assert (left.own, left.ruling, left.reasons) == (SERVICEABLE, MACHINE, (PairReason.CUT_TO_MATCH,))
    assert (left.size, left.cut) == (D(25), {Face.INBOARD: D("0.15"), Face.OUTBOARD: D("0.15")})
    assert (right.ruling, right.size) == (SERVICEABLE, D("24.9"))
    assert told(axle) == [(AFTER_CUTS, D("0.4"), Outcome.FAIL), (AFTER_MATCHING, D("0.1"), Outcome.PASS)]


def test_a_cut_that_is_made_anyway_is_deepened_on_both_faces_alike() -> None:
    axle = on_axle(uneven("25.3", AskedCut(D("0.1"), D("0.06"))), good("24.9"), within("0.1"))
    left, _ = sides(axle)
    assert (left.ruling, left.size) == (MACHINE, D(25))
    assert left.cut == {Face.INBOARD: D("0.17"), Face.OUTBOARD: D("0.13")}
    assert not left.because_of_partner
    assert axle_sentences(axle)[0] == (
        "The left side can be machined by itself: it has to be cut to match the other side."
    )


def test_the_other_drum_is_refinished_to_the_same_size() -> None:
    """TM 5-3825-229-14&P 4-36 (READ): the other drum is refinished to the same size, which is a difference of 0."""
    axle = on_axle(oval("280.8"), good_drum("280.4"), within("0"))
    left, right = sides(axle)
    assert (left.size, right.size) == (D("280.9"), D("280.9"))
    assert (right.reasons, right.cut) == ((PairReason.CUT_TO_MATCH,), {Face.DEPTH: D("0.25")})
    assert axle.checks[-1].quantity == "diameter_difference_after_matching"


def test_where_the_least_cut_goes_too_far_the_other_side_is_cut_as_well_and_both_match() -> None:
    """25.00 and 24.94: the least cut takes the first to 24.90, so that the second follows to 24.84, and it again."""
    axle = on_axle(good("25"), good("24.94"), within("0"))
    left, right = sides(axle)
    assert (left.size, right.size) == (D("24.84"), D("24.84"))
    assert (left.ruling, right.ruling) == (MACHINE, MACHINE)
    assert [check.outcome for check in axle.checks] == [Outcome.FAIL, Outcome.PASS]


def test_sides_that_cannot_be_made_to_match_are_both_replaced() -> None:
    axle = on_axle(good("25.3"), good("24.5"), within("0.1"))
    left, right = sides(axle)
    assert (left.ruling, right.ruling, axle.ruling) == (REPLACE, REPLACE, REPLACE)
    assert left.reasons == right.reasons == (PairReason.SIDES_DIFFER,)
    assert left.passed_itself
    assert told(axle) == [(AFTER_CUTS, D("0.8"), Outcome.FAIL)]


def test_room_that_ends_exactly_at_the_match_is_enough() -> None:
    """The least size left is 24.6 plus the guard band of 0.0077 mm."""
    enough = on_axle(good("25.3"), good("24.5077"), within("0.1"))
    short = on_axle(good("25.3"), good("24.5076"), within("0.1"))
    assert (enough.ruling, short.ruling) == (MACHINE, REPLACE)


@pytest.mark.parametrize("more", ["left", "right"])
def test_where_the_room_to_match_is_not_known_it_is_not_settled(more: str) -> None:
    policy = within("0.1")
    unknown = judged(good("25.3"), policy, replace(ROTOR, machining=None))
    other = judged(good("24.9"), policy)
    axle = judge_axle(*((unknown, other) if more == "left" else (other, unknown)), policy)
    larger, smaller = sides(axle) if more == "left" else sides(axle)[::-1]
    assert (larger.ruling, smaller.ruling) == (INCONCLUSIVE, SERVICEABLE)
    assert larger.reasons == (PairReason.SIDES_DIFFER, PairReason.ROOM_UNKNOWN)


def test_where_only_the_second_cut_to_match_is_not_known_it_is_not_settled_either() -> None:
    policy = within("0")
    axle = judge_axle(judged(good("25"), policy), judged(good("24.94"), policy, replace(ROTOR, machining=None)), policy)
    left, right = sides(axle)
    assert (left.ruling, right.ruling) == (MACHINE, INCONCLUSIVE)


def test_a_new_part_beside_a_worn_one_is_held_against_the_bound_too() -> None:
    policy = within("0.5")
    worn, gone = judged(good("25"), policy), judged(good("23"), policy, new="26")
    axle = judge_axle(gone, worn, policy)
    _, right = sides(axle)
    assert (right.own, right.ruling, right.reasons) == (SERVICEABLE, REPLACE, (PairReason.SIDES_DIFFER,))
    assert told(axle) == [(AFTER_CUTS, D(1), Outcome.FAIL)]
    near = judge_axle(gone, judged(good("25.5"), policy), policy)
    assert sides(near)[1].ruling is SERVICEABLE


@pytest.mark.parametrize(
    ("left", "right", "reason"),
    [
        (good("23"), good("25"), "a side is replaced, and the size of the new part is not given"),
        (None, good("25"), "one side is not measured"),
        (replace(good("25"), readings=Readings()), good("25"), "the size of a side was not read"),
    ],
)
def test_a_difference_that_cannot_be_told_says_why(left: Part | None, right: Part, reason: str) -> None:
    axle = on_axle(left, right, within("0.1"))
    assert [(check.outcome, check.value, check.reason) for check in axle.checks] == [
        (Outcome.NOT_ASSESSED, None, reason)
    ]


def test_a_side_that_is_open_is_told_from_its_partner_and_nothing_follows() -> None:
    """The one that lacks its machining limit may turn out to be cut to 24.9 mm, and the other could then match it."""
    policy = within("0.1")
    open_side = judged(uneven("25"), policy, replace(ROTOR, machining=None))
    axle = judge_axle(open_side, judged(good("25.3"), policy), policy)
    left, right = sides(axle)
    assert (left.ruling, right.ruling) == (INCONCLUSIVE, SERVICEABLE)
    assert told(axle) == [(AFTER_CUTS, D("0.3"), Outcome.FAIL)]


def test_sides_that_cannot_match_however_the_open_one_turns_out_are_replaced_now() -> None:
    """24.001 mm is too near 24 mm for the gauge; and a side of 25 mm may be cut to 24.6 mm, no further."""
    axle = on_axle(good("24.001"), good("25"), within("0.1"))
    left, right = sides(axle)
    assert (left.own, left.ruling, right.own, right.ruling) == (INCONCLUSIVE, REPLACE, SERVICEABLE, REPLACE)
    assert {*left.reasons, *right.reasons} == {PairReason.SIDES_DIFFER}
    assert told(axle) == [(AFTER_CUTS, D("0.999"), Outcome.FAIL)]


def test_the_pair_rule_counts_the_cut_that_it_asks_for() -> None:
    policy = replace(MACHINED_ALIKE, axle_difference=D("0.05"))
    axle = on_axle(uneven("25"), good("25"), policy)
    assert [one.size for one in sides(axle)] == [D("24.9"), D("24.9")]
    assert axle.checks[-1].outcome is Outcome.PASS


def test_every_step_of_the_difference_is_told_and_the_last_is_how_the_sides_end() -> None:
    """Cutting the first to match makes it a machined side, so that the other is machined too, and it once more."""
    axle = on_axle(good("25.3"), good("24.9"), replace(MACHINED_ALIKE, axle_difference=D("0.1")))
    assert [one.size for one in sides(axle)] == [D("24.9"), D("24.8")]
    assert told(axle) == [
        (AFTER_CUTS, D("0.4"), Outcome.FAIL),
        (AFTER_MATCHING, D("0.2"), Outcome.FAIL),
        (AFTER_MATCHING, D("0.1"), Outcome.PASS),
    ]


def test_a_cut_that_was_asked_for_and_is_not_needed_is_left_out_where_the_sides_would_differ_by_it() -> None:
    """0.2 mm off one of two sides of 25 mm; a bound of 0.2 mm lets it be made, a bound of 0.1 mm does not."""
    asked = good("25", AskedCut(inboard=D("0.1"), outboard=D("0.1")))
    made = on_axle(asked, good("25"), within("0.2"))
    assert [one.size for one in sides(made)] == [D("24.8"), D("25")]
    left, right = sides(axle := on_axle(asked, good("25"), within("0.1")))
    assert (left.ruling, left.cut, left.size, right.size) == (SERVICEABLE, None, D("25"), D("25"))
    assert (left.reasons, right.reasons) == ((PairReason.ASKED_CUT_LEFT_OUT,), ())
    assert told(axle) == [(AFTER_CUTS, D("0"), Outcome.PASS)]
    assert "the one asked for would make the sides differ too much" in axle_sentences(axle)[0]

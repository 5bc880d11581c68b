"""Laws of the pair: none comes out better than by itself, no stricter rule makes anything better, sides are alike."""

from __future__ import annotations

import itertools
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import Phase, given
from hypothesis import settings as hypothesis_settings

from tests.judging.axle.pairs import Pairing, pairings
from tests.judging.laws.strategies import steps
from turnrule.judging.axle import AxleVerdict, SideRuling
from turnrule.judging.axle_sentences import axle_sentences, side_sentence
from turnrule.judging.planning_words import PairReason
from turnrule.judging.words import Outcome, PairRule, Ruling, Side

HALF = hypothesis_settings(max_examples=hypothesis_settings().max_examples // 2)
"""Two parts are judged for every pair: half as many pairs take as long."""


def both(axle: AxleVerdict) -> list[SideRuling]:
    """The sides that were measured."""
    return [one for one in (axle.left, axle.right) if one is not None]


@HALF
@given(pairings())
def test_no_side_comes_out_better_than_by_itself_and_the_axle_is_its_worst(pairing: Pairing) -> None:
    axle = pairing.verdict()
    for one in both(axle):
        assert one.ruling.rank >= one.own.rank
        assert one.because_of_partner is (one.ruling.rank > one.own.rank)
        assert bool(one.reasons) or not one.because_of_partner
        assert one.ruling.rank <= axle.ruling.rank
    worst = max(one.ruling.rank for one in both(axle))
    assert axle.ruling.rank == max(worst, Ruling.INCONCLUSIVE.rank if axle.missing else 0)


@HALF
@given(pairings())
def test_a_stricter_pair_rule_never_makes_a_side_better(pairing: Pairing) -> None:
    ranks = []
    for rule in PairRule:
        axle = pairing.verdict(policy=replace(pairing.setting.policy, pair_rule=rule))
        ranks.append([one.ruling.rank for one in both(axle)])
    for milder, stricter in itertools.pairwise(ranks):
        assert all(one <= other for one, other in zip(milder, stricter, strict=True))


@HALF
@given(pairings(), steps(0, 400), steps(0, 400))
def test_a_closer_bound_on_the_difference_never_makes_the_axle_better(
    pairing: Pairing, bound: Decimal, more: Decimal
) -> None:
    policy = pairing.setting.policy
    closer, wider, none = (
        pairing.verdict(policy=replace(policy, axle_difference=limit)) for limit in (bound, bound + more, None)
    )
    assert closer.ruling.rank >= wider.ruling.rank >= none.ruling.rank


@HALF
@given(pairings())
def test_swapping_the_sides_swaps_only_the_sides(pairing: Pairing) -> None:
    axle, swapped = pairing.verdict(), pairing.verdict(swapped=True)
    back = replace(
        swapped,
        left=None if swapped.right is None else replace(swapped.right, side=Side.LEFT),
        right=None if swapped.left is None else replace(swapped.left, side=Side.RIGHT),
        missing=tuple(Side.LEFT if side is Side.RIGHT else Side.RIGHT for side in swapped.missing),
    )
    assert back == axle


@HALF
@given(pairings())
def test_no_cut_of_a_pair_takes_more_than_the_room_of_the_part(pairing: Pairing) -> None:
    """The size in the end is the clean-up size less the cut, and lies within the room of the part's own verdict."""
    axle = pairing.verdict()
    for one, part in ((axle.left, pairing.left), (axle.right, pairing.right)):
        if one is None or part is None or not one.because_of_partner or one.ruling is not Ruling.MACHINE:
            continue
        own = replace(pairing.setting, part=part).verdict()
        assert own.room.most_total_cut is not None
        assert own.figures.clean_up is not None
        assert one.size is not None
        assert one.cut is not None
        taken = abs(Fraction(own.figures.clean_up) - Fraction(one.size)) / (1 if part.kind.is_rotor else 2)
        assert taken <= Fraction(own.room.most_total_cut)
        assert sum(one.cut.values()) >= taken


@HALF
@given(pairings())
def test_a_pair_that_passes_a_bound_is_within_it(pairing: Pairing) -> None:
    axle, bound = pairing.verdict(), pairing.setting.policy.axle_difference
    sizes = [one.size for one in both(axle) if one.size is not None]
    passed = [one.ruling in (Ruling.SERVICEABLE, Ruling.MACHINE) for one in both(axle)]
    if bound is not None and all(passed) and not axle.missing:
        assert len(sizes) == 2
        assert max(sizes) - min(sizes) <= bound
        assert axle.checks[-1].outcome is Outcome.PASS


@HALF
@given(pairings())
def test_every_axle_is_told_in_words(pairing: Pairing) -> None:
    axle = pairing.verdict()
    said = axle_sentences(axle)
    assert len(said) == 3
    assert all(sentence.endswith(".") for sentence in said)
    for one in both(axle):
        assert "by itself" in side_sentence(one)
        assert (", but it" in side_sentence(one)) is one.because_of_partner


def test_the_pairs_that_are_drawn_reach_every_reason_and_every_change() -> None:
    """Without it a law could hold because nothing ever happens."""
    seen: set[object] = set()

    @hypothesis_settings(max_examples=300, phases=[Phase.generate], database=None, derandomize=True)
    @given(pairings())
    def look(pairing: Pairing) -> None:
        for one in both(pairing.verdict()):
            seen.update((*one.reasons, (one.own, one.ruling)))

    look()
    rare = {
        PairReason.ROOM_UNKNOWN,
        PairReason.NO_ROOM_TO_MACHINE,
        PairReason.ASKED_CUT_LEFT_OUT,
    }  # the examples show them
    assert seen >= {*PairReason, *((own, own) for own in Ruling), *((Ruling.SERVICEABLE, end) for end in Ruling)} - rare

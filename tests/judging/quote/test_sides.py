"""Both sides of an axle by the quote: the policy's pair rule, and good practice where it only advises."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.judging.quote.quotes import (
    ALIKE,
    BOTH,
    EACH,
    LEFT,
    RIGHT,
    D,
    check,
    codes,
    good,
    good_drum,
    known,
    line,
    machine,
    near,
    on,
    renew,
    thin,
    uneven,
)
from tests.judging.samples import rotor
from turnrule.judging.policy import Policy
from turnrule.judging.quote_lines import KnownPart, Place, QuoteLine
from turnrule.judging.quote_words import Operation, QuoteCode
from turnrule.judging.words import Axle, CheckName, Kind

C = QuoteCode


def test_one_side_only_is_asked_about_where_the_policy_advises() -> None:
    found = check([renew(LEFT)], thin(LEFT), good(RIGHT))
    assert codes(found) == [C.ONE_SIDE_ONLY]
    assert found.findings[0].parts == (0, 1)
    assert found.agrees


def test_one_side_only_breaks_the_rule_that_replaces_both() -> None:
    found = check([renew(LEFT)], thin(LEFT), good(RIGHT), policy=BOTH)
    assert codes(found) == [C.PAIR_RULE_BROKEN]
    assert found.findings[0].sentence.startswith("The front left brake rotor is quoted to be replaced, and the policy")


def test_machine_both_leaves_replacing_to_one_side() -> None:
    assert codes(check([renew(LEFT)], thin(LEFT), good(RIGHT), policy=ALIKE)) == [C.ONE_SIDE_ONLY]


@pytest.mark.parametrize("policy", [ALIKE, BOTH])
def test_machine_one_machine_both(policy: Policy) -> None:
    assert codes(check([machine(LEFT)], uneven(LEFT), good(RIGHT), policy=policy)) == [C.PAIR_RULE_BROKEN]
    whole = check([machine(*EACH)], uneven(LEFT), good(RIGHT), policy=policy)
    assert codes(whole) == [C.MACHINED_FOR_THE_PAIR]


def test_a_side_that_is_left_out_breaks_the_rule_for_its_partner_too() -> None:
    found = check([], thin(LEFT), good(RIGHT), policy=BOTH)
    assert codes(found) == [C.BAD_PART_LEFT_OUT, C.PAIR_RULE_BROKEN]
    assert found.findings[1].sentence.startswith("The front left brake rotor is to be replaced, and the policy")


def test_a_partner_that_is_bad_itself_is_told_once() -> None:
    assert codes(check([renew(LEFT)], thin(LEFT), thin(RIGHT), policy=BOTH)) == [C.BAD_PART_LEFT_OUT]


def test_one_machined_and_one_replaced() -> None:
    lines = [machine(LEFT), renew(RIGHT)]
    assert codes(check(lines, uneven(LEFT), thin(RIGHT))) == [C.ONE_SIDE_ONLY]
    assert codes(check(lines, uneven(LEFT), thin(RIGHT), policy=BOTH)) == [C.PAIR_RULE_BROKEN]


def test_both_machined_where_one_must_be_replaced_is_no_work_on_one_side_only() -> None:
    assert codes(check([machine(*EACH)], uneven(LEFT), thin(RIGHT))) == [C.MACHINING_OF_PART_TO_REPLACE]


def test_the_other_side_was_not_measured() -> None:
    assert codes(check([renew(LEFT)], thin(LEFT))) == [C.ONE_SIDE_ONLY]
    assert codes(check([renew(LEFT)], thin(LEFT), policy=BOTH)) == [C.PAIR_RULE_BROKEN, C.OTHER_SIDE_NOT_MEASURED]
    assert codes(check([renew(LEFT)], thin(LEFT), policy=ALIKE)) == [C.OTHER_SIDE_NOT_MEASURED, C.ONE_SIDE_ONLY]
    named = KnownPart("right", Place(Axle.FRONT, RIGHT, Kind.ROTOR))
    assert C.OTHER_SIDE_NOT_MEASURED in codes(check([renew(LEFT)], thin(LEFT), named, policy=BOTH))


def test_a_part_of_which_no_side_is_known_has_no_other_side() -> None:
    part = replace(thin(), side=None)
    line_on_it = QuoteLine(Operation.REPLACE, part="left", charge=renew(LEFT).charge)
    assert codes(check([line_on_it], known(part), policy=BOTH)) == []
    assert codes(check([line_on_it], known(replace(good(), side=None)), policy=BOTH)) == [C.REPLACEMENT_NOT_NEEDED]


def test_sides_that_would_end_too_far_apart_are_brought_together() -> None:
    close = Policy(axle_difference=D("0.2"))
    found = check([machine(LEFT)], uneven(LEFT, "25.0"), good(RIGHT), policy=close)
    assert C.PAIR_RULE_BROKEN in codes(found)
    told = next(one for one in found.findings if one.code is C.PAIR_RULE_BROKEN)
    assert told.parts == (1,)
    assert "it has to be cut to match the other side" in told.sentence
    assert told.evidence is not None
    assert told.evidence.check is CheckName.AXLE_DIFFERENCE
    both = check([machine(*EACH)], uneven(LEFT, "25.0"), good(RIGHT), policy=close)
    assert C.PAIR_RULE_BROKEN not in codes(both)


def test_a_partner_without_room_is_replaced() -> None:
    found = check([machine(*EACH)], uneven(LEFT), good(RIGHT, "24.6"), policy=ALIKE)
    assert codes(found)[:2] == [C.NO_ROOM_TO_MACHINE, C.PAIR_RULE_BROKEN]
    told = next(one for one in found.findings if one.code is C.PAIR_RULE_BROKEN)
    assert "it has no room for a cut" in told.sentence
    assert told.evidence is not None
    assert told.evidence.quantity == "pair_rule"


def test_an_open_partner_settles_nothing() -> None:
    assert C.PAIR_RULE_BROKEN not in codes(check([], near(LEFT), good(RIGHT), policy=BOTH))


def test_parts_of_two_vehicles_are_no_pair() -> None:
    other = on(rotor("25.5", "25.5", "25.5", "25.5", lateral_runout=D("0.02")), RIGHT, model="Quorrel")
    found = check([], good(LEFT), other)
    assert codes(found) == [C.VEHICLES_DIFFER] * 2
    option = on(rotor("25.5", "25.5", "25.5", "25.5", lateral_runout=D("0.02")), RIGHT, brake_option="B20")
    assert codes(check([], good(LEFT), option)) == [C.VEHICLES_DIFFER]


def test_a_pair_is_of_one_axle_and_one_kind() -> None:
    assert codes(check([renew(LEFT)], thin(LEFT), good_drum(RIGHT))) == [C.ONE_SIDE_ONLY]


def test_a_side_whose_verdict_came_without_its_part_is_not_judged_as_a_pair() -> None:
    bare = replace(known(good(RIGHT)), part=None, told=Place(Axle.FRONT, RIGHT, Kind.ROTOR))
    assert codes(check([], good(LEFT), bare, policy=ALIKE)) == []


def test_other_work_asks_for_no_partner() -> None:
    assert codes(check([line(Operation.CLEAN, LEFT)], good(LEFT), good(RIGHT), policy=BOTH)) == []

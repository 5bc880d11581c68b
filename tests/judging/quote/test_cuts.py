"""The cut that a quote plans, against the part."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.judging.quote.quotes import (
    EACH,
    LEFT,
    RIGHT,
    D,
    barred,
    check,
    codes,
    cut,
    good,
    good_drum,
    known,
    machine,
    near,
    on,
    uneven,
)
from tests.judging.samples import DRUM, ROTOR, drum, rotor
from turnrule.judging.parts import AskedCut
from turnrule.judging.policy import Policy
from turnrule.judging.quote_lines import KnownPart, QuoteLine
from turnrule.judging.quote_words import Measure, Operation, QuoteCode
from turnrule.judging.words import Axle, CheckName, Face, Kind, LatheKind, Machining, Zero

C = QuoteCode
BESIDE = {C.ONE_SIDE_ONLY, C.MACHINING_NOT_NEEDED}


def cutting(depths: AskedCut, part: object, policy: Policy | None = None) -> list[QuoteCode]:
    """What is found of the cut of a line on one part."""
    found = check([machine(LEFT, cut=depths, lathe=LatheKind.ON_VEHICLE)], part, policy=policy)  # type: ignore[arg-type]
    return [code for code in codes(found) if code not in BESIDE]


def test_the_cut_that_was_judged() -> None:
    assert cutting(cut("0.05", "0.05"), uneven()) == []


def test_a_cut_other_than_the_one_that_was_judged_is_asked_about() -> None:
    found = check([machine(LEFT, cut=cut("0.1", "0.05"))], uneven())
    assert C.CUT_DIFFERS in codes(found)
    held = next(one.evidence for one in found.findings if one.code is C.CUT_DIFFERS)
    assert held is not None
    assert (held.value, held.limit, held.margin) == (D("0.15"), D("0.10"), D("-0.05"))


def test_a_cut_into_its_last_tenth_of_a_micrometre() -> None:
    part = uneven(size="24.7")
    room = known(part).verdict.room.most_total_cut  # type: ignore[union-attr]
    assert room is not None
    whole = AskedCut(room / 2, room / 2)
    assert C.CUT_TOO_DEEP not in cutting(whole, part)
    deeper = AskedCut(room / 2, room / 2 + D("0.0001"))
    found = check([machine(LEFT, cut=deeper)], part)
    first = found.findings[0]
    assert first.code is C.CUT_TOO_DEEP
    assert first.evidence is not None
    assert first.evidence.margin == D("-0.0001")
    assert first.evidence.measure is Measure.LENGTH


def test_a_part_without_any_room() -> None:
    part = good(size="24.6")
    assert cutting(cut("0.01", "0.01"), part) == [C.CUT_TOO_DEEP]
    assert cutting(cut("0", "0"), part) == [C.CUT_TOO_DEEP]  # by the guard band alone
    assert C.NO_ROOM_TO_MACHINE in codes(check([machine(LEFT)], part))


def test_the_least_cut_of_a_part_that_has_little_room() -> None:
    assert C.NO_ROOM_TO_MACHINE in codes(check([machine(LEFT)], good(size="24.68")))
    assert C.NO_ROOM_TO_MACHINE not in codes(check([machine(LEFT)], good(size="24.72")))


def test_a_groove_deeper_than_the_cut() -> None:
    part = replace(uneven(), readings=replace(uneven().readings, grooves={Face.INBOARD: D("0.1")}))
    found = check([machine(LEFT, cut=cut("0.08", "0.05"))], part)
    first = found.findings[0]
    assert first.code is C.CUT_DOES_NOT_CLEAN_UP
    assert first.evidence is not None
    assert (first.evidence.value, first.evidence.limit) == (D("0.08"), D("0.1"))
    assert first.evidence.check is CheckName.CUT_CLEANS_UP
    assert cutting(cut("0.1", "0.05"), part) == []


def test_faces_out_of_balance() -> None:
    strict = Policy(face_balance=D("0.05"))
    assert C.CUT_OUT_OF_BALANCE in cutting(cut("0.2", "0.1"), uneven(), strict)
    assert C.CUT_OUT_OF_BALANCE not in cutting(cut("0.15", "0.1"), uneven(), strict)


def test_a_drum_is_cut_on_the_radius() -> None:
    line = QuoteLine(Operation.MACHINE, axle=Axle.REAR, sides=EACH, kind=Kind.DRUM, cut=AskedCut(depth=D("0.5")))
    found = check([line], good_drum(LEFT), good_drum(RIGHT))
    assert [code for code in codes(found) if code is C.CUT_TOO_DEEP] == [C.CUT_TOO_DEEP] * 2
    shallow = replace(line, cut=AskedCut(depth=D("0.4")))
    assert C.CUT_TOO_DEEP not in codes(check([shallow], good_drum(LEFT), good_drum(RIGHT)))


def test_the_cut_of_a_drum_in_words() -> None:
    oval = on(drum("280.5", "280.5", "280.5", "280.3", setup_runout=D(0)), LEFT, Axle.REAR)
    line = QuoteLine(Operation.MACHINE, part="left", cut=AskedCut(depth=D("0.06")))
    found = check([line], oval)
    told = next(one.sentence for one in found.findings if one.code is C.CUT_DIFFERS)
    assert "(0.06 mm) is another one than it was judged for (0.05 mm)" in told


def test_a_machining_limit_that_is_not_known() -> None:
    part = known(good(), limits=replace(ROTOR, machining=None))
    assert cutting(cut("0.1", "0.1"), part) == [C.CUT_CANNOT_BE_JUDGED]
    drums = known(good_drum(), limits=replace(DRUM, machining=None))
    line = QuoteLine(Operation.MACHINE, part="left", cut=AskedCut(depth=D("0.1")))
    assert C.CUT_CANNOT_BE_JUDGED in codes(check([line], drums))


def test_a_limit_of_the_policy_alone_can_fail_a_cut_and_not_pass_it() -> None:
    strict = Policy(machining_margin=D("0.1"), wear_allowance=D("0.5"))
    part = known(good(), strict, limits=replace(ROTOR, machining=None))
    assert C.CUT_CANNOT_BE_JUDGED in cutting(cut("0.1", "0.1"), part, strict)
    assert C.CUT_TOO_DEEP in cutting(cut("0.6", "0.6"), part, strict)


def test_a_part_whose_size_nobody_read() -> None:
    unread = on(rotor(lateral_runout=D("0.02")), LEFT)
    assert C.CUT_CANNOT_BE_JUDGED not in cutting(cut("0.1", "0.1"), unread)


def test_a_part_that_was_judged_for_a_lathe_that_its_maker_does_not_allow() -> None:
    part = known(replace(good(), lathe=LatheKind.BENCH), limits=barred(Machining.ON_VEHICLE_ONLY))
    assert cutting(cut("0.1", "0.1"), part) == []
    assert cutting(cut("0.9", "0.9"), part) == [C.CUT_TOO_DEEP]


@pytest.mark.parametrize(
    ("permission", "lathe"), [(Machining.ON_VEHICLE_ONLY, None), (Machining.PERMITTED, LatheKind.BENCH)]
)
def test_no_room_is_no_room_on_the_lathe_that_is_allowed(permission: Machining, lathe: LatheKind | None) -> None:
    part = known(replace(good(size="24.6"), lathe=lathe), limits=barred(permission))
    assert cutting(cut("0", "0"), part) == [C.CUT_TOO_DEEP]  # by the guard band alone


def test_a_verdict_without_its_part_has_no_cut_to_judge() -> None:
    whole = known(uneven())
    bare = replace(whole, part=None)
    assert isinstance(bare, KnownPart)
    line = QuoteLine(Operation.MACHINE, part="left", cut=cut("9", "9"))
    assert C.CUT_TOO_DEEP not in codes(check([line], bare))


def test_an_open_part_is_held_to_its_room_all_the_same() -> None:
    assert C.CUT_TOO_DEEP in cutting(cut("0.5", "0.5"), near())


def test_a_cut_asked_for_that_did_not_clean_up_is_known_by_the_least_one_that_does() -> None:
    grooved = replace(uneven(), readings=replace(uneven().readings, grooves={Face.INBOARD: D("0.1")}))
    part = replace(grooved, cut=cut("0.05", "0.05"))
    assert cutting(cut("0.1", "0"), part) == []


def test_a_cut_that_was_judged_from_first_contact_is_not_compared() -> None:
    part = replace(uneven(), cut=AskedCut(D("0.2"), D("0.2"), zero=Zero.FIRST_CONTACT))
    assert cutting(cut("0.05", "0.05"), part) == []

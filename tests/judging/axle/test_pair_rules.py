"""The pair rule: what each side comes to by itself, and what its partner makes of it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.axle.pairs import (
    MACHINED_ALIKE,
    REPLACED_ALIKE,
    good,
    good_drum,
    judged,
    on_axle,
    oval,
    uneven,
)
from tests.judging.samples import ROTOR, drum, rotor
from turnrule.judging.axle import AxleVerdict, SideRuling, judge_axle
from turnrule.judging.axle_sentences import axle_sentences
from turnrule.judging.faults import PartError
from turnrule.judging.parts import Application, AskedCut, Part, Readings
from turnrule.judging.planning_words import PairReason
from turnrule.judging.policy import Policy
from turnrule.judging.words import Axle, Face, LatheKind, Machining, PairRule, Ruling, Side, Zero

D = Decimal
SERVICEABLE, MACHINE, INCONCLUSIVE, REPLACE = Ruling
LEAST = {Face.INBOARD: D("0.05"), Face.OUTBOARD: D("0.05")}


def sides(axle: AxleVerdict) -> tuple[SideRuling, SideRuling]:
    """Both sides of an axle that was measured whole."""
    assert axle.left is not None
    assert axle.right is not None
    return axle.left, axle.right


def test_by_advice_each_side_keeps_its_own_verdict() -> None:
    axle = on_axle(uneven("25"), good("25"))
    left, right = sides(axle)
    assert (left.ruling, right.ruling, axle.ruling) == (MACHINE, SERVICEABLE, MACHINE)
    assert not left.because_of_partner
    assert not right.because_of_partner
    assert (left.cut, right.cut) == (LEAST, None)
    assert (left.size, right.size) == (D("24.9"), D(25))


def test_machine_one_machine_both_and_the_trace_says_that_the_partner_passed() -> None:
    axle = on_axle(uneven("25"), good("25"), MACHINED_ALIKE)
    left, right = sides(axle)
    assert (right.own, right.ruling, right.reasons) == (SERVICEABLE, MACHINE, (PairReason.PARTNER_IS_MACHINED,))
    assert right.passed_itself
    assert right.because_of_partner
    assert (right.cut, right.size) == (LEAST, D("24.9"))
    assert (left.ruling, left.reasons) == (MACHINE, ())


def test_a_side_without_room_is_replaced_where_both_must_be_machined_and_it_is_said() -> None:
    axle = on_axle(uneven("25"), good("24.7"), MACHINED_ALIKE)
    left, right = sides(axle)
    assert left.ruling is MACHINE
    assert (right.own, right.ruling) == (SERVICEABLE, REPLACE)
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.NO_ROOM_TO_MACHINE)
    assert (right.cut, right.size) == (None, None)
    assert "it has no room for a cut" in axle_sentences(axle)[1]


def test_room_that_is_just_enough_is_enough() -> None:
    """The least size left is 24.6 plus the guard band of 0.0077 mm, and both faces lose 0.05 mm."""
    for size, ruling in (("24.7077", MACHINE), ("24.7076", REPLACE)):
        assert sides(on_axle(uneven("25"), good(size), MACHINED_ALIKE))[1].ruling is ruling


def test_a_side_that_is_not_cut_ends_at_its_worst_size() -> None:
    thinnest = rotor("25", "25.01", "25", "25.01", setup_runout=D(0))
    widest = drum("280.5", "280.51", "280.5", "280.51", setup_runout=D(0))
    assert [one.size for one in sides(on_axle(thinnest, thinnest))] == [D(25), D(25)]
    assert [one.size for one in sides(on_axle(widest, widest))] == [D("280.51"), D("280.51")]


def test_a_side_that_may_not_be_machined_has_no_room() -> None:
    barred = replace(ROTOR, permission=Machining.PROHIBITED, machining=None)
    axle = on_axle(good("25"), good("25"), MACHINED_ALIKE, limits=barred)
    assert axle.ruling is SERVICEABLE
    on_vehicle = replace(ROTOR, permission=Machining.ON_VEHICLE_ONLY)
    on_bench = replace(good("25"), lathe=LatheKind.BENCH)
    on_hub = replace(uneven("25"), lathe=LatheKind.ON_VEHICLE)
    _, right = sides(on_axle(on_hub, on_bench, MACHINED_ALIKE, limits=on_vehicle))
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.NO_ROOM_TO_MACHINE)


def test_where_the_room_is_not_known_the_pair_is_not_settled() -> None:
    unknown = judged(good("25"), MACHINED_ALIKE, replace(ROTOR, machining=None))
    axle = judge_axle(judged(uneven("25"), MACHINED_ALIKE), unknown, MACHINED_ALIKE)
    _, right = sides(axle)
    assert (right.own, right.ruling) == (SERVICEABLE, INCONCLUSIVE)
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.ROOM_UNKNOWN)
    barred = judged(good("25"), MACHINED_ALIKE, replace(ROTOR, machining=None, permission=Machining.PROHIBITED))
    _, right = sides(judge_axle(judged(uneven("25"), MACHINED_ALIKE), barred, MACHINED_ALIKE))
    assert right.ruling is REPLACE


@pytest.mark.parametrize(("lathe", "known"), [(LatheKind.BENCH, True), (LatheKind.ON_VEHICLE, False), (None, False)])
def test_a_bench_lathe_gives_no_room_to_a_part_that_is_cut_on_the_vehicle_only(
    lathe: LatheKind | None, *, known: bool
) -> None:
    limits = replace(ROTOR, machining=None, permission=Machining.ON_VEHICLE_ONLY)
    partner = judged(uneven("25"), MACHINED_ALIKE)
    _, right = sides(
        judge_axle(partner, judged(replace(good("25"), lathe=lathe), MACHINED_ALIKE, limits), MACHINED_ALIKE)
    )
    why = PairReason.NO_ROOM_TO_MACHINE if known else PairReason.ROOM_UNKNOWN
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, why)


@pytest.mark.parametrize("rule", PairRule)
def test_a_pair_whose_sides_need_the_same_is_left_as_it_is_by_every_rule(rule: PairRule) -> None:
    for part, ruling in ((good("25"), SERVICEABLE), (uneven("25"), MACHINE), (good("23"), REPLACE)):
        for one in sides(on_axle(part, part, Policy(pair_rule=rule))):
            assert (one.own, one.ruling, one.reasons) == (ruling, ruling, ())


def test_a_wear_allowance_of_the_policy_is_no_machining_limit_to_have_room_by() -> None:
    policy = replace(MACHINED_ALIKE, wear_allowance=D("0.2"))
    unknown = judged(good("25"), policy, replace(ROTOR, machining=None))
    _, right = sides(judge_axle(judged(uneven("25"), policy), unknown, policy))
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.ROOM_UNKNOWN)


def test_replace_one_replace_both_and_the_trace_says_that_the_partner_passed() -> None:
    """TM 5-3825-229-14&P 4-36 (READ): a drum that is too far over goes, and the one on the other side with it."""
    axle = on_axle(good_drum("282.1"), good_drum("280.5"), REPLACED_ALIKE)
    left, right = sides(axle)
    assert (left.own, left.ruling, left.reasons) == (REPLACE, REPLACE, ())
    assert (right.own, right.ruling, right.reasons) == (SERVICEABLE, REPLACE, (PairReason.PARTNER_IS_REPLACED,))
    assert right.passed_itself
    assert axle_sentences(axle) == (
        "The left side must be replaced by itself.",
        (
            "The right side can stay in service by itself, but it is to be replaced: "
            "the other side is replaced, and the policy asks for both."
        ),
        "The policy asks that both sides be machined where one is, and replaced where one is.",
    )


@pytest.mark.parametrize("rule", [PairRule.ADVISE, PairRule.MACHINE_BOTH])
def test_a_milder_rule_leaves_the_partner_of_a_replaced_part_alone(rule: PairRule) -> None:
    _, right = sides(on_axle(good_drum("282.1"), good_drum("280.5"), Policy(pair_rule=rule)))
    assert (right.ruling, right.reasons) == (SERVICEABLE, ())


def test_do_both_drums() -> None:
    """TM 10-3930-630-34 (READ): both drums are resurfaced where one has to be; a cut counts twice on the diameter."""
    axle = on_axle(oval("280.5"), good_drum("280.4"), MACHINED_ALIKE)
    left, right = sides(axle)
    assert (left.ruling, right.ruling) == (MACHINE, MACHINE)
    assert (left.size, right.size) == (D("280.6"), D("280.5"))
    assert right.cut == {Face.DEPTH: D("0.05")}


def test_a_side_without_room_drags_its_partner_where_both_must_be_replaced() -> None:
    left, right = sides(on_axle(uneven("25"), good("24.7"), REPLACED_ALIKE))
    assert right.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.NO_ROOM_TO_MACHINE)
    assert (left.own, left.ruling, left.reasons) == (MACHINE, REPLACE, (PairReason.PARTNER_IS_REPLACED,))


@pytest.mark.parametrize(
    ("rule", "other", "ruling"),
    [
        (PairRule.ADVISE, good("25"), SERVICEABLE),
        (PairRule.ADVISE, uneven("25"), MACHINE),
        (PairRule.MACHINE_BOTH, good("25"), INCONCLUSIVE),
        (PairRule.MACHINE_BOTH, uneven("25"), MACHINE),
        (PairRule.REPLACE_BOTH, good("25"), INCONCLUSIVE),
        (PairRule.REPLACE_BOTH, good("23"), REPLACE),
    ],
)
@pytest.mark.parametrize("measured", [False, True])
def test_a_partner_that_is_open_leaves_a_side_open_where_it_could_drag_it(
    rule: PairRule, other: Part, ruling: Ruling, *, measured: bool
) -> None:
    """24.001 mm is too near the discard limit of 24 mm for the gauge."""
    axle = on_axle(good("24.001") if measured else None, other, Policy(pair_rule=rule))
    assert axle.right is not None
    assert axle.right.ruling is ruling
    waits = PairReason.PARTNER_IS_OPEN if measured else PairReason.PARTNER_NOT_MEASURED
    assert axle.right.reasons == ((waits,) if ruling is INCONCLUSIVE else ())
    assert axle.ruling.rank >= INCONCLUSIVE.rank
    assert axle.missing == (() if measured else (Side.LEFT,))


def test_a_part_that_is_open_itself_is_replaced_with_its_partner_and_else_stays_open() -> None:
    left, _ = sides(on_axle(good("24.001"), good("23"), REPLACED_ALIKE))
    assert (left.own, left.ruling, left.passed_itself) == (INCONCLUSIVE, REPLACE, False)
    left, right = sides(on_axle(good("24.001"), good("24.002"), REPLACED_ALIKE))
    assert (left.ruling, right.ruling, left.reasons) == (INCONCLUSIVE, INCONCLUSIVE, ())


def test_an_axle_with_one_side_measured_is_never_passed_and_says_so() -> None:
    axle = on_axle(None, good("25"))
    assert (axle.ruling, axle.left, axle.missing) == (INCONCLUSIVE, None, (Side.LEFT,))
    assert axle_sentences(axle) == (
        "The right side can stay in service by itself.",
        "The left side is not measured: the axle cannot be passed.",
        "Look at both sides: sides that differ pull.",
    )


def test_an_asked_for_cut_that_is_deep_enough_is_the_one_that_is_made() -> None:
    asked = AskedCut(D("0.08"), D("0.06"))
    _, right = sides(on_axle(uneven("25"), good("25", asked), MACHINED_ALIKE))
    assert right.cut == {Face.INBOARD: D("0.08"), Face.OUTBOARD: D("0.06")}
    assert right.size == D("24.86")


def test_an_asked_for_cut_that_is_shallower_on_one_face_is_deepened_there() -> None:
    asked = AskedCut(D("0.08"), D("0.01"))
    _, right = sides(on_axle(uneven("25"), good("25", asked), MACHINED_ALIKE))
    assert right.cut == {Face.INBOARD: D("0.08"), Face.OUTBOARD: D("0.05")}
    assert right.size == D("24.87")


def test_an_asked_for_cut_from_first_contact_that_leaves_places_uncut_gives_way_to_the_least_one() -> None:
    shallow = AskedCut(D("0.02"), D("0.02"), zero=Zero.FIRST_CONTACT)
    wobbling = replace(good("25", shallow), readings=replace(good("25").readings, setup_runout=D("0.1")))
    _, right = sides(on_axle(uneven("25"), wobbling, MACHINED_ALIKE))
    assert (right.cut, right.size) == (LEAST, D("24.8"))


def test_an_asked_for_cut_from_first_contact_that_cleans_up_is_the_one_that_is_made() -> None:
    deep = AskedCut(D("0.05"), D("0.05"), zero=Zero.FIRST_CONTACT)
    wobbling = replace(good("25", deep), readings=replace(good("25").readings, setup_runout=D("0.03")))
    _, right = sides(on_axle(uneven("25"), wobbling, MACHINED_ALIKE))
    assert (right.cut, right.size) == (LEAST, D("24.93"))


def test_an_asked_for_cut_of_nothing_is_no_cut() -> None:
    _, right = sides(on_axle(uneven("25"), good("25", AskedCut(D(0), D(0)))))
    assert (right.cut, right.size) == (None, D(25))


def test_an_asked_for_cut_that_is_not_allowed_is_not_made_on_a_good_part() -> None:
    _, right = sides(on_axle(uneven("25"), good("25", AskedCut(D("0.3"), D("0.3")))))
    assert (right.ruling, right.cut, right.size) == (SERVICEABLE, None, D(25))


def test_where_the_asked_for_cut_falls_short_the_least_cleaning_one_is_made() -> None:
    short = AskedCut(D("0.02"), D("0.02"), zero=Zero.FIRST_CONTACT)
    part = uneven("25", short)
    wobbling = replace(part, readings=replace(part.readings, setup_runout=D("0.05")))
    left, _ = sides(on_axle(wobbling, good("25")))
    assert left.ruling is MACHINE
    assert left.cut == {Face.INBOARD: D("0.05"), Face.OUTBOARD: D("0.05")}
    assert left.size == D("24.95")


PLACE = Application("Corvane", "Ostrel", 2022, Axle.FRONT)


@pytest.mark.parametrize(
    ("left", "right", "pointers"),
    [
        (None, None, ["/left"]),
        (replace(good("25"), side=Side.RIGHT), good("25"), ["/left/side"]),
        (good("25"), replace(good("25"), side=Side.LEFT), ["/right/side"]),
        (good("25"), good_drum("280.5"), ["/right/kind"]),
        (replace(good("25"), application=PLACE), good("25"), ["/right/application"]),
    ],
)
def test_what_is_no_pair_is_refused_by_its_field(left: Part | None, right: Part | None, pointers: list[str]) -> None:
    with pytest.raises(PartError) as refused:
        on_axle(left, right)
    assert [fault.pointer for fault in refused.value.faults] == pointers


def test_sides_that_are_named_right_are_a_pair() -> None:
    left, right = (replace(good("25"), side=side, application=PLACE) for side in Side)
    assert on_axle(left, right).ruling is SERVICEABLE


def test_a_side_is_replaced_now_where_the_open_one_could_not_be_machined_with_it_in_any_case() -> None:
    """24.001 mm may stay in service if a finer gauge proves it; but there is no cut in it."""
    left, right = sides(on_axle(good("24.001"), uneven("25"), REPLACED_ALIKE))
    assert (left.own, left.ruling, right.own, right.ruling) == (INCONCLUSIVE, REPLACE, MACHINE, REPLACE)
    assert left.reasons == (PairReason.PARTNER_IS_MACHINED, PairReason.NO_ROOM_TO_MACHINE)
    assert right.reasons == (PairReason.PARTNER_IS_REPLACED,)


def test_a_side_of_which_no_size_was_read_stays_open_beside_one_that_is_machined() -> None:
    unread = replace(good("25"), readings=Readings())
    for rule in (PairRule.MACHINE_BOTH, PairRule.REPLACE_BOTH):
        left, _ = sides(on_axle(unread, uneven("25"), Policy(pair_rule=rule)))
        assert (left.own, left.ruling) == (INCONCLUSIVE, INCONCLUSIVE)


@pytest.mark.parametrize(("size", "ruling"), [("24.25", INCONCLUSIVE), ("24.05", REPLACE)])
def test_room_that_is_not_known_is_none_where_the_limits_that_are_known_leave_none(size: str, ruling: Ruling) -> None:
    """Without a machining limit the discard limit of 24 mm bounds every cut; the least one takes 0.1 mm."""
    limits = replace(ROTOR, machining=None)
    given = judged(good(size), MACHINED_ALIKE, limits), judged(uneven("25"), MACHINED_ALIKE)
    left, _ = sides(judge_axle(*given, MACHINED_ALIKE))
    assert left.ruling is ruling


def test_a_lighter_cut_that_was_asked_for_serves_where_the_usual_one_has_no_room() -> None:
    """24.69 mm has no room for 0.1 mm above 24.6 mm; for the 0.04 mm that were asked for it has."""
    asked = AskedCut(inboard=D("0.02"), outboard=D("0.02"))
    without, _ = sides(on_axle(good("24.69"), uneven("25"), MACHINED_ALIKE))
    left, _ = sides(on_axle(good("24.69", asked), uneven("25"), MACHINED_ALIKE))
    assert (without.ruling, left.ruling) == (REPLACE, MACHINE)
    assert left.cut == {Face.INBOARD: D("0.02"), Face.OUTBOARD: D("0.02")}

"""The verdict on plain parts: what replaces, what machines, what is left open. The figures are made up."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.samples import DRUM, ROTOR, checks_named, codes, drum, rotor, sizes, verdict_on
from turnrule.judging.faults import PartError
from turnrule.judging.parts import AskedCut, EarlierReading, Instrument, ReportedFinding
from turnrule.judging.policy import Policy
from turnrule.judging.words import (
    CheckName,
    Construction,
    DecisionRule,
    Effect,
    Face,
    Kind,
    LatheKind,
    Machining,
    Origin,
    Outcome,
    Overdue,
    Reading,
    Ruling,
    RunoutPlace,
    Stage,
    Zero,
)

D = Decimal
GOOD = rotor(*["25.00"] * 8, lateral_runout=D("0.03"))
WAVY = rotor("25.00", "25.02", "25.00", "25.02", lateral_runout=D("0.03"))


def test_a_thick_true_rotor_is_serviceable_and_no_cut_is_judged() -> None:
    verdict = verdict_on(GOOD)
    assert verdict.ruling is Ruling.SERVICEABLE
    assert verdict.cut is None
    assert checks_named(verdict, CheckName.CUT_CLEANS_UP)[0].reason == "no machining is asked for"
    assert verdict.governing is not None
    assert verdict.governing.check is CheckName.DISCARD_LIMIT


def test_every_check_is_listed_in_the_order_of_the_rules_whatever_fails() -> None:
    thin = rotor("23.00", "23.05", "23.00", "23.05", lateral_runout=D("0.3"))
    verdict = verdict_on(replace(thin, findings=(ReportedFinding("crack"),)))
    order = [name for name in CheckName if name is not CheckName.OUT_OF_ROUND and name is not CheckName.SURFACE_FINISH]
    assert [check.check for check in verdict.checks] == order
    assert verdict.ruling is Ruling.REPLACE


def test_a_wavy_rotor_is_machined_with_the_least_cut_of_good_practice() -> None:
    verdict = verdict_on(WAVY)
    assert verdict.ruling is Ruling.MACHINE
    assert verdict.cut is not None
    assert verdict.cut.depths == {Face.INBOARD: D("0.05"), Face.OUTBOARD: D("0.05")}
    assert (verdict.cut.asked, verdict.cut.allowed, verdict.cut.cleans_up) == (False, True, True)
    assert verdict.figures.clean_up == D("24.97")
    assert verdict.figures.after_cut == D("24.87")


def test_between_the_limits_a_true_rotor_stays_and_a_wavy_one_goes() -> None:
    assert verdict_on(rotor(*["24.30"] * 4)).ruling is Ruling.SERVICEABLE
    gone = verdict_on(rotor("24.30", "24.33", "24.30", "24.33"))
    assert gone.ruling is Ruling.REPLACE
    assert gone.governing is not None
    assert gone.governing.check is CheckName.MACHINING_LIMIT


@pytest.mark.parametrize(
    ("thickness", "rule", "outcome"),
    [
        ("24.0077", DecisionRule.GUARDED, Outcome.PASS),
        ("24.0076", DecisionRule.GUARDED, Outcome.UNPROVEN),
        ("24.0000", DecisionRule.GUARDED, Outcome.UNPROVEN),
        ("23.9999", DecisionRule.GUARDED, Outcome.FAIL),
        ("24.0000", DecisionRule.SIMPLE, Outcome.PASS),
        ("23.9999", DecisionRule.SIMPLE, Outcome.FAIL),
    ],
)
def test_the_guard_band_lies_between_pass_and_fail(thickness: str, rule: DecisionRule, outcome: Outcome) -> None:
    """Default gauge: resolution 0.01, U 0.005: 2u = 0.007638, rounded up 0.0077."""
    verdict = verdict_on(rotor(*[thickness] * 4), policy=Policy(decision_rule=rule))
    assert checks_named(verdict, CheckName.DISCARD_LIMIT)[0].outcome is outcome


def test_an_unproven_part_is_told_what_would_settle_it() -> None:
    verdict = verdict_on(rotor(*["24.005"] * 4))
    assert verdict.ruling is Ruling.INCONCLUSIVE
    [settling] = verdict.room.settled_by
    assert settling.reading_needed == D("24.0077")
    assert settling.expanded_uncertainty_at_most == D("0.005")
    assert "finer gauge" in verdict.next_steps[0]


def test_a_part_exactly_at_its_limit_cannot_be_settled_by_any_gauge() -> None:
    [settling] = verdict_on(rotor(*["24"] * 4)).room.settled_by
    assert settling.expanded_uncertainty_at_most is None


def test_a_rotor_without_a_thickness_is_left_open_and_a_cracked_one_is_not() -> None:
    unread = rotor(lateral_runout=D("0.03"))
    verdict = verdict_on(unread)
    assert (verdict.ruling, verdict.missing) == (Ruling.INCONCLUSIVE, ("thickness",))
    assert "not_measured" in codes(verdict)
    assert verdict.room.settled_by[0].missing == "thickness"
    assert verdict_on(replace(unread, findings=(ReportedFinding("crack"),))).ruling is Ruling.REPLACE


def test_machining_that_is_needed_without_a_machining_limit_is_left_open() -> None:
    limits = replace(ROTOR, machining=None)
    verdict = verdict_on(WAVY, limits)
    assert verdict.ruling is Ruling.INCONCLUSIVE
    assert verdict.missing == ("minimum_machining_thickness",)
    assert verdict.cut is not None
    assert verdict.cut.allowed is None
    assert verdict.room.most_total_cut is None
    assert "machining_limit_missing" in codes(verdict)


def test_a_policy_may_derive_the_machining_limit_from_the_discard_limit() -> None:
    policy = Policy(derive_machining_limit=True, wear_allowance=D("0.4"))
    verdict = verdict_on(WAVY, replace(ROTOR, machining=None), policy=policy)
    assert verdict.ruling is Ruling.MACHINE
    assert verdict.limits.machining is not None
    assert (verdict.limits.machining.value, verdict.limits.machining.origin) == (D("24.4"), Origin.DERIVED)
    assert "limit_derived" in codes(verdict)


def test_a_wear_allowance_alone_can_fail_a_part_but_never_pass_it() -> None:
    limits = replace(ROTOR, machining=None)
    assert verdict_on(WAVY, limits, policy=Policy(wear_allowance=D("1"))).ruling is Ruling.REPLACE
    assert verdict_on(WAVY, limits, policy=Policy(wear_allowance=D("0.1"))).ruling is Ruling.INCONCLUSIVE


def test_a_part_that_must_not_be_machined_is_replaced_when_it_would_have_to_be() -> None:
    verdict = verdict_on(WAVY, replace(ROTOR, permission=Machining.PROHIBITED))
    assert verdict.ruling is Ruling.REPLACE
    assert {"do_not_machine"} <= codes(verdict)
    assert verdict.room.most_total_cut is None
    assert verdict.room.reading_needed is None
    assert "may not be machined" in verdict.summary


def test_an_on_vehicle_part_is_machined_on_the_vehicle_and_not_on_the_bench() -> None:
    limits = replace(ROTOR, permission=Machining.ON_VEHICLE_ONLY)
    silent = verdict_on(WAVY, limits)
    assert silent.ruling is Ruling.MACHINE
    assert "on_vehicle_lathe_only" in codes(silent)
    bench = verdict_on(replace(WAVY, lathe=LatheKind.BENCH), limits)
    assert bench.ruling is Ruling.REPLACE
    assert "on the vehicle only" in bench.summary
    assert "on_vehicle_lathe_only" not in codes(verdict_on(replace(WAVY, lathe=LatheKind.ON_VEHICLE), limits))


def test_a_record_that_is_silent_about_machining_gives_a_caution() -> None:
    verdict = verdict_on(WAVY, replace(ROTOR, permission=Machining.NOT_STATED))
    assert verdict.ruling is Ruling.MACHINE
    assert "machining_not_stated" in codes(verdict)


def test_a_cut_asked_for_on_a_sound_part_is_judged_and_changes_no_verdict() -> None:
    deep = replace(GOOD, cut=AskedCut(inboard=D("0.3"), outboard=D("0.3")))
    verdict = verdict_on(deep)
    assert verdict.ruling is Ruling.SERVICEABLE
    assert verdict.cut is not None
    assert verdict.cut.allowed is False


def test_a_cut_too_deep_replaces_and_the_caution_names_one_that_would_do() -> None:
    verdict = verdict_on(replace(WAVY, cut=AskedCut(inboard=D("0.3"), outboard=D("0.3"))))
    assert verdict.ruling is Ruling.REPLACE
    [caution] = [caution for caution in verdict.cautions if caution.code == "smaller_cut_possible"]
    assert "0.05 mm inboard, 0.05 mm outboard" in caution.text


def test_a_cut_that_leaves_grooves_is_judged_beside_the_least_one_that_does_not() -> None:
    grooved = replace(WAVY, readings=replace(WAVY.readings, grooves={Face.INBOARD: D("0.12")}))
    verdict = verdict_on(replace(grooved, cut=AskedCut(inboard=D("0.10"), outboard=D("0.05"))))
    assert verdict.ruling is Ruling.MACHINE
    assert verdict.cut is not None
    assert verdict.cut.cleans_up is False
    assert verdict.cut.least_cleaning == {Face.INBOARD: D("0.12"), Face.OUTBOARD: D(0)}
    assert verdict.cut.least_cleaning_allowed is True
    assert [check.quantity for check in checks_named(verdict, CheckName.MACHINING_LIMIT)] == [
        "thickness_after_cut",
        "thickness_after_least_cut",
    ]
    assert "cut_leaves_uncut" in codes(verdict)


def test_from_first_contact_the_faces_are_taken_to_where_the_trace_says() -> None:
    """max(o) - d_out - (min(o - t) + d_in) with o = 0, .02, .05, .02 and t = 25.0 throughout."""
    traced = rotor(*["25.00"] * 4, runout_trace=sizes("0.00", "0.02", "0.05", "0.02"), grooves={})
    cut = AskedCut(inboard=D("0.08"), outboard=D("0.06"), zero=Zero.FIRST_CONTACT)
    verdict = verdict_on(replace(traced, cut=cut))
    assert verdict.figures.after_cut == D("25.05") - D("0.14")
    assert verdict.figures.clean_up == D("24.95")
    assert verdict.cut is not None
    assert verdict.cut.cleans_up is True
    shallow = verdict_on(replace(traced, cut=replace(cut, inboard=D("0.04"))))
    assert shallow.cut is not None
    assert shallow.cut.cleans_up is False
    assert shallow.cut.least_cleaning == {Face.INBOARD: D("0.05"), Face.OUTBOARD: D("0.05")}


def test_first_contact_without_a_trace_takes_the_faces_to_be_parallel() -> None:
    part = replace(WAVY, cut=AskedCut(inboard=D("0.1"), outboard=D("0.1"), zero=Zero.FIRST_CONTACT))
    verdict = verdict_on(part)
    assert verdict.figures.after_cut == D("25.00") - D("0.03") + 2 * D("0.03") - D("0.2")
    assert "first_contact_without_trace" in codes(verdict)


def test_a_part_that_sits_worse_on_the_lathe_than_its_trace_shows_loses_the_rest_too() -> None:
    traced = rotor(*["25.00"] * 4, runout_trace=sizes("0.00", "0.02", "0.05", "0.02"), setup_runout=D("0.08"))
    verdict = verdict_on(replace(traced, cut=AskedCut(D("0.1"), D("0.1"), zero=Zero.FIRST_CONTACT)))
    assert verdict.figures.clean_up == D("24.95") - D("0.03")
    assert verdict.cut is not None
    assert verdict.cut.cleans_up is True


@pytest.mark.parametrize(
    ("lathe", "setup", "lateral", "trued", "raised"),
    [
        (None, "0.02", "0.04", "0.02", set()),
        (None, None, "0.04", "0.04", {"runout_may_include_hub"}),
        (None, None, None, "0", {"setup_runout_unknown"}),
        (LatheKind.ON_VEHICLE, "0.02", "0.04", "0.04", set()),
        (LatheKind.ON_VEHICLE, "0.02", None, "0", {"setup_runout_unknown"}),
    ],
)
def test_the_runout_to_be_trued_is_the_one_at_the_lathe(
    lathe: LatheKind | None, setup: str | None, lateral: str | None, trued: str, raised: set[str]
) -> None:
    part = rotor(
        *["25.00"] * 4,
        setup_runout=D(setup) if setup else None,
        lateral_runout=D(lateral) if lateral else None,
    )
    verdict = verdict_on(replace(part, lathe=lathe))
    assert verdict.figures.clean_up == D("25.00") - D(trued)
    assert codes(verdict) & {"runout_may_include_hub", "setup_runout_unknown"} == raised


def test_runout_read_at_the_lathe_holds_no_hub() -> None:
    part = rotor(*["25.00"] * 4, lateral_runout=D("0.04"), runout_read_on=RunoutPlace.LATHE)
    assert "runout_may_include_hub" not in codes(verdict_on(part))


def test_a_drum_mirrors_a_rotor() -> None:
    """D0 = greatest + set-up runout; the planned cut counts twice on the diameter."""
    oval = drum("280.0", "280.2", "280.0", "280.2", setup_runout=D("0.05"))
    verdict = verdict_on(oval)
    assert verdict.ruling is Ruling.MACHINE
    assert verdict.figures.clean_up == D("280.25")
    assert verdict.figures.after_cut == D("280.35")
    assert verdict.margins.to_machining_limit == D("1.15")
    assert verdict.room.most_total_cut == verdict.room.most_cut_per_face == (D("1.25") - D("0.0077")) / 2
    assert verdict.room.reading_needed == D("281.3423")


def test_a_drum_cut_from_first_contact_starts_at_its_narrowest_place() -> None:
    oval = drum("280.0", "280.2", "280.0", "280.2", setup_runout=D("0.05"))
    verdict = verdict_on(replace(oval, cut=AskedCut(depth=D("0.1"), zero=Zero.FIRST_CONTACT)))
    assert verdict.figures.after_cut == D("280.25") - D("0.1") + D("0.2")


def test_a_drum_past_its_discard_diameter_is_replaced() -> None:
    verdict = verdict_on(drum(*["282.0001"] * 4))
    assert verdict.ruling is Ruling.REPLACE
    assert "past the discard limit" in verdict.summary


def test_a_parking_drum_is_judged_as_a_drum() -> None:
    part = replace(drum(*["280.0"] * 4), kind=Kind.PARKING_DRUM)
    assert verdict_on(part, replace(DRUM, kind=Kind.PARKING_DRUM)).ruling is Ruling.SERVICEABLE


def test_a_law_that_a_policy_names_limits_the_machining_of_a_drum() -> None:
    """0.060 in over nominal binds the lathe, not the road."""
    policy = Policy(regulations=("turn_60",))
    oval = drum("281.2", "281.35", "281.2", "281.35", setup_runout=D(0))
    assert verdict_on(oval).ruling is Ruling.MACHINE
    verdict = verdict_on(oval, replace(DRUM, nominal=D("279.8")), policy=policy)
    assert verdict.ruling is Ruling.REPLACE
    assert verdict.limits.machining is not None
    assert verdict.limits.machining.origin is Origin.REGULATION
    assert "regulation_applies" in codes(verdict)


def test_a_law_that_counts_from_nominal_needs_the_nominal_size() -> None:
    verdict = verdict_on(drum(*["280.0"] * 4), replace(DRUM, nominal=None), policy=Policy(regulations=("both_80",)))
    assert (verdict.ruling, verdict.missing) == (Ruling.INCONCLUSIVE, ("nominal_diameter",))
    assert "regulation_needs_nominal" in codes(verdict)


def test_a_law_alone_is_no_discard_limit() -> None:
    limits = replace(DRUM, discard=None, machining=None)
    policy = Policy(regulations=("use_90",))
    assert verdict_on(drum(*["280.0"] * 4), limits, policy=policy).missing == ("discard_diameter",)
    assert verdict_on(drum(*["282.3"] * 4), limits, policy=policy).ruling is Ruling.REPLACE


def test_the_strictest_of_record_marking_and_policy_governs_and_the_rest_are_kept() -> None:
    part = replace(GOOD, marking=D("24.1"))
    verdict = verdict_on(part, policy=Policy(discard_margin=D("0.2")))
    assert verdict.limits.discard is not None
    assert (verdict.limits.discard.value, verdict.limits.discard.origin) == (D("24.3"), Origin.POLICY)
    assert [other.value for other in verdict.limits.discard.others] == [D("24"), D("24.1"), D("24.2")]
    assert "marking_disagrees" in codes(verdict)


@pytest.mark.parametrize(("marking", "disagrees"), [("24.05", False), ("24.0501", True), ("23.9499", True)])
def test_a_marking_disagrees_beyond_a_twentieth_of_a_millimetre(marking: str, disagrees: bool) -> None:  # noqa: FBT001
    assert ("marking_disagrees" in codes(verdict_on(replace(GOOD, marking=D(marking))))) is disagrees


def test_a_marking_alone_is_enough_to_judge_by() -> None:
    verdict = verdict_on(replace(GOOD, marking=D("24")), marking_only=True)
    assert verdict.ruling is Ruling.SERVICEABLE
    assert "marking_only" in codes(verdict)
    wavy = verdict_on(replace(WAVY, marking=D("24")), marking_only=True, policy=Policy(maximum_runout=D("0.02")))
    assert (wavy.ruling, wavy.missing) == (Ruling.INCONCLUSIVE, ("minimum_machining_thickness",))


def test_the_callers_limits_judge_a_part_that_the_store_does_not_hold() -> None:
    verdict = verdict_on(WAVY, caller=ROTOR)
    assert verdict.ruling is Ruling.MACHINE
    assert "limits_from_caller" in codes(verdict)
    assert verdict.governing is not None
    assert verdict.governing.origin is Origin.CALLER


def test_a_caller_can_tighten_but_never_loosen_the_record() -> None:
    looser = replace(ROTOR, discard=D("20"), machining=D("20"), permission=Machining.PERMITTED)
    verdict = verdict_on(rotor(*["23"] * 4), ROTOR, caller=looser)
    assert verdict.ruling is Ruling.REPLACE


def test_few_points_still_fail_what_is_already_over_and_pass_nothing() -> None:
    over, under = rotor("25.00", "25.02"), rotor("25.00", "25.01")
    assert verdict_on(over).ruling is Ruling.MACHINE
    verdict = verdict_on(under)
    [check] = checks_named(verdict, CheckName.THICKNESS_VARIATION)
    assert (check.outcome, verdict.ruling) == (Outcome.NOT_ASSESSED, Ruling.SERVICEABLE)
    assert "few_points" in codes(verdict)
    assert checks_named(verdict, CheckName.MEASUREMENT_POINTS)[0].outcome is Outcome.FAIL


def test_taper_is_the_difference_of_the_means_of_two_tracks() -> None:
    part = rotor(*["25.00"] * 4, inner_track=sizes("25.06", "25.06", "25.06"))
    verdict = verdict_on(part)
    assert verdict.figures.taper == D("0.06")
    assert checks_named(verdict, CheckName.TAPER)[0].outcome is Outcome.FAIL


def test_an_inner_track_read_elsewhere_than_the_trace_gives_up_the_whole_runout() -> None:
    trace = sizes("0.00", "0.02", "0.05", "0.02")
    part = rotor(*["25.00"] * 4, inner_track=sizes("24.99", "24.99"), runout_trace=trace)
    assert verdict_on(part).figures.clean_up == D("24.94")


def test_a_hot_rotor_is_judged_at_twenty_degrees() -> None:
    """25.0105 / (1 + 10.5e-6 x 40) = 25.0000; and 24.0077 x 1.00042 = 24.017783234."""
    verdict = verdict_on(rotor(*["25.0105"] * 4, part_temperature_c=D(60)))
    assert verdict.figures.least == D("25.0000000")
    assert "part_not_at_reference_temperature" in codes(verdict)
    assert verdict.room.reading_needed == D("24.017783234")


def test_the_record_may_give_its_own_expansion_and_so_may_the_caller() -> None:
    part = rotor(*["25.1"] * 4, part_temperature_c=D(40))
    own = replace(ROTOR, expansion_per_k=D("2E-4"))
    assert verdict_on(part, own).figures.least == verdict_on(part, caller=own).figures.least == D("25.0000000")


@pytest.mark.parametrize(
    ("finding", "ruling"),
    [
        (ReportedFinding("crack"), Ruling.REPLACE),
        (ReportedFinding("hard_spot"), Ruling.MACHINE),
        (ReportedFinding("pit"), Ruling.INCONCLUSIVE),
        (ReportedFinding("pit", depth=D("0.1")), Ruling.SERVICEABLE),
        (ReportedFinding("pit", depth=D("0.39")), Ruling.REPLACE),
        (ReportedFinding("pit", Face.INBOARD, depth=D("0.39")), Ruling.MACHINE),
        (ReportedFinding("crazing"), Ruling.SERVICEABLE),
    ],
)
def test_a_finding_does_what_the_catalogue_says(finding: ReportedFinding, ruling: Ruling) -> None:
    part = rotor(*["25.20"] * 4, setup_runout=D(0))
    assert verdict_on(replace(part, findings=(finding,))).ruling is ruling


def test_a_policy_raises_the_effect_of_a_finding_and_never_lowers_it() -> None:
    part = replace(GOOD, findings=(ReportedFinding("crazing"), ReportedFinding("hard_spot")))
    raised = verdict_on(part, policy=Policy(findings={"crazing": Effect.REPLACE, "hard_spot": Effect.CAUTION}))
    assert raised.ruling is Ruling.REPLACE
    assert checks_named(raised, CheckName.FINDINGS)[0].origin is Origin.POLICY
    lowered = verdict_on(
        replace(part, findings=(ReportedFinding("hard_spot"),)), policy=Policy(findings={"hard_spot": Effect.CAUTION})
    )
    assert lowered.ruling is Ruling.MACHINE


def test_what_a_policy_requires_and_does_not_get_leaves_the_verdict_open() -> None:
    for reading, given in (
        (Reading.GROOVE_DEPTH, replace(GOOD, readings=replace(GOOD.readings, grooves={Face.INBOARD: D(0)}))),
        (Reading.SETUP_RUNOUT, replace(GOOD, readings=replace(GOOD.readings, setup_runout=D("0.01")))),
        (Reading.MARKING, replace(GOOD, marking=D("24"))),
    ):
        policy = Policy(require=frozenset({reading}))
        assert verdict_on(GOOD, policy=policy).missing == (reading.value,)
        assert verdict_on(given, policy=policy).ruling is Ruling.SERVICEABLE


def test_overdue_calibration_and_review_caution_or_stop_as_the_policy_says() -> None:
    part = replace(GOOD, instrument=Instrument(calibration_due=datetime.date(2026, 11, 1)))
    past = datetime.date(2026, 11, 1)
    soft = verdict_on(part, review_due=past)
    assert soft.ruling is Ruling.SERVICEABLE
    assert {"calibration_overdue", "limits_review_due"} <= codes(soft)
    hard = Policy(calibration_overdue=Overdue.INCONCLUSIVE, limits_review_due=Overdue.INCONCLUSIVE)
    assert verdict_on(part, review_due=past, policy=hard).missing == ("calibration_due", "review_due")
    today = replace(GOOD, instrument=Instrument(calibration_due=datetime.date(2026, 11, 2)))
    assert verdict_on(today, review_due=datetime.date(2026, 11, 2), policy=hard).ruling is Ruling.SERVICEABLE


def test_a_form_figure_near_its_limit_says_so() -> None:
    assert "within_uncertainty" in codes(verdict_on(rotor(*["25.00"] * 4, lateral_runout=D("0.045"))))
    assert "within_uncertainty" not in codes(verdict_on(rotor(*["25.00"] * 4, lateral_runout=D("0.01"))))


def test_a_policy_bounds_the_cut_and_keeps_the_faces_in_balance() -> None:
    grooved = replace(WAVY, readings=replace(WAVY.readings, grooves={Face.INBOARD: D("0.2")}))
    balanced = verdict_on(grooved, policy=Policy(face_balance=D("0.05")))
    assert balanced.cut is not None
    assert balanced.cut.depths == {Face.INBOARD: D("0.2"), Face.OUTBOARD: D("0.15")}
    bounded = verdict_on(grooved, policy=Policy(total_cut=D("0.2")))
    assert bounded.ruling is Ruling.REPLACE
    assert bounded.room.most_total_cut is None or bounded.room.most_total_cut <= D("0.2")
    assert "the policy does not allow" in bounded.summary
    lopsided = replace(WAVY, cut=AskedCut(inboard=D("0.2"), outboard=D("0.05")))
    assert verdict_on(lopsided, policy=Policy(face_balance=D("0.05"))).ruling is Ruling.REPLACE


HISTORY = (EarlierReading(D("26.00"), D(0)), EarlierReading(D("25.50"), D(10_000)))


def test_a_policy_may_ask_for_distance_that_is_left() -> None:
    """1 mm in 20,000 km; 1 mm is left above discard: 20,000 km."""
    worn = replace(GOOD, history=HISTORY, odometer_km=D(20_000))
    enough = verdict_on(worn, policy=Policy(remaining_distance_km=D(20_000)))
    assert (enough.figures.remaining_km, enough.ruling) == (D(20_000), Ruling.SERVICEABLE)
    assert enough.figures.wear_per_1000_km == D("0.0500000")
    short = verdict_on(worn, policy=Policy(remaining_distance_km=D(20_001)))
    assert short.ruling is Ruling.REPLACE
    assert "would last 20000 km" in short.summary
    assert short.room.most_total_cut is None


def test_the_distance_asked_for_bounds_the_cut() -> None:
    worn = replace(WAVY, history=HISTORY, odometer_km=D(20_000))
    verdict = verdict_on(worn, policy=Policy(remaining_distance_km=D(14_000)))
    assert verdict.room.most_total_cut == D("0.97") - D("0.7")


def test_a_part_that_seems_to_grow_back_is_suspect() -> None:
    growing = replace(GOOD, history=(EarlierReading(D("24.0"), D(0)),), odometer_km=D(20_000))
    verdict = verdict_on(growing, policy=Policy(remaining_distance_km=D(1)))
    assert {"history_suspect", "remaining_distance_unknown"} <= codes(verdict)
    same_place = replace(GOOD, history=(EarlierReading(D("26"), D(20_000)),), odometer_km=D(20_000))
    assert "history_suspect" in codes(verdict_on(same_place))


def test_a_part_past_its_limit_has_no_distance_left() -> None:
    worn = replace(rotor(*["23"] * 4), history=HISTORY, odometer_km=D(20_000))
    assert verdict_on(worn).figures.remaining_km == 0


def test_a_finished_rotor_is_held_against_the_machining_limit() -> None:
    finished = replace(rotor(*["24.61"] * 4), stage=Stage.AFTER_MACHINING)
    assert verdict_on(finished).ruling is Ruling.SERVICEABLE
    thin = verdict_on(replace(rotor(*["24.59"] * 4), stage=Stage.AFTER_MACHINING))
    assert thin.ruling is Ruling.REPLACE
    assert thin.governing is not None
    assert thin.governing.check is CheckName.MACHINING_LIMIT
    near = verdict_on(replace(rotor(*["24.605"] * 4), stage=Stage.AFTER_MACHINING))
    assert near.ruling is Ruling.INCONCLUSIVE


def test_a_finished_rotor_that_is_rough_or_runs_out_is_machined_again() -> None:
    """80 microinches = 2.032 micrometres: common practice, no source."""
    rough = replace(rotor(*["25.00"] * 4, surface_roughness=D("0.0021")), stage=Stage.AFTER_MACHINING)
    verdict = verdict_on(rough)
    assert verdict.ruling is Ruling.MACHINE
    assert checks_named(verdict, CheckName.SURFACE_FINISH)[0].origin is Origin.PRACTICE
    smooth = replace(rotor(*["25.00"] * 4, surface_roughness=D("0.002032")), stage=Stage.AFTER_MACHINING)
    assert verdict_on(smooth).ruling is Ruling.SERVICEABLE


def test_a_finished_part_that_should_not_have_been_machined_is_replaced() -> None:
    finished = replace(rotor(*["25.00"] * 4), stage=Stage.AFTER_MACHINING)
    assert verdict_on(finished, replace(ROTOR, permission=Machining.PROHIBITED)).ruling is Ruling.REPLACE


def test_how_a_part_is_built_gives_its_cautions() -> None:
    for construction, code in (
        (Construction.COMPOSITE, "composite_part"),
        (Construction.COATED, "coated_part"),
        (Construction.DRILLED, "drilled_or_slotted_part"),
        (Construction.SLOTTED, "drilled_or_slotted_part"),
    ):
        assert code in codes(verdict_on(WAVY, replace(ROTOR, construction=construction)))


@pytest.mark.parametrize(
    ("part", "pointer", "code"),
    [
        (replace(GOOD, findings=(ReportedFinding("no_such"),)), "/findings/0", "unknown_finding"),
        (replace(drum("280"), findings=(ReportedFinding("vane_rust"),)), "/findings/0", "finding_of_another_kind"),
        (replace(GOOD, findings=(ReportedFinding("crazing", Face.DEPTH),)), "/findings/0", "face_of_another_kind"),
        (rotor("25", grooves={Face.DEPTH: D(0)}), "/groove_depth", "face_of_another_kind"),
        (replace(GOOD, cut=AskedCut(inboard=D(0))), "/cut/outboard", "missing"),
        (replace(GOOD, cut=AskedCut(D(0), D(0), D(0))), "/cut/depth", "face_of_another_kind"),
        (rotor(inner_track=sizes("25")), "/thickness", "missing"),
        (replace(GOOD, history=HISTORY), "/vehicle/odometer", "missing"),
        (replace(GOOD, history=HISTORY, odometer_km=D(9_999)), "/history/1/odometer", "out_of_range"),
    ],
)
def test_a_part_that_cannot_be_judged_names_the_field_and_the_remedy(part: object, pointer: str, code: str) -> None:
    with pytest.raises(PartError) as raised:
        verdict_on(part)  # type: ignore[arg-type]
    assert (raised.value.faults[0].pointer, raised.value.faults[0].code) == (pointer, code)
    assert len(raised.value.faults[0].detail) > 20


def test_a_policy_may_refuse_the_callers_limits() -> None:
    with pytest.raises(PartError) as raised:
        verdict_on(GOOD, caller=ROTOR, policy=Policy(accept_caller_limits=False))
    assert raised.value.faults[0].code == "caller_limits_refused"


def test_a_part_with_no_limits_of_any_kind_cannot_be_judged() -> None:
    with pytest.raises(PartError) as raised:
        verdict_on(GOOD, marking_only=True)
    assert raised.value.faults[0].pointer == "/application"


def test_a_regulation_that_the_pack_does_not_hold_is_named() -> None:
    with pytest.raises(PartError) as raised:
        verdict_on(GOOD, policy=Policy(regulations=("no_such_law",)))
    assert raised.value.faults[0].code == "unknown_regulation"


def test_a_stricter_candidate_hides_a_derived_limit_but_not_the_caution() -> None:
    policy = Policy(derive_machining_limit=True, regulations=("turn_60",))
    verdict = verdict_on(drum(*["280.0", "280.2"] * 2), replace(DRUM, machining=None), policy=policy)
    assert verdict.limits.machining is not None
    assert verdict.limits.machining.origin is Origin.REGULATION
    assert "limit_derived" in codes(verdict)


def test_nothing_is_derived_where_there_is_no_discard_limit() -> None:
    policy = Policy(derive_machining_limit=True, wear_allowance=D("0.2"), machining_margin=D("0.1"))
    bare = replace(ROTOR, machining=None, discard=None)
    assert verdict_on(WAVY, bare, policy=policy).missing == ("discard_thickness", "minimum_machining_thickness")


def test_a_policy_margin_lies_on_the_safe_side_of_the_machining_limit() -> None:
    policy = Policy(machining_margin=D("0.2"))
    verdict = verdict_on(WAVY, policy=policy)
    assert verdict.limits.machining is not None
    assert verdict.limits.machining.value == D("24.8")
    wide = verdict_on(drum(*["280.0"] * 4), policy=policy)
    assert wide.limits.machining is not None
    assert wide.limits.machining.value == D("281.3")


def test_too_deep_a_cut_on_a_part_that_no_cut_would_save_names_no_smaller_one() -> None:
    part = rotor("24.60", "24.63", "24.60", "24.63", setup_runout=D(0))
    verdict = verdict_on(replace(part, cut=AskedCut(D("0.3"), D("0.3"))))
    assert verdict.ruling is Ruling.REPLACE
    assert "smaller_cut_possible" not in codes(verdict)


def test_an_inner_track_at_the_angles_of_the_trace_counts_with_it() -> None:
    trace = sizes("0.00", "0.02", "0.05", "0.02")
    part = rotor(*["25.00"] * 4, inner_track=sizes("25.00", "25.00", "24.98", "25.00"), runout_trace=trace)
    cut = AskedCut(D("0.1"), D("0.1"), zero=Zero.FIRST_CONTACT)
    verdict = verdict_on(replace(part, cut=cut))
    assert verdict.figures.clean_up == D("0.00") - (D("0.05") - D("24.98"))
    assert verdict.figures.after_cut == D("0.05") - (D("0.00") - D("25.00")) - D("0.2")


def test_a_cut_on_a_part_without_a_size_leaves_the_verdict_open() -> None:
    part = replace(rotor(lateral_runout=D("0.2")), cut=AskedCut(D("0.1"), D("0.1")))
    verdict = verdict_on(part)
    assert (verdict.ruling, verdict.figures.after_cut) == (Ruling.INCONCLUSIVE, None)
    assert verdict.margins.to_discard_limit is None


def test_a_cut_deeper_than_the_part_is_thick_is_put_in_words_that_make_sense() -> None:
    verdict = verdict_on(replace(WAVY, cut=AskedCut(D("20"), D("20"))))
    assert "nothing would be left of it" in verdict.summary


def test_damage_on_one_face_is_not_measured_by_the_groove_of_the_other() -> None:
    part = rotor(*["25.00"] * 4, setup_runout=D(0), grooves={Face.OUTBOARD: D("0.1")})
    seen = verdict_on(replace(part, findings=(ReportedFinding("pit", Face.INBOARD),)))
    assert (seen.ruling, seen.missing) == (Ruling.INCONCLUSIVE, ("groove_depth",))
    measured = verdict_on(replace(part, findings=(ReportedFinding("pit", Face.OUTBOARD), ReportedFinding("pit"))))
    assert measured.ruling is Ruling.SERVICEABLE

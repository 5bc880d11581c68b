"""The check of a set-up as a whole: which blocks are told, what it goes by, what stands against the cut."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.lathe.shapes import polar, scratch, trace, wobble
from tests.judging.samples import CATALOGUE, DRUM, ROTOR, TODAY, drum, record_of, rotor, verdict_on
from turnrule.judging.drum_form import DrumTrack
from turnrule.judging.faults import PartError
from turnrule.judging.index_positions import IndexReading
from turnrule.judging.lathe_words import Expected, Given, LookAt, Missing, Mounted, Note
from turnrule.judging.limits import LimitSet
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.parts import AskedCut, Instrument, Part
from turnrule.judging.planes import FaceTraces
from turnrule.judging.policy import Policy
from turnrule.judging.scratch import Arc, Passes, Scratch, count_passes
from turnrule.judging.setup_check import SetupCheck, check_setup
from turnrule.judging.setup_request import Chosen, Hub, PassDepths, SetupRequest
from turnrule.judging.setup_sentences import EXPECTED, LOOK_AT, MISSING, NOTES
from turnrule.judging.setup_summary import setup_cautions, summary_of_setup
from turnrule.judging.words import DecisionRule, Face, Kind, LatheKind, Machining, Unit

D = Decimal
SHARP = Instrument(D("0.0000001"), D(0), D(0))
EIGHT = ("25.02", "25.01", "25.03", "25.04", "25.03", "25.02", "25.01", "25.02")
RIGHT, AGAIN = polar(0.008, 0), polar(0.06, 0)
OWN = polar(0.04, 90)


def indicated(seat: complex, *turns: float, part: complex = OWN, count: int = 12) -> tuple[MountReading, ...]:
    """Traces of a part on a mount at these turns."""
    return tuple(MountReading(D(str(turn)), trace=trace(wobble(part, seat, turn), count)) for turn in turns)


def sharp(part: Part) -> Part:
    """The part, read with a gauge that is as good as exact."""
    return replace(part, instrument=SHARP)


def checked(
    request: SetupRequest, limits: LimitSet | None = None, *, policy: Policy | None = None, bare: bool = False
) -> SetupCheck:
    """The check under the sample limits of the kind, unless told otherwise."""
    known = limits if limits is not None else (ROTOR if request.part.kind.is_rotor else DRUM)
    record = None if bare else record_of(known)
    return check_setup(request, record=record, caller=None, policy=policy or Policy(), catalogue=CATALOGUE, on=TODAY)


def faults(request: SetupRequest, *, policy: Policy | None = None) -> set[tuple[str, str]]:
    """Pointer and code of every fault."""
    with pytest.raises(PartError) as refusal:
        checked(request, policy=policy)
    return {(fault.pointer, fault.code) for fault in refusal.value.faults}


def codes(check: SetupCheck) -> set[str]:
    """The cautions."""
    return {caution.code for caution in setup_cautions(check)}


def test_a_part_that_is_mounted_right_is_told_its_own_runout_and_what_the_cut_leaves() -> None:
    """Own runout 0.04: T0 = 25.01 - 0.04 = 24.97; both faces 0.05: 24.87, and 24.862 as it sits (DERIVED)."""
    check = checked(SetupRequest(sharp(rotor(*EIGHT)), indicated(RIGHT, 0, 180), angle_uncertainty=D(0)))
    assert check.ready is True
    assert check.mounting is not None
    assert check.mounting.mounted is Mounted.RIGHT
    assert check.affording is not None
    assert check.affording.cost is not None
    assert check.affording.clean_up == D("24.97")
    assert check.affording.cost.left_mounted_right == D("24.87")
    assert check.affording.cost.left_as_mounted == pytest.approx(D("24.862"), abs=D("1.1E-7"))
    assert (check.affording.affordable, check.affording.cost.affordable_mounted_right) == (True, True)
    assert summary_of_setup(check) == (
        "The rotor is mounted right: its mount runs out 0.008 mm, within 0.025 mm, and 0.04 mm are the rotor's own; "
        "the rotor can afford the cut, which leaves 24.862 mm as it sits."
    )


def test_a_mount_that_wobbles_is_made_again_and_what_it_would_cost_is_told() -> None:
    check = checked(SetupRequest(sharp(rotor(*EIGHT)), indicated(AGAIN, 0, 180), angle_uncertainty=D(0)))
    assert check.ready is False
    assert check.mounting is not None
    assert check.mounting.look_at[0] is LookAt.SEATS_DIRTY
    assert summary_of_setup(check) == (
        "Mount the rotor again: its mount runs out 0.06 mm, more than 0.025 mm, which would cost so much metal, and "
        "0.04 mm are the rotor's own; mounted right the cut leaves 24.87 mm, and as it sits it would leave 24.81 mm "
        "for nothing."
    )


@pytest.mark.parametrize(
    ("cut", "affordable", "words"),
    [
        ("0.15", True, "for nothing"),
        ("0.17", False, "as it sits the rotor cannot afford the cut, which would leave 24.57 mm; mounted right it"),
        ("0.20", False, "even mounted right the rotor cannot afford the cut, which would leave 24.57 mm"),
    ],
)
def test_the_part_affords_what_its_limits_leave(cut: str, affordable: bool, words: str) -> None:  # noqa: FBT001
    """T0 = 24.97; machining limit 24.6 and next to no guard band; the mount takes 0.06 (DERIVED)."""
    part = replace(sharp(rotor(*EIGHT)), cut=AskedCut(inboard=D(cut), outboard=D(cut)))
    check = checked(SetupRequest(part, indicated(AGAIN, 0, 180), angle_uncertainty=D(0)))
    assert check.affording is not None
    assert check.affording.asked
    assert check.affording.affordable is affordable
    assert words in summary_of_setup(check)


@given(
    st.sampled_from([0.0, 0.008, 0.02, 0.05, 0.1]),
    st.sampled_from([D("0.05"), D("0.1"), D("0.15"), D("0.19"), D("0.2")]),
    st.sampled_from(list(DecisionRule)),
    st.sampled_from([rotor(*EIGHT), drum("281.0", "281.05", "281.1")]),
)
def test_what_is_afforded_for_sure_a_verdict_allows_and_what_is_not_it_refuses(
    seat: float, cut: Decimal, rule: DecisionRule, part: Part
) -> None:
    """The verdict on the same part with both runouts given as its set-up runout is the check of this one."""
    asked = AskedCut(inboard=cut, outboard=cut) if part.kind.is_rotor else AskedCut(depth=cut)
    policy = Policy(decision_rule=rule)
    whole = sharp(replace(part, cut=asked))
    check = checked(
        SetupRequest(whole, indicated(polar(seat, 20), 0, 90, count=9), angle_uncertainty=D(0)), policy=policy
    )
    assert check.mounting is not None
    assert check.mounting.form is not None
    assert check.mounting.metal_cost is not None
    assert check.affording is not None
    for own, afforded in (
        (check.mounting.form.runout + check.mounting.metal_cost, check.affording.affordable),
        (
            check.mounting.form.runout,
            check.affording.cost.affordable_mounted_right if check.affording.cost else None,
        ),
    ):
        verdict = verdict_on(replace(whole, readings=replace(whole.readings, setup_runout=own)), policy=policy)
        assert verdict.cut is not None
        assert afforded in (None, verdict.cut.allowed)


def test_a_trace_at_the_places_of_the_sizes_goes_into_the_clean_up_size() -> None:
    """The thin place stands where the face is high: T0 = min(o) - max(o - t) is more than the plain difference."""
    thin_where_high = tuple(25 + o for o in trace(OWN, 12))
    plain = rotor(*(f"{size:f}" for size in sorted(thin_where_high)[:3]))
    paired = replace(plain, readings=replace(plain.readings, track=thin_where_high))
    readings = indicated(RIGHT, 0, 180)
    found = [checked(SetupRequest(sharp(part), readings)).affording for part in (plain, paired)]
    sizes = [told.clean_up for told in found if told is not None and told.clean_up is not None]
    assert sizes[0] == min(thin_where_high) - D("0.04")
    assert abs(sizes[1] - (25 - D("0.02"))) < D("1E-6")


def test_a_drum_affords_on_its_diameter() -> None:
    """D0 = 281.1 + 0.04; a depth of 0.1 makes 281.34, and 281.348 as it sits (DERIVED)."""
    part = replace(sharp(drum("281.0", "281.1")), cut=AskedCut(depth=D("0.1")))
    check = checked(SetupRequest(part, indicated(RIGHT, 0, 180), angle_uncertainty=D(0)))
    assert check.affording is not None
    assert check.affording.cost is not None
    assert check.affording.cost.left_mounted_right == D("281.34")
    assert check.affording.cost.left_as_mounted == pytest.approx(D("281.348"), abs=D("1.1E-7"))
    assert check.ready is True


def test_a_part_thinner_than_it_wobbles_affords_nothing() -> None:
    request = SetupRequest(sharp(rotor("2.5", "2.5")), indicated(RIGHT, 0, 180, part=polar(3, 0)))
    check = checked(request)
    assert check.affording is not None
    assert check.affording.cost is not None
    assert check.affording.cost.left_mounted_right < 0
    assert check.affording.cost.affordable_mounted_right is False


def test_a_doubtful_mount_leaves_open_what_is_afforded_near_the_limit() -> None:
    """0.0077 is U of a reading by default: that of each runout out of twelve is 0.0077 sqrt(8/12) / sqrt 2 = 0.0044.

    24.97 - 0.296 - 0.06 = 24.614 clears 24.6077 by 0.0063, which the two of them, and the angles', outweigh (DERIVED).
    """
    part = replace(rotor(*EIGHT), cut=AskedCut(inboard=D("0.148"), outboard=D("0.148")))
    check = checked(SetupRequest(part, indicated(AGAIN, 0, 180)))
    assert check.affording is not None
    assert check.affording.cost is not None
    assert check.affording.cost.affordable_mounted_right is True
    assert check.affording.affordable is None
    assert check.affording.missing == (Missing.FINER_READING,)
    assert check.ready is False
    assert "can afford the cut cannot be told: read with a finer indicator" in summary_of_setup(check)


def test_limits_that_are_wanting_can_refuse_a_cut_and_never_allow_it() -> None:
    known = LimitSet(Kind.ROTOR, discard=D("24.9"), permission=Machining.PERMITTED)
    request = SetupRequest(sharp(rotor(*EIGHT)), indicated(RIGHT, 0, 180))
    check = checked(request, known)
    assert check.affording is not None
    assert check.affording.cost is not None
    assert check.affording.affordable is False
    assert check.affording.missing == (Missing.LIMITS,)
    assert check.affording.cost.most_mount_runout is None
    laxer = checked(request, replace(known, discard=D(24)))
    assert laxer.ready is None
    assert {"machining_limit_missing", "rotating_part", "eye_protection"} <= codes(laxer)
    assert "Give the vehicle in application".lower() in summary_of_setup(laxer).lower()
    none_at_all = checked(request, bare=True)
    assert none_at_all.affording is not None
    assert none_at_all.affording.missing == (Missing.LIMITS,)
    assert not none_at_all.limited


def test_a_part_that_may_not_be_machined_is_never_ready() -> None:
    request = SetupRequest(sharp(rotor(*EIGHT)), indicated(RIGHT, 0, 180))
    barred = checked(request, replace(ROTOR, permission=Machining.PROHIBITED))
    assert barred.ready is False
    assert "do_not_machine" in codes(barred)
    assert "do not allow this rotor to be machined here" in summary_of_setup(barred)
    on_hub = replace(ROTOR, permission=Machining.ON_VEHICLE_ONLY)
    unnamed = checked(request, on_hub)
    assert (unnamed.ready, "on_vehicle_lathe_only" in codes(unnamed)) == (True, True)
    bench = replace(request, part=replace(request.part, lathe=LatheKind.BENCH))
    assert checked(bench, on_hub).ready is False
    wheel = replace(request, part=replace(request.part, lathe=LatheKind.ON_VEHICLE))
    assert checked(wheel, on_hub).ready is True


def test_without_a_size_or_a_mount_that_is_known_the_answer_says_what_is_missing() -> None:
    part = replace(rotor(), marking=D(24))
    check = checked(SetupRequest(part, (MountReading(D(0), scratch(AGAIN, 0.02)),)))
    assert check.affording is not None
    assert check.affording.missing == (Missing.THICKNESS, Missing.MOUNT_RUNOUT)
    assert check.ready is None
    told = summary_of_setup(check)
    assert told.startswith("It cannot be told yet whether the rotor is mounted right: loosen the part")
    assert "whether the rotor can afford the cut cannot be told: measure the thickness" in told
    bore = checked(SetupRequest(drum(), (MountReading(D(0), scratch(AGAIN, 0.02)),)))
    assert bore.affording is not None
    assert bore.affording.missing[0] is Missing.DIAMETERS


def test_nothing_of_the_part_is_asked_where_nothing_is_said_of_it() -> None:
    check = checked(SetupRequest(rotor(), indicated(RIGHT, 0, 180)), bare=True)
    assert (check.affording, check.limited) == (None, False)
    assert check.ready is True
    assert "machining_limit_missing" not in codes(check)


def test_magnitudes_alone_are_told_as_bounds() -> None:
    scratches = (MountReading(D(0), Scratch(D("0.1"), D("0.5"))), MountReading(D(180), Scratch(D("0.01"), D("0.5"))))
    again = checked(SetupRequest(rotor(), scratches, covered_uncertainty=D(0)), bare=True)
    assert summary_of_setup(again) == "Mount the rotor again: its mount runs out more than 0.025 mm."
    small = tuple(replace(one, scratch=Scratch(D("0.001"), D("0.5"))) for one in scratches)
    right = checked(SetupRequest(sharp(rotor()), small, covered_uncertainty=D(0), angle_uncertainty=D(0)), bare=True)
    assert summary_of_setup(right) == "The rotor is mounted right: its mount cannot run out more than 0.025 mm."


def test_good_practice_stands_where_the_request_is_silent() -> None:
    silent = checked(SetupRequest(rotor(), indicated(RIGHT, 0, 180)), bare=True).used
    assert silent.reading == D("0.0077")
    assert silent.angle == Chosen(D(5), Given.PRACTICE)
    assert silent.covered == Chosen(D("0.05"), Given.PRACTICE)
    assert silent.mount_limit == Chosen(D("0.025"), Given.PRACTICE)
    assert silent.depths == PassDepths(D("0.05"), D("0.1"), Given.PRACTICE)
    stated = PassDepths(D("0.02"), D("0.2"), Given.LATHE)
    said = SetupRequest(
        sharp(rotor()),
        indicated(RIGHT, 0, 180),
        angle_uncertainty=D(1),
        covered_uncertainty=D("0.01"),
        mount_limit=D("0.005"),
        depths=stated,
    )
    told = checked(said, bare=True)
    assert told.used.reading == D("0.0001")
    assert (told.used.angle, told.used.covered) == (Chosen(D(1), Given.REQUEST), Chosen(D("0.01"), Given.REQUEST))
    assert told.used.depths == stated
    assert told.mounting is not None
    assert told.mounting.mounted is Mounted.AGAIN


@pytest.mark.parametrize(
    ("covered", "least", "most", "expected"),
    [
        ("0.5", 1, 2, Expected.ONE_OR_TWO_PASSES),
        ("0.75", 1, 1, Expected.SINGLE_SLOW_PASS),
        ("0.25", 6, 7, Expected.MORE_THAN_ONE_PASS),
    ],
)
def test_the_passes_after_a_scratch_are_those_of_the_trade(
    covered: str, least: int, most: int, expected: Expected
) -> None:
    """Common practice, no source: half, one or two; three quarters, one slow pass; less than half, more than one."""
    reading = MountReading(D(0), Scratch(D("0.1"), D(covered)))
    check = checked(SetupRequest(rotor(), (reading,), depths=PassDepths(D("0.02"), D("0.1"), Given.REQUEST)), bare=True)
    assert check.passes == (Passes(least, most, expected),)
    assert check.runouts == (None,)


def test_the_passes_after_a_trace_take_the_whole_of_it() -> None:
    check = checked(SetupRequest(rotor(), indicated(polar(0.21, 0), 0, part=0j)), bare=True)
    assert check.runouts == (D("0.21"),)
    assert check.passes == (Passes(3, 4, None),)
    assert count_passes(D(0), D("0.05"), D("0.1")) == Passes(0, 0, None)


def test_hub_faces_and_tracks_are_told_each_by_itself() -> None:
    hub = Hub((IndexReading(D(0), runout=D("0.1"), high_spot=D(0)), IndexReading(D(180), runout=D(0), high_spot=D(0))))
    request = SetupRequest(sharp(rotor()), hub=replace(hub, studs=4), angle_uncertainty=D(0))
    check = checked(request, bare=True)
    assert check.ready is True
    assert summary_of_setup(check).startswith("These readings show no better place on the hub than where the rotor")
    assert {"vehicle_support", "wheel_fastening"} <= codes(check)
    assert "eye_protection" not in codes(check)
    turned = checked(replace(request, hub=replace(hub, turns=(D(0), D(180)), now=D(0))), bare=True)
    assert summary_of_setup(turned) == (
        "Turn the rotor on the hub by 180 degrees: its runout falls from 0.1 mm to 0 mm."
    )
    alone = checked(replace(request, hub=replace(hub, readings=hub.readings[:1], studs=5)), bare=True)
    assert alone.ready is None
    assert summary_of_setup(alone).startswith("Hub and rotor cannot be told apart yet: loosen the part, turn it")


def faces(
    outboard: tuple[Decimal, ...] = (), inboard: tuple[Decimal, ...] = (), thickness: tuple[Decimal, ...] = ()
) -> SetupRequest:
    """A rotor whose faces were read."""
    part = rotor()
    return SetupRequest(
        replace(part, readings=replace(part.readings, grooves={Face.OUTBOARD: D("0.1")})),
        faces=FaceTraces(outboard, inboard, thickness),
    )


def test_clean_up_planes_are_held_against_the_limits() -> None:
    """o 0 to 0.02, t 25: T0 = 0 - (0.02 - 25) = 24.98; the groove takes 0.1: 24.88 (DERIVED)."""
    outboard, thickness = (D(0), D("0.02"), D("0.01")), (D(25),) * 3
    check = checked(faces(outboard=outboard, thickness=thickness))
    assert (check.ready, check.limited, check.needed) == (True, True, D("24.6077"))
    assert summary_of_setup(check) == (
        "From first contact both faces are clean after 0.12 mm outboard, 0.02 mm inboard, and 24.88 mm are left, "
        "which is allowed."
    )
    assert checked(faces(outboard=outboard, thickness=(D("24.7"),) * 3)).ready is False
    assert checked(faces(outboard=outboard, thickness=thickness), bare=True).ready is True
    open_ended = checked(faces(outboard=outboard, inboard=outboard))
    assert open_ended.ready is None
    assert "0.02 mm inboard." in summary_of_setup(open_ended)
    one = checked(faces(outboard=outboard))
    assert one.ready is None
    assert summary_of_setup(one).startswith("The cut cannot be planned for both faces yet: read an indicator on the")
    apart = checked(faces(outboard=outboard, inboard=(D(0), D(1), D(2)), thickness=thickness), bare=True)
    assert apart.ready is None


def test_limits_of_which_one_is_wanting_leave_planes_open() -> None:
    known = LimitSet(Kind.ROTOR, discard=D(24))
    check = checked(faces(outboard=(D(0), D("0.02"), D("0.01")), thickness=(D(25),) * 3), known)
    assert (check.ready, check.needed) == (None, None)
    assert {"machining_limit_missing", "machining_not_stated"} <= codes(check)


@pytest.mark.parametrize(
    ("tracks", "words"),
    [
        ((("0", "280.3"), ("40", "280.1")), "The drum is clean at 280.4 mm; it is bell-mouthed by 0.2 mm."),
        ((("0", "280.1"), ("40", "280.3")), "The drum is clean at 280.4 mm; it is tapered by 0.2 mm."),
        ((("0", "280.3"), ("40", "280.3")), "The drum is clean at 280.4 mm; its ends are alike."),
        ((("0", "280.3"),), "The drum is clean at 280.4 mm."),
    ],
)
def test_the_form_of_a_drum_is_told(tracks: tuple[tuple[str, str], ...], words: str) -> None:
    """The greatest diameter, the runout 0.06 and the groove twice (DERIVED)."""
    part = drum()
    grooved = replace(part, readings=replace(part.readings, grooves={Face.DEPTH: D("0.02")}))
    listed = tuple(DrumTrack(distance=D(depth), diameters=(D(size),)) for depth, size in tracks)
    check = checked(SetupRequest(grooved, tracks=listed, track_runout=D("0.06")), bare=True)
    assert check.ready is True
    assert summary_of_setup(check) == words
    assert "eye_protection" in codes(check)


def test_a_track_without_diameters_leaves_the_cut_of_a_drum_open() -> None:
    check = checked(SetupRequest(drum(), tracks=(DrumTrack(distance=D(0), trace=(D(0), D(1), D(2))),)), bare=True)
    assert check.ready is None
    assert summary_of_setup(check).startswith("The cut cannot be planned for the drum yet: measure the diameter")


def test_every_fault_is_told_at_once_in_the_names_of_the_request() -> None:
    part = replace(rotor("25"), cut=AskedCut(depth=D(1)))
    readings = (
        MountReading(D(5000), Scratch(D("-0.1"), D(2))),
        MountReading(D(0)),
    )
    hub = Hub((IndexReading(D(0)),), turns=(D(9999),), studs=5)
    broken = SetupRequest(
        part,
        readings,
        hub,
        FaceTraces(thickness=(D(25),)),
        angle_uncertainty=D(-1),
        covered_uncertainty=D(-1),
        mount_limit=D(-1),
        depths=PassDepths(D(0), D(-1), Given.REQUEST),
    )
    assert faults(broken) == {
        ("/angle_uncertainty", "must_not_be_negative"),
        ("/covered_uncertainty", "must_not_be_negative"),
        ("/mount_limit", "must_not_be_negative"),
        ("/readings/0/turned", "not_a_turn"),
        ("/readings/0/scratch/depth", "must_be_positive"),
        ("/readings/0/scratch/covered", "not_a_fraction"),
        ("/readings/1", "scratch_or_trace"),
        ("/hub", "studs_or_turns"),
        ("/hub/readings/0", "trace_or_high_spot"),
        ("/faces/outboard", "no_trace"),
        ("/faces/thickness", "too_few_readings"),
        ("/passes/least_depth", "must_be_positive"),
        ("/passes/greatest_depth", "below_the_least"),
        ("/cut/depth", "face_of_another_kind"),
        ("/cut/inboard", "missing"),
        ("/cut/outboard", "missing"),
    }


def test_faults_of_hub_and_tracks_stand_where_they_were_made() -> None:
    reading = IndexReading(D(0), runout=D(1), high_spot=D(360))
    assert faults(SetupRequest(rotor(), hub=Hub((reading,), turns=(D(9999),), now=D(-9999)))) == {
        ("/hub/turns/0", "not_a_turn"),
        ("/hub/now", "not_a_turn"),
        ("/hub/readings/0/high_spot", "not_an_angle"),
    }
    assert faults(SetupRequest(rotor(), hub=Hub((replace(reading, high_spot=D(0)),)))) == {("/hub", "studs_or_turns")}
    assert faults(SetupRequest(drum(), tracks=(DrumTrack(distance=D(1)),), track_runout=D(-1))) == {
        ("/setup_runout", "must_not_be_negative"),
        ("/tracks/0", "nothing_read"),
    }
    part = rotor()
    negative = replace(part, readings=replace(part.readings, grooves={Face.INBOARD: D(-1)}))
    assert faults(SetupRequest(negative, faces=FaceTraces(outboard=(D(0), D(1), D(2))))) == {
        ("/groove_depth/inboard", "must_not_be_negative")
    }


def test_a_request_in_which_nothing_was_read_is_refused() -> None:
    assert faults(SetupRequest(rotor())) == {("", "nothing_read")}
    assert faults(SetupRequest(drum())) == {("", "nothing_read")}


def test_a_policy_may_refuse_the_callers_limits_here_too() -> None:
    request = SetupRequest(rotor(*EIGHT), indicated(RIGHT, 0, 180))
    with pytest.raises(PartError) as refusal:
        check_setup(
            request,
            record=None,
            caller=ROTOR,
            policy=Policy(accept_caller_limits=False),
            catalogue=CATALOGUE,
            on=TODAY,
        )
    assert [fault.code for fault in refusal.value.faults] == ["caller_limits_refused"]


def test_the_limits_own_cautions_are_those_of_a_verdict() -> None:
    request = SetupRequest(replace(rotor(*EIGHT), marking=D("24.3")), indicated(RIGHT, 0, 180))
    withdrawn = check_setup(
        request,
        record=None,
        caller=None,
        policy=Policy(),
        catalogue=CATALOGUE,
        on=TODAY,
        withdrawn="L-1: misread",
    )
    assert {"limits_withdrawn", "machining_limit_missing", "marking_only"} <= codes(withdrawn)
    assert "marking_disagrees" in codes(checked(request))


def test_an_arc_through_the_mark_is_one_stretch() -> None:
    reading = MountReading(D(0), Scratch(D("0.02"), arcs=(Arc(D(300), D(60)),)))
    check = checked(SetupRequest(rotor(), (reading,)), bare=True)
    assert check.mounting is not None
    seen = check.mounting.seen[0].wobble
    assert seen is not None
    assert seen.angle == 0


def test_every_word_has_its_sentence() -> None:
    assert MISSING.keys() == set(Missing)
    assert NOTES.keys() == set(Note)
    assert LOOK_AT.keys() == set(LookAt)
    assert EXPECTED.keys() == set(Expected)
    whole = [*MISSING.values(), *NOTES.values()]
    assert all(text[0].isupper() and text.endswith(".") for text in whole)


def test_summaries_speak_in_the_callers_unit() -> None:
    part = replace(sharp(rotor()), unit=Unit.IN)
    check = checked(SetupRequest(part, indicated(polar(0.0508, 0), 0, 180), angle_uncertainty=D(0)), bare=True)
    assert "its mount runs out 0.002 in, more than 0.00098 in" in summary_of_setup(check)

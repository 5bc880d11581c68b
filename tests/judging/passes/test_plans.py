"""Whole plans of passes: what a technician reads off before the first pass."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given

from tests.judging.passes.samples import BENCH, DRUM_FACE, ROTOR_FACE, both, jobs, profiles
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_job import Job, PracticeFigures, Surface
from turnrule.judging.lathe_profile import LatheProfile, Span
from turnrule.judging.passes import Finish, Pass, PassPlan, Refusal, plan_passes
from turnrule.judging.planning_words import NoPass, PassNote, Work
from turnrule.judging.words import Face

D = Decimal
ROTOR = Job(both("0.3", "0.3"), surface=ROTOR_FACE, wanted_roughness=D("0.002032"))


def test_a_rotor_is_roughed_and_finished_on_both_faces_at_once() -> None:
    found = plan_passes(ROTOR, BENCH)
    assert (found.profile, found.revision) == ("bench one", 3)
    assert found.passes == (
        Pass(1, Work.ROUGHING, both("0.2", "0.2"), both("0.2", "0.2"), D("0.25"), D("1.3334"), D("10838.4947")),
        Pass(2, Work.FINISHING, both("0.1", "0.1"), both("0.3", "0.3"), D("0.15"), D("2.2223"), D("3251.5484")),
    )
    assert (found.speed, found.surface_speed, found.minutes) == (D(150), D("131.946891"), D("3.5557"))
    assert found.finish == Finish(D("0.15"), D("0.0070313"), D("0.0018043"), D("0.1591872"), reached=True)
    assert (found.refusals, found.notes, found.cautions) == ((), (), ())


def test_faces_cut_one_after_the_other_take_twice_the_time() -> None:
    both_at_once, in_turn = (plan_passes(ROTOR, replace(BENCH, both_faces_at_once=flag)) for flag in (True, False))
    assert both_at_once.minutes is not None
    assert in_turn.minutes == 2 * both_at_once.minutes
    loads = [(one.metal_per_minute, other.metal_per_minute) for one, other in zip(
        both_at_once.passes, in_turn.passes, strict=True)]  # fmt: skip
    assert all(one is not None and other is not None and abs(one - 2 * other) <= D("0.0002") for one, other in loads)


def test_the_face_that_needs_fewer_passes_joins_in_later_and_both_finish_together() -> None:
    found = plan_passes(Job(both("0.6", "0.08")), BENCH)
    assert [one.depths for one in found.passes] == [
        {Face.INBOARD: D("0.25")},
        {Face.INBOARD: D("0.25")},
        both("0.1", "0.08"),
    ]
    assert [one.reached[Face.OUTBOARD] for one in found.passes] == [0, 0, D("0.08")]
    assert [one.work for one in found.passes] == [Work.ROUGHING, Work.ROUGHING, Work.FINISHING]


def test_a_face_that_is_not_cut_is_left_alone() -> None:
    found = plan_passes(Job(both("0", "0.08")), BENCH)
    assert [one.depths for one in found.passes] == [{Face.OUTBOARD: D("0.08")}]
    assert found.refusals == ()


def test_nothing_to_cut_is_no_plan() -> None:
    found = plan_passes(Job({Face.DEPTH: D(0)}, surface=DRUM_FACE), BENCH)
    assert found.passes == ()
    assert found.refusals == (Refusal(Face.DEPTH, NoPass.NOTHING_TO_CUT, None, None),)
    assert found.minutes is None


def test_one_face_that_cannot_be_cut_stops_the_whole_plan() -> None:
    found = plan_passes(Job(both("0.3", "0.02"), surface=ROTOR_FACE), BENCH)
    assert found.passes == ()
    assert found.refusals == (Refusal(Face.OUTBOARD, NoPass.BELOW_LEAST_DEPTH, None, D("0.05")),)


def test_a_wobbling_face_is_levelled_first_and_ends_at_its_cut() -> None:
    found = plan_passes(Job(both("0.1", "0.1"), standing={Face.OUTBOARD: D("0.12")}), BENCH)
    assert [one.depths for one in found.passes] == [{Face.OUTBOARD: D("0.12")}, both("0.1", "0.1")]
    assert found.passes[0].reached == {Face.INBOARD: 0, Face.OUTBOARD: 0}
    assert found.passes[-1].reached == both("0.1", "0.1")


def test_a_drum_is_cut_on_its_radius() -> None:
    """n passes = stock / (2 depth) on the diameter: 0.5 mm over is 0.25 mm on the radius (turning notes, READ)."""
    found = plan_passes(Job({Face.DEPTH: D("0.25")}, surface=DRUM_FACE), BENCH)
    assert [one.depths for one in found.passes] == [{Face.DEPTH: D("0.15")}, {Face.DEPTH: D("0.1")}]
    assert found.minutes == D("1.3334") + D("6.6667")


@pytest.mark.parametrize(
    ("wanted", "feed", "reached"),
    [("0.002032", "0.15", True), ("0.0018", "0.1", True), ("0.0003", "0.05", True), ("0.0002", "0.05", False)],
)
def test_the_fastest_feed_that_reaches_the_finish_is_taken(wanted: str, feed: str, *, reached: bool) -> None:
    found = plan_passes(replace(ROTOR, wanted_roughness=D(wanted)), BENCH)
    assert (found.finish.feed, found.finish.reached) == (D(feed), reached)
    assert (PassNote.FINISH_OUT_OF_REACH in found.notes) is not reached


def test_without_a_wanted_finish_the_slowest_feed_is_taken() -> None:
    found = plan_passes(replace(ROTOR, wanted_roughness=None), BENCH)
    assert (found.finish.feed, found.finish.needed_feed, found.finish.reached) == (D("0.05"), None, None)


def test_a_lathe_without_steps_takes_the_feed_that_just_reaches() -> None:
    found = plan_passes(ROTOR, replace(BENCH, finishing_feeds=Span(D("0.05"), D("0.3"))))
    assert (found.finish.feed, found.finish.needed_feed) == (D("0.159"), D("0.1591872"))


@pytest.mark.parametrize(
    ("least", "greatest", "speed"),
    [("50", "150", "150"), ("50", "131.9", "100"), ("140", "150", None), ("1", "5", None)],
)
def test_the_fastest_speed_that_the_tool_bears_at_the_rim_is_taken(
    least: str, greatest: str, speed: str | None
) -> None:
    """150 rev/min at 280 mm are 131.947 m/min."""
    found = plan_passes(ROTOR, replace(BENCH, least_surface_speed=D(least), greatest_surface_speed=D(greatest)))
    assert found.speed == (None if speed is None else D(speed))
    assert (PassNote.NO_SPEED_IN_RANGE in found.notes) is (speed is None)
    assert (found.minutes is None) is (speed is None)
    assert len(found.passes) == 2


def test_without_a_surface_the_depths_are_told_and_no_times() -> None:
    found = plan_passes(replace(ROTOR, surface=None), BENCH)
    assert found.notes == (PassNote.SURFACE_UNKNOWN,)
    assert (found.speed, found.surface_speed, found.minutes) == (None, None, None)
    assert [one.minutes for one in found.passes] == [None, None]


def test_a_part_that_may_only_be_cut_on_the_vehicle_is_told_from_a_bench_lathe() -> None:
    found = plan_passes(replace(ROTOR, on_vehicle_only=True), BENCH)
    assert found.notes == (PassNote.WRONG_LATHE,)


def test_drilled_slotted_and_composite_parts_take_lighter_passes_and_their_cautions() -> None:
    figures = PracticeFigures(D("0.12"), D(110), ("composite_part",))
    found = plan_passes(replace(ROTOR, figures=figures), BENCH)
    assert [one.depths[Face.INBOARD] for one in found.passes] == [D("0.1"), D("0.1"), D("0.1")]
    assert found.speed == 100
    assert found.cautions == ("composite_part",)
    shy = plan_passes(replace(ROTOR, figures=PracticeFigures(D("0.06"))), BENCH)
    assert {one.depths[Face.INBOARD] for one in shy.passes} == {D("0.06")}
    none = plan_passes(replace(ROTOR, figures=PracticeFigures(D("0.04"))), BENCH)
    assert {one.reason for one in none.refusals} == {NoPass.LATHE_TOO_COARSE}


@pytest.mark.parametrize(
    ("job", "pointers"),
    [
        (Job({}), ["/cut"]),
        (Job(both("-0.1", "0.1")), ["/cut/inboard"]),
        (Job(both("0.1", "0.1"), standing={Face.OUTBOARD: D(-1)}), ["/standing/outboard"]),
        (Job(both("0.1", "0.1"), surface=Surface.ring(D(180), D(280))), ["/surface/width"]),
        (Job(both("0.1", "0.1"), surface=Surface(D(0), D(0), D(1))), ["/surface/diameter", "/surface/mean_diameter"]),
        (Job(both("0.1", "0.1"), wanted_roughness=D(0)), ["/wanted_roughness"]),
        (
            Job(both("0.1", "0.1"), figures=PracticeFigures(D(0), D(0))),
            ["/figures/greatest_depth", "/figures/greatest_speed"],
        ),
        (Job(both("0.1", "0.1"), dial=D(0)), ["/dial"]),
    ],
)
def test_a_job_that_cannot_be_is_refused_by_its_fields(job: Job, pointers: list[str]) -> None:
    with pytest.raises(LatheDataError) as refused:
        plan_passes(job, BENCH)
    assert [fault.pointer for fault in refused.value.faults] == pointers


def test_faults_of_profile_and_job_are_told_together() -> None:
    with pytest.raises(LatheDataError) as refused:
        plan_passes(Job({}), replace(BENCH, roughing_feed=D(0)))
    assert [fault.pointer for fault in refused.value.faults] == ["/roughing_feed", "/cut"]


@given(jobs(), profiles())
def test_the_passes_of_each_face_sum_to_its_cut_exactly_and_never_to_more(job: Job, profile: LatheProfile) -> None:
    found = plan_passes(job, profile)
    assert bool(found.passes) is not bool(found.refusals)
    if not found.passes:
        return
    cut = {face: depth for face, depth in job.cut.items() if depth}
    for face, depth in cut.items():
        taken = sum(Fraction(one.depths.get(face, D(0))) for one in found.passes)
        assert taken == Fraction(depth) + Fraction(job.standing.get(face, D(0)))
    assert found.passes[-1].reached == cut
    assert found.passes[-1].depths.keys() == cut.keys()


@given(jobs(), profiles())
def test_every_pass_is_within_the_lathe_the_tool_and_the_part(job: Job, profile: LatheProfile) -> None:
    found = plan_passes(job, profile)
    deepest = min(profile.greatest_depth, job.figures.greatest_depth or profile.greatest_depth)
    for one in found.passes:
        assert all(profile.least_depth <= depth <= deepest for depth in one.depths.values())
        assert (one.work is Work.FINISHING) is (one is found.passes[-1])
        if one.work is Work.FINISHING:
            assert max(one.depths.values()) <= profile.finishing_depth
            assert one.feed == found.finish.feed
    _within_the_tools_range(found, job, profile)


def _within_the_tools_range(found: PassPlan, job: Job, profile: LatheProfile) -> None:
    assert profile.finishing_feeds.least <= found.finish.feed <= profile.finishing_feeds.greatest
    if found.speed is None or job.surface is None:
        assert {PassNote.SURFACE_UNKNOWN, PassNote.NO_SPEED_IN_RANGE} & set(found.notes)
        assert found.minutes is None
        return
    assert profile.speeds.least <= found.speed <= profile.speeds.greatest
    assert found.speed <= (job.figures.greatest_speed or found.speed)
    at_rim = math.pi * float(job.surface.diameter) * float(found.speed) / 1000
    assert float(profile.least_surface_speed) - 1e-6 <= at_rim <= float(profile.greatest_surface_speed) * (1 + 1e-12)
    expected = sum(
        float(job.surface.width)
        / float(one.feed)
        / float(found.speed)
        * (1 if profile.both_faces_at_once else len(one.depths))
        for one in found.passes
    )
    if found.passes:
        assert found.minutes is not None
        assert -1e-9 <= float(found.minutes) - expected <= 2e-4 * len(found.passes)

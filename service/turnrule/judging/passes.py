"""The passes of a cut on one lathe: depths that sum to the cut exactly, feed, speed, time and theoretical finish.

Depths in mm off one face (drum: off the radius), feeds in mm a turn, speeds in turns a minute, times in minutes.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.lathe_faults import refuse
from turnrule.judging.lathe_job import DIAL, Job, faults_of_job
from turnrule.judging.lathe_profile import LatheProfile, faults_of_profile
from turnrule.judging.lengths import EXACT
from turnrule.judging.planning_words import NoPass, PassNote, Work
from turnrule.judging.splitting import Depths, Unsplit, split
from turnrule.judging.turning import (
    feed_for,
    mean_roughness,
    peak_roughness,
    reaches,
    removal_rate,
    speed_for,
    surface_speed,
    turning_time,
)
from turnrule.judging.words import Face, LatheKind

_TURN = Decimal(1)


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass. `depths` is what the tool is fed in, `reached` where it then stands from its zero (negative: above).

    A face that needs fewer passes than the other joins in later. Time and metal (mm3 a minute) are None without a
    known surface and speed.
    """

    number: int
    work: Work
    depths: dict[Face, Decimal]
    reached: dict[Face, Decimal]
    feed: Decimal
    minutes: Decimal | None
    metal_per_minute: Decimal | None


@dataclass(frozen=True, slots=True)
class Finish:
    """The theoretical finish of the last pass (mm); `needed_feed` is the greatest that reaches the wanted Ra."""

    feed: Decimal
    peak: Decimal
    mean: Decimal
    needed_feed: Decimal | None
    reached: bool | None


@dataclass(frozen=True, slots=True)
class Refusal:
    """A face that cannot be cut as asked, why, and the nearest smaller and greater cut that can be made (mm)."""

    face: Face
    reason: NoPass
    less: Decimal | None
    more: Decimal | None


@dataclass(frozen=True, slots=True)
class PassPlan:
    """The passes in their order; none where `refusals` says why a face cannot be cut.

    `minutes` is the cutting time alone. `cautions` are codes of the catalogue.
    """

    profile: str
    revision: int
    passes: tuple[Pass, ...]
    refusals: tuple[Refusal, ...]
    speed: Decimal | None
    surface_speed: Decimal | None
    minutes: Decimal | None
    finish: Finish
    notes: tuple[PassNote, ...]
    cautions: tuple[str, ...]


def plan_passes(job: Job, profile: LatheProfile) -> PassPlan:
    """The passes of a job on a lathe. Raises `LatheDataError` with every fault of the two. Rule: passes.

    The sum over each face is its cut, and what stands above its zero, exactly: never more, never less.
    """
    refuse((*faults_of_profile(profile), *faults_of_job(job)))
    with decimal.localcontext(EXACT):
        splits, refusals = _splits(job, profile)
        speed = _speed(job, profile)
        finish = _finish(job, profile)
        passes = () if refusals else tuple(_passes(job, profile, splits, speed, finish))
        times = [one.minutes for one in passes if one.minutes is not None]
        return PassPlan(
            profile=profile.name,
            revision=profile.revision,
            passes=passes,
            refusals=refusals,
            speed=speed,
            surface_speed=None if job.surface is None or speed is None else surface_speed(job.surface.diameter, speed),
            minutes=sum(times, Decimal(0)) if times else None,
            finish=finish,
            notes=tuple(_notes(job, profile, speed, finish)),
            cautions=job.figures.cautions,
        )


def _splits(job: Job, profile: LatheProfile) -> tuple[dict[Face, tuple[Decimal, ...]], tuple[Refusal, ...]]:
    """The passes of each face that is cut, and the faces that cannot be."""
    deepest = job.figures.greatest_depth
    greatest = profile.greatest_depth if deepest is None else min(deepest, profile.greatest_depth)
    depths = Depths(profile.least_depth, greatest, min(profile.finishing_depth, greatest), job.dial)
    splits, refusals = {}, []
    idle = any(depth > 0 for depth in job.cut.values())
    for face, depth in job.cut.items():
        if depth == 0 and idle:
            continue
        found = split(depth, job.standing.get(face, Decimal(0)), depths)
        if isinstance(found, Unsplit):
            refusals.append(Refusal(face, found.reason, found.less, found.more))
        else:
            splits[face] = found
    return splits, tuple(refusals)


def _speed(job: Job, profile: LatheProfile) -> Decimal | None:
    """The fastest that keeps the greatest diameter within what the tool bears; None where none does. Rule: turning."""
    if job.surface is None:
        return None
    bound = speed_for(profile.greatest_surface_speed, job.surface.diameter)
    if job.figures.greatest_speed is not None:
        bound = min(bound, job.figures.greatest_speed)
    speed = profile.speeds.up_to(bound, _TURN)
    if speed is None or surface_speed(job.surface.diameter, speed) < profile.least_surface_speed:
        return None
    return speed


def _finish(job: Job, profile: LatheProfile) -> Finish:
    """The fastest finishing feed that reaches the wanted finish; the slowest where none does, or none is wanted."""
    feeds, nose, wanted = profile.finishing_feeds, profile.nose_radius, job.wanted_roughness
    feed, needed, reached = feeds.least, None, None
    if wanted is not None:
        needed = feed_for(wanted, nose)
        feed = feeds.up_to(needed, DIAL) or feeds.least
        reached = reaches(feed, nose, wanted)
    return Finish(feed, peak_roughness(feed, nose), mean_roughness(feed, nose), needed, reached)


def _passes(
    job: Job, profile: LatheProfile, splits: Mapping[Face, tuple[Decimal, ...]], speed: Decimal | None, finish: Finish
) -> Iterator[Pass]:
    """All faces end with the same finishing pass."""
    count = max(len(depths) for depths in splits.values())
    reached = {face: -job.standing.get(face, Decimal(0)) for face in splits}
    for number in range(1, count + 1):
        depths = {}
        for face, own in splits.items():
            index = number - 1 - (count - len(own))
            if index >= 0:
                depths[face] = own[index]
                reached[face] += own[index]
        work = Work.FINISHING if number == count else Work.ROUGHING
        feed = finish.feed if work is Work.FINISHING else profile.roughing_feed
        minutes = metal = None
        if job.surface is not None and speed is not None:
            sweeps = 1 if profile.both_faces_at_once else len(depths)
            minutes = sweeps * turning_time(job.surface.width, feed, speed)
            deep = sum(depths.values(), Decimal(0)) if profile.both_faces_at_once else max(depths.values())
            metal = removal_rate(job.surface.mean_diameter, deep, feed, speed)
        yield Pass(number, work, depths, dict(reached), feed, minutes, metal)


def _notes(job: Job, profile: LatheProfile, speed: Decimal | None, finish: Finish) -> Iterator[PassNote]:
    if job.surface is None:
        yield PassNote.SURFACE_UNKNOWN
    elif speed is None:
        yield PassNote.NO_SPEED_IN_RANGE
    if finish.reached is False:
        yield PassNote.FINISH_OUT_OF_REACH
    if job.on_vehicle_only and profile.kind is LatheKind.BENCH:
        yield PassNote.WRONG_LATHE

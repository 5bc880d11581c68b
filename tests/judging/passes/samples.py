"""A lathe and jobs for the tests; the figures are made up, within common practice (no source)."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from turnrule.judging.lathe_job import Job, PracticeFigures, Surface
from turnrule.judging.lathe_profile import LatheProfile, Span, Steps
from turnrule.judging.words import Face, LatheKind

D = Decimal

BENCH = LatheProfile(
    name="bench one",
    revision=3,
    kind=LatheKind.BENCH,
    least_depth=D("0.05"),
    greatest_depth=D("0.4"),
    finishing_depth=D("0.1"),
    roughing_feed=D("0.25"),
    finishing_feeds=Steps((D("0.1"), D("0.05"), D("0.15"))),
    speeds=Steps((D(60), D(100), D(150), D(200))),
    nose_radius=D("0.4"),
    least_surface_speed=D(50),
    greatest_surface_speed=D(150),
)
ROTOR_FACE = Surface.ring(D(280), D(180))
DRUM_FACE = Surface.bore(D(280), D(50))


def both(inboard: str, outboard: str) -> dict[Face, Decimal]:
    """The cut of a rotor."""
    return {Face.INBOARD: D(inboard), Face.OUTBOARD: D(outboard)}


def steps(low: int, high: int, digit: str = "0.001") -> st.SearchStrategy[Decimal]:
    """Multiples of a least digit."""
    return st.integers(low, high).map(lambda count: count * D(digit))


@st.composite
def profiles(draw: st.DrawFn) -> LatheProfile:
    """Any profile without a fault, with figures as odd as a shop may give."""
    least = draw(steps(10, 120, "0.0007"))
    finishing = least + draw(steps(0, 100, "0.0009"))
    feeds = draw(st.lists(steps(20, 300), min_size=1, max_size=4))
    speeds = draw(st.lists(steps(20, 400, "0.5"), min_size=2, max_size=5))
    slow = draw(steps(1, 120, "1"))
    return LatheProfile(
        name="any",
        revision=1,
        kind=draw(st.sampled_from(LatheKind)),
        least_depth=least,
        greatest_depth=finishing + draw(steps(0, 300, "0.0011")),
        finishing_depth=finishing,
        roughing_feed=draw(steps(100, 400)),
        finishing_feeds=Steps(tuple(feeds)) if draw(st.booleans()) else Span(min(feeds), max(feeds)),
        speeds=Steps(tuple(speeds)) if draw(st.booleans()) else Span(min(speeds), max(speeds)),
        nose_radius=draw(steps(200, 1600)),
        least_surface_speed=slow,
        greatest_surface_speed=slow + draw(steps(0, 150, "1")),
        both_faces_at_once=draw(st.booleans()),
    )


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Any job without a fault: a rotor's two faces or a drum's one, wobbling or not."""
    rotor = draw(st.booleans())
    faces = (Face.INBOARD, Face.OUTBOARD) if rotor else (Face.DEPTH,)
    depth = st.just(D(0)) | steps(1, 1500, "0.0013")
    inner = draw(steps(100, 300, "1"))
    surface = Surface.ring(inner + draw(steps(1, 200, "1")), inner) if rotor else Surface.bore(inner, D(50))
    return Job(
        cut={face: draw(depth) for face in faces},
        standing={face: draw(depth) for face in faces} if draw(st.booleans()) else {},
        surface=draw(st.none() | st.just(surface)),
        wanted_roughness=draw(st.none() | steps(1, 60, "0.0001")),
        figures=PracticeFigures(
            draw(st.none() | steps(20, 400)), draw(st.none() | steps(20, 200, "1")), ("composite_part",)
        ),
        on_vehicle_only=draw(st.booleans()),
        dial=draw(st.sampled_from([D("0.001"), D("0.00254"), D("0.01")])),
    )

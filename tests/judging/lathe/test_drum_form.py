"""The form of a drum from several tracks."""

from __future__ import annotations

import random
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.lathe.shapes import polar, trace
from tests.judging.samples import drum, sizes, verdict_on
from turnrule.judging.drum_form import DrumForm, DrumTrack, Place, form_of
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.lengths import to_mm
from turnrule.judging.words import Unit

D = Decimal


def named(opened: str, middle: str, closed: str) -> DrumForm:
    """Three round tracks by name."""
    return form_of(
        [
            DrumTrack(place=Place.CLOSED, diameters=sizes(closed) * 4),
            DrumTrack(place=Place.OPEN, diameters=sizes(opened) * 4),
            DrumTrack(place=Place.MIDDLE, diameters=sizes(middle) * 4),
        ]
    )


@pytest.mark.parametrize(
    ("opened", "middle", "closed", "bell", "taper", "barrel"),
    [
        ("280.20", "280.10", "280.00", "0.20", "0.20", "0"),
        ("280.00", "280.10", "280.20", "0", "0.20", "0"),
        ("280.00", "280.10", "280.00", "0", "0", "0.10"),
        ("280.10", "280.00", "280.06", "0.04", "0.04", "-0.08"),
    ],
)
def test_bell_mouth_taper_and_barrel_are_told_apart(
    opened: str, middle: str, closed: str, bell: str, taper: str, barrel: str
) -> None:
    """Worked by hand from the definitions."""
    found = named(opened, middle, closed)
    assert (found.bell_mouth, found.taper, found.barrel) == (D(bell), D(taper), D(barrel))
    assert [track.mean for track in found.tracks] == [D(opened), D(middle), D(closed)]
    assert found.slope is None
    assert found.missing == (Missing.DISTANCES, Missing.TRACE, Missing.RUNOUT)
    assert found.notes == (Note.RUNOUT_TAKEN_AS_NOTHING,)


def test_a_heavy_drum_is_tapered_and_out_of_round_as_its_manual_counts_it() -> None:
    """Four places 45 degrees apart, front and rear; taper 0.010 in, round to 0.015 in (READ: TM 9-2330-384-14&P)."""
    front = tuple(to_mm(D(inches), Unit.IN) for inches in ("16.560", "16.566", "16.575", "16.567"))
    rear = tuple(to_mm(D(inches), Unit.IN) for inches in ("16.557", "16.557", "16.557", "16.557"))
    found = form_of([DrumTrack(D(10), diameters=front), DrumTrack(D(160), diameters=rear)])
    assert found.tracks[0].out_of_round == to_mm(D("0.015"), Unit.IN)
    assert found.taper == to_mm(D("0.010"), Unit.IN)
    assert found.missing == (Missing.THIRD_TRACK, Missing.TRACE, Missing.RUNOUT)
    assert found.barrel is None


@pytest.mark.parametrize("seed", range(20))
def test_the_slope_is_the_one_that_least_squares_finds(seed: int) -> None:
    """numpy.polyfit is the reference; the barrel against numpy.interp."""
    generator = random.Random(seed)
    depths = sorted(generator.sample(range(1, 200), generator.randint(3, 6)))
    rows = [[280 + generator.uniform(-0.3, 0.3) for _ in range(4)] for _ in depths]
    tracks = [
        DrumTrack(D(depth), diameters=tuple(D(f"{size:.4f}") for size in row))
        for depth, row in zip(depths, rows, strict=True)
    ]
    generator.shuffle(tracks)
    found = form_of(tracks)
    ordered = sorted(tracks, key=lambda track: track.distance or D(0))
    means = np.array([np.mean([float(size) for size in track.diameters]) for track in ordered])
    assert found.slope is not None
    assert float(found.slope) == pytest.approx(float(np.polyfit(depths, means, 1)[0]), abs=2e-9)
    line = np.interp(depths, [depths[0], depths[-1]], [means[0], means[-1]])
    bulges = (means - line)[1:-1]
    assert found.barrel is not None
    assert float(found.barrel) == pytest.approx(float(bulges[np.argmax(np.abs(bulges))]), abs=1e-7)


def test_eccentricity_is_half_the_runout_of_a_bore_off_centre() -> None:
    """r = R + e cos gives TIR = 2e (DERIVED); TIR 0.004 in is e 0.002 in."""
    runout = float(to_mm(D("0.004"), Unit.IN))
    track = DrumTrack(place=Place.OPEN, diameters=sizes("280"), trace=trace(polar(runout, 120), 36))
    form = form_of([track]).tracks[0]
    assert form.eccentricity is not None
    assert form.eccentricity.runout == to_mm(D("0.002"), Unit.IN)
    assert form.eccentricity.angle == 120
    assert form.residual == 0


def test_a_bore_off_centre_is_cleaned_up_at_its_diameter_and_its_runout() -> None:
    """As a drum without a trace, whose finished diameter is the greatest and the runout to be trued."""
    diameters = sizes("280.1", "280.1", "280.1", "280.1")
    traced = form_of([DrumTrack(D(10), diameters=diameters, trace=trace(polar(0.08, 0), 36))])
    stated = form_of([DrumTrack(D(10), diameters=diameters)], runout=D("0.08"))
    assert traced.least_finished == stated.least_finished == D("280.18")
    assert (traced.notes, stated.notes) == ((), ())
    assert traced.missing == (Missing.SECOND_TRACK,)
    assert stated.missing == (Missing.SECOND_TRACK, Missing.TRACE)


@given(st.lists(st.integers(279_000, 281_000), min_size=1, max_size=8), st.integers(0, 200), st.integers(0, 300))
def test_the_least_finished_diameter_is_the_one_that_the_verdict_comes_to(
    micrometres: list[int], runout: int, groove: int
) -> None:
    """The judgement of the drum with a cut as deep as its groove is the check."""
    measured = [str(size * D("0.001")) for size in micrometres]
    wobble, depth = runout * D("0.001"), groove * D("0.001")
    found = form_of([DrumTrack(D(10), diameters=sizes(*measured))], runout=wobble, groove=depth)
    verdict = verdict_on(drum(*measured, setup_runout=wobble))
    assert verdict.figures.clean_up is not None
    assert found.least_finished == verdict.figures.clean_up + 2 * depth


def test_the_worst_track_says_how_far_to_bore() -> None:
    """An egg-shaped track: 0.06 beyond its mean on the trace, though no diameter read shows it."""
    egg = tuple(D(reading) for reading in ("1.06", "0.98", "0.98", "0.98"))
    tracks = [
        DrumTrack(D(10), diameters=sizes("280.0", "280.0")),
        DrumTrack(D(50), diameters=sizes("280.0", "280.0"), trace=egg),
        DrumTrack(D(90), diameters=sizes("280.05", "280.0")),
    ]
    assert form_of(tracks).least_finished == D("280.12")
    assert form_of(tracks).notes == (Note.RUNOUT_TAKEN_AS_NOTHING,)
    assert form_of(tracks, runout=D("0.1"), groove=D("0.01")).least_finished == D("280.17")
    flat = [DrumTrack(D(50), diameters=sizes("280.0", "280.3"), trace=egg)]
    assert form_of(flat).least_finished == D("280.3")


def test_a_mean_that_does_not_end_is_rounded_against_the_part() -> None:
    diameters = sizes("280.0", "280.0", "280.1")
    found = form_of([DrumTrack(D(0), diameters=diameters), DrumTrack(D(9), diameters=sizes("280.0"))])
    assert found.bell_mouth == found.taper == D("0.0333334")
    assert found.slope == D("-0.003703704")


def test_without_diameters_only_the_traces_are_told() -> None:
    found = form_of([DrumTrack(D(0), trace=trace(polar(0.08, 0), 12)), DrumTrack(D(9), diameters=sizes("280.0"))])
    assert (found.taper, found.bell_mouth, found.least_finished) == (None, None, None)
    assert (found.tracks[0].mean, found.tracks[0].runout) == (None, D("0.080000000"))
    assert found.missing == (Missing.DIAMETERS, Missing.THIRD_TRACK, Missing.TRACE, Missing.RUNOUT)


@pytest.mark.parametrize(
    ("tracks", "pointer", "code"),
    [
        ([], "/tracks", "no_tracks"),
        ([DrumTrack(diameters=sizes("280"))], "/tracks/0", "distance_or_place"),
        ([DrumTrack(D(0), Place.OPEN, sizes("280"))], "/tracks/0", "distance_or_place"),
        ([DrumTrack(D(-1), diameters=sizes("280"))], "/tracks/0/distance", "must_not_be_negative"),
        ([DrumTrack(D(1))], "/tracks/0", "nothing_read"),
        ([DrumTrack(D(1), diameters=sizes("280", "0"))], "/tracks/0/diameters/1", "must_be_positive"),
        ([DrumTrack(D(1), trace=sizes("0", "0"))], "/tracks/0/trace", "too_few_readings"),
        (
            [DrumTrack(D(1), diameters=sizes("280")), DrumTrack(place=Place.OPEN, diameters=sizes("280"))],
            "/tracks",
            "distances_or_places",
        ),
        (
            [DrumTrack(D(1), diameters=sizes("280")), DrumTrack(D(1), diameters=sizes("280"))],
            "/tracks",
            "same_track_twice",
        ),
        ([DrumTrack(place=Place.OPEN, diameters=sizes("280"))] * 2, "/tracks", "same_track_twice"),
    ],
)
def test_tracks_that_cannot_be_are_refused_by_name(tracks: list[DrumTrack], pointer: str, code: str) -> None:
    with pytest.raises(LatheDataError) as raised:
        form_of(tracks)
    assert [(fault.pointer, fault.code) for fault in raised.value.faults] == [(pointer, code)]


def test_a_runout_or_groove_below_nothing_is_refused() -> None:
    with pytest.raises(LatheDataError) as raised:
        form_of([DrumTrack(D(1), diameters=sizes("280"))], runout=D(-1), groove=D(-1))
    assert [fault.pointer for fault in raised.value.faults] == ["/runout", "/groove_depth"]

"""A lathe's figures: what is chosen from its settings, and which profiles are refused."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given

from tests.judging.passes.samples import BENCH, profiles
from turnrule.judging.lathe_profile import LatheProfile, Span, Steps, faults_of_profile

D = Decimal


def test_steps_are_chosen_as_they_are() -> None:
    speeds = Steps((D(60), D(150), D(100)))
    assert (speeds.least, speeds.greatest) == (D(60), D(150))
    assert speeds.up_to(D("149.9"), D(1)) == 100
    assert speeds.up_to(D(150), D(1)) == 150
    assert speeds.up_to(D("59.9"), D(1)) is None


@pytest.mark.parametrize(
    ("bound", "chosen"), [("59.9", None), ("60.5", "60.5"), ("60.9", "60.5"), ("99.7", "99"), ("150", "100.5")]
)
def test_between_the_ends_of_a_span_a_setting_is_rounded_down(bound: str, chosen: str | None) -> None:
    found = Span(D("60.5"), D("100.5")).up_to(D(bound), D(1))
    assert found == (None if chosen is None else D(chosen))


def test_a_good_profile_has_no_fault() -> None:
    assert faults_of_profile(BENCH) == ()


@given(profiles())
def test_profiles_drawn_for_the_laws_have_no_fault(profile: LatheProfile) -> None:
    assert faults_of_profile(profile) == ()


@pytest.mark.parametrize(
    ("change", "pointers"),
    [
        ({"least_depth": D(0)}, ["/least_depth"]),
        ({"greatest_depth": D("0.09")}, ["/finishing_depth"]),
        ({"greatest_depth": D("0.04")}, ["/greatest_depth", "/finishing_depth"]),
        ({"finishing_depth": D("0.04")}, ["/finishing_depth"]),
        ({"roughing_feed": D(0)}, ["/roughing_feed"]),
        ({"finishing_feeds": Steps(())}, ["/finishing_feeds"]),
        ({"finishing_feeds": Steps((D("0.1"), D(0)))}, ["/finishing_feeds/1"]),
        ({"finishing_feeds": Span(D(0), D("0.1"))}, ["/finishing_feeds/least"]),
        ({"finishing_feeds": Span(D("0.1"), D("0.05"))}, ["/finishing_feeds/greatest"]),
        ({"finishing_feeds": Steps((D("0.8"),))}, ["/finishing_feeds"]),
        ({"speeds": Steps((D(-1),))}, ["/speeds/0"]),
        ({"nose_radius": D(0)}, ["/nose_radius"]),
        ({"least_surface_speed": D(0)}, ["/least_surface_speed"]),
        ({"greatest_surface_speed": D(49)}, ["/greatest_surface_speed"]),
    ],
)
def test_a_profile_that_cannot_be_is_refused_by_its_field(change: dict[str, Any], pointers: list[str]) -> None:
    assert [fault.pointer for fault in faults_of_profile(replace(BENCH, **change))] == pointers

"""Turning: the figures of textbooks and course notes, to their printed digits.

Where a published worked answer is known to be wrong it is left out: the machining time of the titanium problem, and a
three-step solution whose speeds do not follow from its own figures.
"""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given

from tests.judging.passes.samples import steps
from turnrule.judging.lathe_job import Surface
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

D = Decimal
MM_PER_FOOT, MM_PER_INCH = D("304.8"), D("25.4")
MICROMETRE = D("0.001")


def shown(value: Decimal, printed: str) -> bool:
    """True where the value is the printed one when rounded to as many places."""
    return value.quantize(D(printed)) == D(printed)


def test_the_rod_of_the_textbook_has_all_four_of_its_answers() -> None:
    """Kalpakjian and Schmid (statement READ, answers DERIVED): 150 mm, 12.5 to 12.0 mm, 400 rev/min."""
    feed, depth = D(200) / 400, (D("12.5") - 12) / 2
    assert (feed, depth) == (D("0.5"), D("0.25"))
    assert shown(surface_speed(D("12.5"), D(400)), "15.708")
    assert turning_time(D(150), feed, D(400)) == D("0.75")
    assert shown(removal_rate((D("12.5") + 12) / 2, depth, feed, D(400)), "1924.2255")


def test_the_metal_off_is_the_volume_that_goes() -> None:
    """pi D a f n is pi/4 (D0^2 - D1^2) times the axial speed."""
    expected = math.pi / 4 * (12.5**2 - 12.0**2) * 200
    assert float(removal_rate(D("12.25"), D("0.25"), D("0.5"), D(400))) == pytest.approx(expected, abs=1e-4)


def test_the_inch_rule_of_1914_gives_its_speed() -> None:
    """F. D. Jones, Turning and Boring, 1914 (READ): 60 ft/min at 5 in, 46 rev/min."""
    speed = speed_for(60 * MM_PER_FOOT / 1000, 5 * MM_PER_INCH)
    assert shown(speed, "45.837")
    assert shown(speed, "46")


def test_the_workshop_shortcut_of_four_is_nearly_five_per_cent_high() -> None:
    """RPM = 4 CS / D (READ, course notes): 200 at 100 ft/min and 2 in, where 12/pi gives 190.986 (DERIVED)."""
    speed = speed_for(100 * MM_PER_FOOT / 1000, 2 * MM_PER_INCH)
    assert shown(speed, "190.986")
    assert shown((200 / speed - 1) * 100, "4.72")


@pytest.mark.parametrize(
    ("inches", "printed", "derived"),
    # A pocket book of the 19th century, p. 439 (READ): cast iron turned at 160 in/min; its last digits slip.
    [("1", "50.92", "50.930"), ("2", "25.46", "25.465"), ("10", "5.10", "5.093"), ("12", "4.24", "4.244"),
     ("20", "2.54", "2.546")],
)  # fmt: skip
def test_the_cast_iron_table_falls_with_the_diameter(inches: str, printed: str, derived: str) -> None:
    speed = speed_for(160 * MM_PER_INCH / 1000, D(inches) * MM_PER_INCH)
    assert shown(speed, derived)
    assert abs(speed - D(printed)) <= D("0.0101")


def test_the_titanium_bar_has_its_surface_speed() -> None:
    """75 mm at 400 rev/min (READ: 94.25 m/min); its published time is wrong and not used."""
    assert shown(surface_speed(D(75), D(400)), "94.248")
    assert turning_time(D(200), D("0.625"), D(400)) == D("0.8")


def test_the_mild_steel_bar_has_its_time() -> None:
    """50 mm by 500 mm, 30 m/min, 0.7 mm a turn (problem READ, answer DERIVED)."""
    speed = speed_for(D(30), D(50))
    assert shown(speed, "190.986")
    assert shown(turning_time(D(500), D("0.7"), speed), "3.740")


def test_facing_a_ring_takes_half_the_difference_of_its_diameters() -> None:
    """t = (Ro - Ri) / (f N), DERIVED."""
    ring = Surface.ring(D(280), D(180))
    assert (ring.width, ring.mean_diameter) == (D(50), D(230))
    assert turning_time(ring.width, D("0.1"), D(150)) == D("3.3334")


def test_the_finish_of_a_feed_is_the_published_one() -> None:
    """0.20 mm and 0.8 mm: Rt 6.25 um (READ), Ra 1.60 um (READ; DERIVED 1.60375 of the parabola)."""
    assert peak_roughness(D("0.2"), D("0.8")) == D("6.25") * MICROMETRE
    mean = mean_roughness(D("0.2"), D("0.8")) / MICROMETRE
    assert shown(mean, "1.6038")
    assert shown(mean, "1.60")


def test_the_published_forms_of_the_finish_lie_within_their_documented_spread() -> None:
    """f^2/(32 r) 1.5625 (READ), f^2/(31.2 r) 1.6026 (READ), the parabola 1.60375: the last and greatest is used."""
    square_over_radius = D("0.2") ** 2 / D("0.8") / MICROMETRE
    forms = [square_over_radius / 32, square_over_radius / D("31.2"), mean_roughness(D("0.2"), D("0.8")) / MICROMETRE]
    assert [shown(form, printed) for form, printed in zip(forms, ("1.5625", "1.6026", "1.6038"), strict=True)]
    assert forms == sorted(forms)


def test_the_parabola_is_close_to_the_circular_arc() -> None:
    """Rt = r - sqrt(r^2 - f^2/4) is 6.2746 um (DERIVED), 0.4 % more."""
    arc = 0.8 - math.sqrt(0.8**2 - 0.2**2 / 4)
    assert round(arc * 1000, 4) == 6.2746
    assert float(peak_roughness(D("0.2"), D("0.8"))) == pytest.approx(arc, rel=0.004)


def test_doubling_the_feed_makes_the_finish_four_times_as_rough() -> None:
    assert peak_roughness(D("0.4"), D("0.8")) == 4 * peak_roughness(D("0.2"), D("0.8"))
    ratio = mean_roughness(D("0.4"), D("0.8")) / mean_roughness(D("0.2"), D("0.8"))
    assert float(ratio) == pytest.approx(4, abs=1e-3)


@given(steps(1, 4000, "0.00001"), steps(100, 2000))
def test_the_feed_that_reaches_a_finish_is_the_greatest(wanted: Decimal, nose: Decimal) -> None:
    feed = feed_for(wanted, nose)
    assert reaches(feed, nose, wanted)
    assert not reaches(feed + D("1E-7"), nose, wanted)
    assert float(feed) == pytest.approx(math.sqrt(18 * math.sqrt(3) * float(nose) * float(wanted)), abs=2e-7)


@given(steps(10, 900), steps(100, 2000))
def test_the_mean_roughness_is_that_of_the_parabola_by_integration(feed: Decimal, nose: Decimal) -> None:
    """Ra is the mean distance from the mean line of y = x^2/(2 r) over one feed, by the midpoint rule."""
    count = 4000
    heights = [((step + 0.5) / count - 0.5) ** 2 * float(feed) ** 2 / (2 * float(nose)) for step in range(count)]
    middle = sum(heights) / count
    expected = sum(abs(height - middle) for height in heights) / count
    assert float(mean_roughness(feed, nose)) == pytest.approx(expected, rel=1e-5, abs=2e-7)


@given(steps(1, 4000, "0.1"), steps(1, 3000, "0.1"))
def test_the_speed_for_a_surface_speed_never_exceeds_it(surface: Decimal, diameter: Decimal) -> None:
    speed = speed_for(surface, diameter)
    assert math.pi * float(diameter) * float(speed) / 1000 <= float(surface) * (1 + 1e-14)
    assert float(speed) == pytest.approx(float(surface) * 1000 / math.pi / float(diameter), abs=1.1e-6)
    assert float(surface_speed(diameter, speed)) == pytest.approx(float(surface), abs=float(diameter) * 4e-9 + 1e-6)

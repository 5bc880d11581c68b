"""A scratch cut: what its coverage says."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import Expected, Note
from turnrule.judging.scratch import GREATEST_RUNOUT, Arc, Passes, Scratch, passes_to_expect, read_scratch
from turnrule.judging.separation import Doubt

D = Decimal
SURE = Doubt(D(0), D(0), D(0))
DEPTH = st.integers(1, 5000).map(lambda count: count * D("0.0001"))
FRACTION = st.integers(100, 999).map(lambda count: count * D("0.001"))


@pytest.mark.parametrize(
    ("fraction", "left", "digits"), [("0.5", "1", "1"), ("0.75", "0.1716", "0.0001"), ("0.25", "5.83", "0.01")]
)
def test_what_is_left_after_a_scratch_of_one_millimetre_has_the_values_of_the_formula(
    fraction: str, left: str, digits: str
) -> None:
    """DERIVED: d (1 + cos(pi f)) / (1 - cos(pi f)) of a once-per-turn wobble, d = 1."""
    found = read_scratch(Scratch(D(1), D(fraction)), SURE, greatest_runout=D(10))
    assert found.to_go is not None
    assert found.to_go.quantize(D(digits)) == D(left)


@pytest.mark.parametrize(
    ("fraction", "expected", "least", "most"),
    [
        ("0.5", Expected.ONE_OR_TWO_PASSES, 1, 2),
        ("0.75", Expected.SINGLE_SLOW_PASS, 1, 1),
        ("0.25", Expected.MORE_THAN_ONE_PASS, 6, 7),
        ("1", Expected.NOTHING_LEFT, 0, 0),
    ],
)
def test_the_passes_are_those_that_the_trade_expects(fraction: str, expected: Expected, least: int, most: int) -> None:
    """Common practice, no source: half, one or two; three quarters, one slow one; less than half, more than one."""
    found = read_scratch(Scratch(D("0.1"), D(fraction)), SURE)
    assert passes_to_expect(found, D("0.02"), D("0.1")) == Passes(least, most, expected)


@given(DEPTH, FRACTION)
def test_the_count_agrees_with_the_trade_where_passes_are_as_deep_as_the_scratch(depth: Decimal, f: Decimal) -> None:
    found = read_scratch(Scratch(depth, f), SURE, greatest_runout=D(100))
    passes = passes_to_expect(found, depth * D("0.18"), depth)
    assert passes.least is not None
    assert passes.most is not None
    if passes.expected is Expected.MORE_THAN_ONE_PASS:
        assert passes.least > 1
    elif passes.expected is Expected.ONE_OR_TWO_PASSES:
        assert passes.least == 1
        assert passes.most <= 2
    else:
        assert (passes.least, passes.most) == (1, 1)


@given(DEPTH, FRACTION)
def test_runout_and_what_is_left_are_those_of_the_platforms_cosine(depth: Decimal, f: Decimal) -> None:
    """Python's math module is the reference."""
    found = read_scratch(Scratch(depth, f), SURE, greatest_runout=D(100))
    runout = 2 * float(depth) / (1 - math.cos(math.pi * float(f)))
    assert found.runout is not None
    assert found.to_go is not None
    assert float(found.runout) == pytest.approx(runout, abs=6e-8)
    assert -1e-9 <= float(found.to_go) - (runout - float(depth)) <= 1.01e-7


def test_two_thirds_covered_leave_exactly_a_third_of_the_depth() -> None:
    """cos 120 = -1/2: TIR = 4d/3, to go d/3; nothing is lost to rounding where the quotient ends."""
    found = read_scratch(Scratch(D("0.03"), arcs=(Arc(D(10), D(250)),)), SURE)
    assert (found.runout, found.to_go, found.centre) == (D("0.04"), D("0.01"), D(130))
    assert (found.at_least, found.at_most) == (D("0.04"), D("0.04"))


def test_a_quotient_that_does_not_end_is_rounded_against_the_part() -> None:
    found = read_scratch(Scratch(D("0.01"), arcs=(Arc(D(10), D(250)),)), SURE)
    assert (found.at_least, found.runout, found.at_most) == (D("0.0133333"), D("0.0133333"), D("0.0133334"))
    assert (found.to_go, found.to_go_at_most) == (D("0.0033334"), D("0.0033334"))


def test_a_scratch_may_run_through_the_mark() -> None:
    found = read_scratch(Scratch(D("0.05"), arcs=(Arc(D(300), D(60)),)), SURE)
    assert (found.covered, found.centre) == (D("0.333333"), D(0))
    assert found.runout == D("0.2")
    assert found.vector is not None
    assert found.vector.shown.angle == 0


def test_the_uncertainty_of_a_placed_scratch_is_that_of_its_size_and_of_its_place() -> None:
    """Half a turn, ends known to 2 degrees: 0.1/(1 - cos 88) is 0.0036162 more; 2 degrees of 0.1 are 0.0034907."""
    found = read_scratch(Scratch(D("0.05"), arcs=(Arc(D(0), D(180)),)), Doubt(D(0), D(2), D(0)))
    assert (found.at_least, found.at_most) == (D("0.0966277"), D("0.1036162"))
    assert found.error is not None
    assert float(found.error) == pytest.approx(math.hypot(0.0036162, 0.0034907), abs=2e-7)


def test_a_fraction_alone_has_no_angle() -> None:
    found = read_scratch(Scratch(D("0.05"), D("0.5")), SURE)
    assert (found.centre, found.vector, found.error) == (None, None, None)


@pytest.mark.parametrize(("fraction", "notes"), [("0.499", (Note.LITTLE_COVERED,)), ("0.5", ())])
def test_a_scratch_of_less_than_half_a_turn_is_told_with_a_note(fraction: str, notes: tuple[Note, ...]) -> None:
    """The simulation's table of warped faces says why."""
    assert read_scratch(Scratch(D("0.05"), D(fraction)), SURE).notes == notes


def test_a_whole_turn_only_bounds_the_runout() -> None:
    found = read_scratch(Scratch(D("0.05"), D(1)), Doubt(D("0.01"), D(1), D("0.01")))
    assert (found.runout, found.at_least, found.at_most, found.to_go) == (None, D(0), D("0.06"), D(0))
    assert found.notes == (Note.WHOLE_TURN_SCRATCHED,)
    assert found.wobbles_once


def test_several_arcs_are_no_once_per_turn_wobble_and_only_the_depth_is_sure() -> None:
    arcs = (Arc(D(350), D(40)), Arc(D(170), D(220)))
    found = read_scratch(Scratch(D("0.05"), arcs=arcs), Doubt(D("0.01"), D(1), D(0)))
    assert (found.runout, found.at_least, found.at_most, found.centre) == (None, D("0.04"), None, None)
    assert found.covered == D("0.277777")
    assert found.notes == (Note.SEVERAL_ARCS,)
    assert not found.wobbles_once
    assert passes_to_expect(found, D("0.02"), D("0.1")) == Passes(None, None, Expected.MORE_THAN_ONE_PASS)


def test_a_scratch_no_wider_than_its_doubt_gives_a_least_runout_and_no_more() -> None:
    found = read_scratch(Scratch(D("0.05"), D("0.2")), Doubt(D(0), D(0), D("0.2")))
    # Covered 0.4 at most: 0.1 / (1 - cos 72).
    assert (found.runout, found.at_most, found.to_go) == (None, None, None)
    assert found.at_least == D("0.1447213")
    assert found.notes == (Note.SCRATCH_TOO_SHORT,)


def test_a_runout_beyond_belief_is_not_told() -> None:
    found = read_scratch(Scratch(D("0.05"), D("0.1")), Doubt(D(0), D(0), D("0.02")))
    assert found.runout is None
    assert found.at_least == D("1.4240244")
    assert read_scratch(Scratch(D("0.05"), D("0.1")), SURE, greatest_runout=D("2.1")).runout == D("2.0431729")


def test_the_greatest_runout_that_is_believed_is_told() -> None:
    found = read_scratch(Scratch(D(1), D("0.5")), SURE)
    assert (found.runout, found.notes) == (GREATEST_RUNOUT, ())


@pytest.mark.parametrize("fraction", ["0.02", "0.0000000001", "0.000000000000001"])
def test_a_spot_too_small_for_any_wobble_is_called_a_spot(fraction: str) -> None:
    found = read_scratch(Scratch(D("0.05"), D(fraction)), Doubt(D("0.01"), D(0), D(0)))
    if D(fraction) > D("1E-14"):
        assert found.notes == (Note.LOCAL_HIGH_SPOT,)
        assert found.at_least == D("0.04")
        assert not found.wobbles_once
    else:
        assert found.notes == (Note.SCRATCH_TOO_SHORT,)
    assert found.runout is None


def test_where_only_the_depth_is_sure_it_is_rounded_against_the_part() -> None:
    arcs = (Arc(D(350), D(40)), Arc(D(170), D(220)))
    assert read_scratch(Scratch(D("0.05000009"), arcs=arcs), SURE).at_least == D("0.0500000")
    assert read_scratch(Scratch(D("0.05000001"), D(1)), SURE).at_most == D("0.0500001")
    assert read_scratch(Scratch(D("0.05000009"), D("0.01")), SURE).at_least == D("0.0500000")


@given(DEPTH, FRACTION, st.integers(0, 30), st.integers(0, 40), st.integers(-100, 100), st.integers(-100, 100))
def test_whatever_was_misread_within_its_doubt_the_true_runout_lies_between_the_bounds(
    depth: Decimal, fraction: Decimal, reading: int, covered: int, off_depth: int, off_covered: int
) -> None:
    doubt = Doubt(reading * D("0.0001"), D(0), covered * D("0.001"))
    true_depth = depth + doubt.reading * off_depth / 100
    true_fraction = fraction + doubt.covered * off_covered / 100
    if true_depth <= 0 or not 0 < true_fraction < 1:
        return
    found = read_scratch(Scratch(depth, fraction), doubt, greatest_runout=D(1000))
    true = 2 * float(true_depth) / (1 - math.cos(math.pi * float(true_fraction)))
    assert float(found.at_least) <= true + 1e-12
    if found.at_most is not None:
        assert true <= float(found.at_most) + 1e-12
    if found.to_go_at_most is not None:
        assert true - float(true_depth) <= float(found.to_go_at_most) + 1e-12


@pytest.mark.parametrize(
    ("scratch", "pointer", "code"),
    [
        (Scratch(D(0), D("0.5")), "/depth", "must_be_positive"),
        (Scratch(D(1)), "", "fraction_or_arcs"),
        (Scratch(D(1), D("0.5"), (Arc(D(0), D(180)),)), "", "fraction_or_arcs"),
        (Scratch(D(1), D(0)), "/fraction", "not_a_fraction"),
        (Scratch(D(1), D("1.01")), "/fraction", "not_a_fraction"),
        (Scratch(D(1), arcs=(Arc(D(-1), D(180)),)), "/arcs/0/start", "not_an_angle"),
        (Scratch(D(1), arcs=(Arc(D(1), D(360)),)), "/arcs/0/end", "not_an_angle"),
        (Scratch(D(1), arcs=(Arc(D(5), D(5)),)), "/arcs/0", "empty_arc"),
        (Scratch(D(1), arcs=(Arc(D(0), D(90)), Arc(D(90), D(120)))), "/arcs", "arcs_overlap"),
        (Scratch(D(1), arcs=(Arc(D(300), D(20)), Arc(D(10), D(120)))), "/arcs", "arcs_overlap"),
    ],
)
def test_a_scratch_that_cannot_be_is_refused_by_name(scratch: Scratch, pointer: str, code: str) -> None:
    with pytest.raises(LatheDataError) as raised:
        read_scratch(scratch, SURE)
    assert (pointer, code) in [(fault.pointer, fault.code) for fault in raised.value.faults]
    assert raised.value.code == "invalid_request"


@pytest.mark.parametrize(("least", "most"), [("0.1", 1), ("0.0999999", 2)])
def test_what_the_least_depth_takes_off_is_a_single_pass(least: str, most: int) -> None:
    found = read_scratch(Scratch(D("0.1"), D("0.5")), SURE)
    assert passes_to_expect(found, D(least), D("0.1")).most == most


def test_a_pass_must_have_a_depth_and_the_greatest_is_not_below_the_least() -> None:
    found = read_scratch(Scratch(D("0.1"), D("0.5")), SURE)
    with pytest.raises(LatheDataError, match="greatest depth") as raised:
        passes_to_expect(found, D(0), D("-0.1"))
    assert [fault.pointer for fault in raised.value.faults] == ["/least_depth", "/greatest_depth"]

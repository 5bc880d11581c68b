"""Hub and rotor told apart, and the index position that makes their sum least."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.judging.lathe.shapes import INDICATOR, SURE, apart, polar, trace, wobble
from turnrule.judging.index_positions import IndexReading, MatchMounting, match_mounting, stud_positions
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import Missing, Note
from turnrule.judging.separation import Doubt

D = Decimal


def spotted(rotor: complex, hub: complex, *turns: float) -> list[IndexReading]:
    """TIR and high spot at these turns."""
    readings = []
    for turned in turns:
        seen = wobble(rotor, hub, turned)
        angle = math.degrees(math.atan2(seen.imag, seen.real)) % 360
        readings.append(IndexReading(D(str(turned)), runout=D(f"{abs(seen):.12f}"), high_spot=D(f"{angle:.12f}") % 360))
    return readings


def indicated(rotor: complex, hub: complex, *turns: int, form: list[float] | None = None) -> list[IndexReading]:
    """Traces at these turns."""
    return [IndexReading(D(turned), trace=trace(wobble(rotor, hub, turned), 60, form=form or ())) for turned in turns]


def best_of(found: MatchMounting) -> tuple[Decimal, Decimal]:
    """Where it runs truest, and what remains there."""
    assert found.best is not None
    return found.best.turned, found.best.remaining


def test_the_hub_is_set_against_the_rotor() -> None:
    """Hub and rotor both 0.05 at the same place: a hub that lies on the rotor half a turn away takes it all off."""
    found = match_mounting(spotted(polar(0.05, 30), polar(0.05, 30), 0, 90), stud_positions(4), SURE)
    assert found.rotor is not None
    assert found.hub is not None
    assert (found.rotor.runout, found.hub.runout) == (D("0.0500000"), D("0.0500000"))
    assert best_of(found) == (D(180), D("0.0000000"))
    assert found.now is not None
    assert found.now.turned == 90
    assert (found.turn_by, found.gain) == (D(90), D("0.0707107"))
    assert found.missing == (Missing.TRACE,)


def test_five_studs_leave_what_cannot_be_set_against_each_other() -> None:
    """Hub 20 degrees off the best stud: 0.05 |1 - exp(i 20 degrees)| = 0.0173648 remains (DERIVED)."""
    found = match_mounting(
        spotted(polar(0.05, 30), polar(0.05, 30 + 180 + 72 + 20), 0, 144), stud_positions(5), SURE, D(0)
    )
    assert best_of(found) == (D(72), D("0.0173648"))
    assert found.turn_by == 72


def test_the_whole_runout_counts_where_traces_tell_it() -> None:
    """The rotor's own form makes another position better than the once-per-turn wobble alone would have it."""
    form = [0.03 * math.cos(2 * 2 * math.pi * k / 60) for k in range(60)]
    rotor, hub = polar(0.04, 0), polar(0.03, 200)
    whole = match_mounting(indicated(rotor, hub, 0, 72, form=form), stud_positions(5), SURE)
    assert whole.best is not None
    assert whole.best.whole is not None
    assert whole.missing == ()
    for position in whole.positions:
        sums = [float(o) + f for o, f in zip(trace(wobble(rotor, hub, float(position.turned)), 60), form, strict=True)]
        assert position.whole is not None
        assert float(position.whole) == pytest.approx(max(sums) - min(sums), abs=3e-7)
    assert whole.best.whole == min(position.remaining for position in whole.positions)
    assert whole.form is not None
    assert float(whole.form.residual) == pytest.approx(0.06, abs=1e-6)
    assert whole.notes == (Note.FORM_PARTLY_MIXED,)


def test_a_rotor_that_sits_best_is_left_where_it_is() -> None:
    found = match_mounting(spotted(polar(0.05, 30), polar(0.02, 210), 72, 0), stud_positions(5), SURE)
    assert (found.turn_by, found.gain) == (D(0), D("0.0000000"))
    assert Note.WITHIN_UNCERTAINTY in found.notes
    even = match_mounting(spotted(polar(0.05, 30), 0j, 0, 144), stud_positions(5), SURE)
    assert even.turn_by == 0


def test_a_gain_that_the_gauge_cannot_show_is_said_to_be_none() -> None:
    readings = spotted(polar(0.05, 30), polar(0.001, 30), 0, 180)
    assert Note.WITHIN_UNCERTAINTY in match_mounting(readings, stud_positions(4), INDICATOR, D(0)).notes
    assert Note.WITHIN_UNCERTAINTY not in match_mounting(readings, stud_positions(4), SURE, D(0)).notes


def test_the_uncertainty_is_that_of_a_runout_and_its_high_spot() -> None:
    """U of a TIR is root two of a reading's; half a turn apart, hub and rotor have U / root two each."""
    found = match_mounting(spotted(polar(0.05, 30), 0j, 0, 180), stud_positions(4), Doubt(D("0.01"), D(0), D(0)))
    assert (found.hub_uncertainty, found.rotor_uncertainty) == (D("0.01"), D("0.01"))


def test_the_uncertainty_of_a_high_spot_is_that_of_its_angle() -> None:
    """2 degrees of 0.05 mm are 0.0017453 mm; half a turn apart, over root two."""
    found = match_mounting(spotted(polar(0.05, 30), 0j, 0, 180), stud_positions(4), Doubt(D(0), D(2), D(0)))
    assert found.rotor_uncertainty == D("0.0012342")


def test_one_position_tells_nothing_apart() -> None:
    found = match_mounting(spotted(polar(0.05, 30), polar(0.05, 30), 0), stud_positions(5), SURE)
    assert (found.missing, found.rotor, found.best) == ((Missing.SECOND_READING,), None, None)
    found = match_mounting(spotted(polar(0.05, 30), polar(0.05, 30), 0, 360), stud_positions(5), SURE)
    assert found.missing == (Missing.TURN_OF_THE_PART,)


def test_traces_of_different_length_give_the_once_per_turn_wobble_only() -> None:
    rotor, hub = polar(0.04, 0), polar(0.03, 200)
    readings = [*indicated(rotor, hub, 0), IndexReading(D(72), trace=trace(wobble(rotor, hub, 72), 48))]
    found = match_mounting(readings, stud_positions(5), SURE)
    assert Note.TRACES_OF_DIFFERENT_LENGTH in found.notes
    assert found.best is not None
    assert found.best.whole is None
    assert found.missing == (Missing.TRACE,)


@given(
    st.floats(0.001, 0.2), st.floats(0, 359), st.floats(0.001, 0.2), st.floats(0, 359), st.integers(3, 10), st.data()
)
def test_the_best_stud_is_no_worse_than_half_a_spacing_allows(
    r: float, a: float, h: float, b: float, studs: int, data: st.DataObject
) -> None:
    """|R - H exp(i delta)| with delta at most half the spacing of the studs (DERIVED)."""
    step = data.draw(st.integers(1, studs - 1))
    rotor, hub = polar(r, a), polar(h, b)
    turns = stud_positions(studs)
    readings = spotted(rotor, hub, float(turns[0]), float(turns[step]))
    found = match_mounting(readings, turns, SURE)
    assert found.best is not None
    worst = abs(complex(r, 0) - polar(h, 180 / studs))
    assert float(found.best.wobble.runout) <= worst + 1e-6
    assert found.gain is not None
    assert found.gain >= 0
    least = min(abs(wobble(rotor, hub, float(turned))) for turned in turns)
    assert float(found.best.wobble.runout) == pytest.approx(least, abs=2e-6)
    assert found.hub is not None
    if h > 0.01 and found.hub.angle is not None:
        assert apart(found.hub.angle, b) < 0.02


@pytest.mark.parametrize(
    ("reading", "pointer", "code"),
    [
        (IndexReading(D(9999), trace=(D(0),) * 3), "/readings/0/turned", "not_a_turn"),
        (IndexReading(D(0)), "/readings/0", "trace_or_high_spot"),
        (IndexReading(D(0), runout=D(1)), "/readings/0", "trace_or_high_spot"),
        (IndexReading(D(0), (D(0),) * 3, high_spot=D(1)), "/readings/0", "trace_or_high_spot"),
        (IndexReading(D(0), (D(0),) * 3, D(1), D(1)), "/readings/0", "trace_or_high_spot"),
        (IndexReading(D(0), runout=D(-1), high_spot=D(1)), "/readings/0/runout", "must_not_be_negative"),
        (IndexReading(D(0), runout=D(1), high_spot=D(360)), "/readings/0/high_spot", "not_an_angle"),
        (IndexReading(D(0), trace=(D(0),) * 2), "/readings/0/trace", "too_few_readings"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_by_name(reading: IndexReading, pointer: str, code: str) -> None:
    with pytest.raises(LatheDataError) as raised:
        match_mounting([reading], stud_positions(5), SURE, D(0))
    assert [(fault.pointer, fault.code) for fault in raised.value.faults] == [(pointer, code)]


def test_nothing_to_go_by_is_refused_all_at_once() -> None:
    with pytest.raises(LatheDataError) as raised:
        match_mounting([], [], Doubt(D(-1), D(0), D(0)), D(10_000))
    assert [fault.pointer for fault in raised.value.faults] == [
        "/uncertainty/reading",
        "/readings",
        "/positions",
        "/now",
    ]
    with pytest.raises(LatheDataError):
        match_mounting([], [D(5000)], SURE)


@pytest.mark.parametrize("studs", [0, 61])
def test_a_count_of_studs_that_cannot_be_is_refused(studs: int) -> None:
    with pytest.raises(LatheDataError, match="studs"):
        stud_positions(studs)


def test_studs_are_spread_evenly() -> None:
    assert stud_positions(5) == (D(0), D(72), D(144), D(216), D(288))
    assert stud_positions(1) == (D(0),)
    assert stud_positions(60)[1] == 6

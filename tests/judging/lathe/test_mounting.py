"""Mounted right or mount again, and whose the wobble is."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.lathe.shapes import INDICATOR, SURE, apart, polar, scratch, trace, wobble
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.lathe_words import LookAt, Missing, Mounted, Note
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.mounting import GREATEST_MOUNT_RUNOUT, MountCheck, check_mounting
from turnrule.judging.part_form import mixed_harmonics
from turnrule.judging.scratch import Arc, Scratch
from turnrule.judging.separation import Doubt

D = Decimal


def indicated(part: complex, seat: complex, *turns: float, count: int = 36) -> list[MountReading]:
    """Traces of a part on a mount at these turns."""
    return [MountReading(D(str(turn)), trace=trace(wobble(part, seat, turn), count)) for turn in turns]


def scratched(part: complex, seat: complex, depth: float, *turns: float) -> list[MountReading]:
    """Scratches of a part on a mount at these turns."""
    return [MountReading(D(str(turn)), scratch(wobble(part, seat, turn), depth)) for turn in turns]


def told(check: MountCheck) -> tuple[Decimal, Decimal]:
    """The TIR of the mount and of the part, where both are known."""
    assert check.mount is not None
    assert check.part is not None
    return check.mount.runout, check.part.runout


def test_half_a_turn_separates_fixture_and_part_exactly() -> None:
    """DERIVED: amplitudes F = 0.03 at 0, P = 0.04 at 90 degrees; both readings have amplitude 0.05, TIR 0.10."""
    check = check_mounting(indicated(polar(0.08, 90), polar(0.06, 0), 0, 180), SURE)
    assert [seen.wobble.runout for seen in check.seen if seen.wobble] == [D("0.1000000")] * 2
    assert told(check) == (D("0.0600000"), D("0.0800000"))
    assert check.mount is not None
    assert check.part is not None
    assert (check.mount.angle, check.part.angle) == (D(0), D(90))
    assert check.mounted is Mounted.AGAIN
    assert check.metal_cost == D("0.06")
    assert check.notes == (Note.FORM_PARTLY_MIXED, Note.CUT_WOULD_LEAVE_RUNOUT)


def test_reversal_gives_back_part_and_spindle() -> None:
    """Two-position reversal: P = (M1 + M2)/2, S = (M1 - M2)/2 (Donaldson, MEMORY)."""
    part = trace(polar(0.03, 40), 24)
    spindle = trace(polar(0.02, 200), 24)
    first = tuple(p + s for p, s in zip(part, spindle, strict=True))
    second = tuple(p - s for p, s in zip(part, spindle, strict=True))
    check = check_mounting([MountReading(D(0), trace=first), MountReading(D(180), trace=second)], SURE)
    assert told(check) == (D("0.0200000"), D("0.0300000"))
    assert check.form is not None
    assert max(abs(found - own) for found, own in zip(check.form.trace, part, strict=True)) <= D("1.01E-7")


@pytest.mark.parametrize(("turns", "mixed"), [(4, (4, 8, 12)), (3, (3, 6, 9, 12)), (2, (2, 4, 6, 8, 10, 12))])
def test_equally_spaced_positions_leave_every_nth_harmonic(turns: int, mixed: tuple[int, ...]) -> None:
    """N-position theorem: all average out except kN (READ: Estler, Evans and Shao, NIST publication 820842)."""
    assert mixed_harmonics([D(360) * k / turns for k in range(turns)], 72) == mixed
    assert mixed_harmonics([D(360) * k / turns for k in range(turns)], 8) == tuple(m for m in mixed if m <= 4)


def test_the_parts_own_form_comes_out_without_the_mounts_other_harmonics() -> None:
    count = 48
    own = [0.01 * math.cos(3 * 2 * math.pi * k / count + 1) for k in range(count)]
    readings = []
    for turned in (0, 90, 180, 270):
        steps = turned * count // 360
        shaken = [
            own[k]
            + 0.004 * math.cos(2 * 2 * math.pi * (k + steps) / count)
            + 0.003 * math.cos(4 * 2 * math.pi * (k + steps) / count)
            for k in range(count)
        ]
        once = wobble(polar(0.03, 10), polar(0.01, 300), turned)
        readings.append(MountReading(D(turned), trace=trace(once, count, form=shaken)))
    form = check_mounting(readings, SURE).form
    assert form is not None
    # The mount's second harmonic is gone, its fourth is left, and the answer says so.
    expected = [
        o + 0.003 * math.cos(4 * 2 * math.pi * k / count) + once
        for k, (o, once) in enumerate(zip(own, map(float, trace(polar(0.03, 10), count)), strict=True))
    ]
    assert max(abs(float(f) - e) for f, e in zip(form.trace, expected, strict=True)) < 2e-7
    assert form.mixed_harmonics == (4, 8, 12)
    assert float(form.runout) == pytest.approx(max(expected) - min(expected), abs=3e-7)


def test_a_pattern_that_stays_on_the_part_is_the_parts_own() -> None:
    """Common practice, no source: the same pattern after turning the part, aligned."""
    check = check_mounting(scratched(polar(0.12, 70), 0j, 0.03, 0, 180), INDICATOR)
    assert check.mounted is Mounted.RIGHT
    assert told(check)[0] < D("0.00001")
    assert apart(check.part.angle if check.part and check.part.angle is not None else 0, 70) < 0.1
    assert (check.look_at, check.missing, check.notes) == ((), (), (Note.LITTLE_COVERED,))


def test_a_pattern_that_moves_with_the_arbor_is_the_mounts() -> None:
    """Common practice, no source: a different pattern, mount again."""
    check = check_mounting(scratched(0j, polar(0.12, 70), 0.03, 0, 180), INDICATOR)
    assert check.mounted is Mounted.AGAIN
    assert told(check)[1] < D("0.00001")
    assert check.look_at[:2] == (LookAt.SEATS_DIRTY, LookAt.BURR_ON_SEAT)
    assert Note.CUT_WOULD_LEAVE_RUNOUT in check.notes


def test_the_turn_counts_in_the_sense_in_which_angles_run() -> None:
    """With the part turned by +90 the mount's high spot lies 90 degrees further back on the part."""
    readings = [
        MountReading(D(0), trace=trace(polar(0.05, 100))),
        MountReading(D(90), trace=trace(polar(0.05, 10))),
    ]
    check = check_mounting(readings, SURE)
    assert told(check) == (D("0.0500000"), D("0.0000000"))
    backwards = check_mounting([readings[0], MountReading(D(270), trace=readings[1].trace)], SURE)
    assert told(backwards)[1] > D("0.01")


def test_traces_and_scratches_of_one_part_agree() -> None:
    part, seat = polar(0.09, 20), polar(0.05, 250)
    mixed = [*indicated(part, seat, 0), *scratched(part, seat, 0.02, 130)]
    assert told(check_mounting(mixed, SURE)) == (D("0.0500000"), D("0.0900000"))


def test_three_readings_are_a_least_squares_fit_whose_misfit_is_told() -> None:
    part, seat = polar(0.06, 20), polar(0.04, 250)
    good = indicated(part, seat, 0, 120, 240)
    check = check_mounting(good, INDICATOR)
    assert told(check) == (D("0.0400000"), D("0.0600000"))
    assert (check.misfit, Note.DOES_NOT_REPEAT in check.notes) == (D(0), False)
    shaken = [*good[:2], MountReading(D(240), trace=trace(wobble(part, polar(0.08, 200), 240)))]
    loose = check_mounting(shaken, INDICATOR)
    assert loose.misfit is not None
    assert loose.misfit > D("0.01")
    assert Note.DOES_NOT_REPEAT in loose.notes
    assert loose.look_at[:2] == (LookAt.NUT_TORQUE, LookAt.BEARING_PLAY)
    assert loose.mounted is Mounted.CANNOT_TELL
    assert loose.missing == (Missing.FINER_READING,)


def test_one_reading_tells_the_sum_only() -> None:
    check = check_mounting(indicated(polar(0.06, 20), polar(0.04, 20), 0), INDICATOR)
    assert check.mounted is Mounted.CANNOT_TELL
    assert check.missing == (Missing.SECOND_READING,)
    assert check.mount is None
    assert [seen.wobble.runout for seen in check.seen if seen.wobble] == [D("0.1000000")]


@pytest.mark.parametrize("turned", ["0", "360", "-720"])
def test_no_turn_or_a_full_turn_tells_nothing_of_the_mount(turned: str) -> None:
    part, seat = polar(0.06, 20), polar(0.04, 250)
    first, second = trace(wobble(part, seat, 0)), trace(wobble(part, seat, 0))
    check = check_mounting([MountReading(D(0), trace=first), MountReading(D(turned), trace=second)], INDICATOR)
    assert check.mounted is Mounted.CANNOT_TELL
    assert check.missing == (Missing.TURN_OF_THE_PART,)
    assert (check.notes, check.look_at) == ((), ())


def test_a_pattern_that_changes_without_a_turn_says_that_the_mount_does_not_repeat() -> None:
    part = polar(0.06, 20)
    readings = [MountReading(D(0), trace=trace(part + polar(0.04, at))) for at in (250, 20)]
    check = check_mounting(readings, INDICATOR)
    assert check.notes == (Note.DIFFERS_WITHOUT_TURNING,)
    assert check.look_at[0] is LookAt.NUT_TORQUE
    # U of a trace of 36 is 0.000943 here: two may differ by twice that for no reason of the mount's.
    for apart_by, notes in ((0.0018, ()), (0.0020, (Note.DIFFERS_WITHOUT_TURNING,))):
        close = [MountReading(D(0), trace=trace(part + polar(off, 77))) for off in (0, apart_by)]
        assert check_mounting(close, INDICATOR).notes == notes
    other = [close[0], MountReading(D(0), Scratch(D("0.03"), D(1)))]
    assert Note.DIFFERS_WITHOUT_TURNING in check_mounting(other, INDICATOR).notes
    fractions = [MountReading(D(0), Scratch(D("0.03"), D(f))) for f in ("0.6", "0.9")]
    assert check_mounting(fractions, INDICATOR).notes == (Note.DIFFERS_WITHOUT_TURNING,)
    assert check_mounting([fractions[0]] * 2, SURE).notes == ()
    assert check_mounting([MountReading(D(0), Scratch(D("0.03"), D("0.5")))] * 2, SURE).notes == ()


def test_fractions_alone_bound_the_mount_where_they_can() -> None:
    """|w1| = 0.10 and |w2| = 0.04 half a turn apart: each wobble is 0.03 to 0.07."""
    first, second = Scratch(D("0.05"), D("0.5")), Scratch(D("0.02"), D("0.5"))
    readings = [MountReading(D(0), first), MountReading(D(180), second)]
    check = check_mounting(readings, SURE)
    assert (check.each_at_least, check.each_at_most) == (D("0.03"), D("0.07"))
    assert check.mounted is Mounted.AGAIN
    assert check.missing == (Missing.ANGLES_OF_THE_SCRATCH,)
    assert check.notes == (Note.MAGNITUDES_ONLY,)
    assert (check.mount, check.metal_cost) == (None, None)
    assert check_mounting(readings, SURE, D("0.07")).mounted is Mounted.RIGHT
    assert check_mounting(readings, SURE, D("0.03")).mounted is Mounted.CANNOT_TELL


def test_a_turn_that_may_be_beyond_half_is_taken_as_half_at_most() -> None:
    """|1 - exp(-i phi)| is never more than 2, however badly the turn is known."""
    scratches = (Scratch(D("0.05"), D("0.5")), Scratch(D("0.02"), D("0.5")))
    readings = [MountReading(D(180 * k), one) for k, one in enumerate(scratches)]
    check = check_mounting(readings, Doubt(D(0), D(5), D(0)))
    assert check.each_at_least == D("0.03")
    assert check.each_at_most == D("0.0700667")


def test_a_trace_and_a_whole_turn_scratched_bound_the_mount_together() -> None:
    """0.10 less its U (0.004 for eight readings) against 0.02 at most, half a turn apart: 0.038."""
    readings = [
        MountReading(D(0), trace=trace(polar(0.1, 45), 8, places=12)),
        MountReading(D(180), Scratch(D("0.016"), D(1))),
    ]
    check = check_mounting(readings, Doubt(D("0.004"), D(0), D(0)))
    assert float(check.each_at_least or 0) == pytest.approx(0.038, abs=1e-7)
    assert float(check.each_at_most or 0) == pytest.approx(0.062, abs=1e-7)
    assert check.mounted is Mounted.AGAIN


def test_what_fits_within_the_doubt_of_the_coarsest_reading_is_no_fault_of_the_mount() -> None:
    """0.012 put on one of three readings leaves 0.004 everywhere: over the fine U 0.002, within the coarse 0.006."""
    part, seat, doubt = polar(0.06, 20), polar(0.04, 250), Doubt(D("0.006"), D(0), D(0))
    shaken = {0: 0j, 120: polar(0.012, 77), 240: 0j}
    counts = {0: 8, 120: 72, 240: 72}
    readings = [
        MountReading(D(turn), trace=trace(wobble(part, seat, turn) + off, counts[turn])) for turn, off in shaken.items()
    ]
    check = check_mounting(readings, doubt)
    assert check.misfit == D("0.0040000")
    assert Note.DOES_NOT_REPEAT not in check.notes
    fine = [
        replace(reading, trace=trace(wobble(part, seat, turn) + off, 72))
        for reading, (turn, off) in zip(readings, shaken.items(), strict=True)
    ]
    assert Note.DOES_NOT_REPEAT in check_mounting(fine, doubt).notes


def test_bounds_that_do_not_end_are_rounded_outwards() -> None:
    """0.06 and 0.14 over the root of three, a third of a turn apart."""
    scratches = (Scratch(D("0.05"), D("0.5")), Scratch(D("0.02"), D("0.5")))
    readings = [MountReading(D(120 * k), one) for k, one in enumerate(scratches)]
    check = check_mounting(readings, SURE)
    assert (check.each_at_least, check.each_at_most) == (D("0.0346410"), D("0.0808291"))


def test_only_how_far_the_part_was_turned_between_two_readings_counts() -> None:
    scratches = (Scratch(D("0.05"), D("0.5")), Scratch(D("0.02"), D("0.5")))
    first, later = (
        check_mounting([MountReading(D(120 * k + begun), one) for k, one in enumerate(scratches)], INDICATOR)
        for begun in (0, 30)
    )
    assert (first.each_at_least, first.each_at_most) == (later.each_at_least, later.each_at_most)


def test_the_closest_of_several_bounds_counts() -> None:
    """The two shallow scratches alone bound the mount by half their sum."""
    depths = {0: D("0.012"), 180: D("0.012"), 90: D("0.03")}
    readings = [MountReading(D(turned), Scratch(depth, D(1))) for turned, depth in depths.items()]
    assert check_mounting(readings, SURE).each_at_most == D("0.012")


@pytest.mark.parametrize("turned", [30, 90, 180, 300])
def test_two_readings_know_the_part_as_well_as_the_mount(turned: int) -> None:
    """Both are the two readings over 1 - exp(-i phi): U / |1 - exp(-i phi)| times root two (DERIVED)."""
    check = check_mounting(
        indicated(polar(0.02, 5), polar(0.03, 80), 0, turned, count=8), Doubt(D("0.003"), D(0), D(0))
    )
    assert check.part_uncertainty is not None
    assert check.part_uncertainty == check.mount_uncertainty
    spread = 2 * math.sin(math.radians(turned / 2))
    assert float(check.part_uncertainty) == pytest.approx(0.003 * math.sqrt(2) / spread, abs=2e-7)


def test_fractions_of_one_size_say_nothing_of_the_mount() -> None:
    readings = [MountReading(D(turned), Scratch(D("0.05"), D("0.5"))) for turned in (0, 180)]
    check = check_mounting(readings, INDICATOR)
    assert check.mounted is Mounted.CANNOT_TELL
    assert check.each_at_least == 0
    assert check.each_at_most is not None
    assert check.each_at_most > D("0.1")


def test_two_whole_turns_scratched_shallowly_prove_the_mount() -> None:
    """Each wobble is within the depth; half a turn apart the mount is within half their sum."""
    readings = [MountReading(D(turned), Scratch(D("0.012"), D(1))) for turned in (0, 180, 0)]
    check = check_mounting(readings, SURE)
    assert (check.mounted, check.each_at_most) == (Mounted.RIGHT, D("0.012"))
    assert check.missing == (Missing.SHALLOWER_SCRATCH,)


def test_a_scratch_that_says_too_little_is_named_with_what_would_say_more() -> None:
    short, spot = Scratch(D("0.05"), D("0.1")), Scratch(D("0.05"), D("0.01"))
    twice = Scratch(D("0.05"), arcs=(Arc(D(0), D(60)), Arc(D(180), D(240))))
    readings = [MountReading(D(90 * k), one) for k, one in enumerate((short, spot, twice))]
    check = check_mounting(readings, INDICATOR)
    assert check.missing == (Missing.DEEPER_SCRATCH, Missing.TRACE)
    assert check.each_at_most is None
    assert LookAt.PART_DISTORTED in check.look_at
    assert check.look_at[-1] is LookAt.HIGH_SPOT
    assert set(check.notes) == {
        Note.SCRATCH_TOO_SHORT,
        Note.LOCAL_HIGH_SPOT,
        Note.SEVERAL_ARCS,
        Note.MAGNITUDES_ONLY,
    }


def test_a_turn_known_no_better_than_its_size_leaves_no_upper_bound() -> None:
    doubt = Doubt(D(0), D(5), D(0))
    readings = [MountReading(D(turned), Scratch(D("0.05"), D("0.5"))) for turned in (0, 4)]
    assert check_mounting(readings, doubt).each_at_most is None


def test_a_reading_without_a_vector_is_left_out_and_that_is_said() -> None:
    part, seat = polar(0.06, 20), polar(0.04, 250)
    readings = [*indicated(part, seat, 0, 120), MountReading(D(240), Scratch(D("0.02"), D("0.5")))]
    check = check_mounting(readings, INDICATOR)
    assert told(check) == (D("0.0400000"), D("0.0600000"))
    assert Note.SOME_READINGS_NOT_USED in check.notes


def test_traces_of_different_length_separate_but_give_no_form() -> None:
    part, seat = polar(0.06, 20), polar(0.04, 250)
    readings = [*indicated(part, seat, 0, count=36), *indicated(part, seat, 180, count=24)]
    check = check_mounting(readings, INDICATOR)
    assert told(check) == (D("0.0400000"), D("0.0600000"))
    assert check.form is None
    assert Note.TRACES_OF_DIFFERENT_LENGTH in check.notes


def test_three_readings_of_a_face_show_no_harmonic_that_stays_mixed() -> None:
    check = check_mounting(indicated(polar(0.06, 20), polar(0.01, 250), 0, 120, count=3), INDICATOR)
    assert check.form is not None
    assert check.form.mixed_harmonics == ()
    assert Note.FORM_PARTLY_MIXED not in check.notes


def test_the_mount_is_made_again_only_where_its_runout_is_surely_over_the_limit() -> None:
    doubt = Doubt(D("0.003"), D(0), D(0))
    over, near, within = (
        check_mounting(indicated(0j, polar(runout, 0), 0, 180, count=8), doubt) for runout in (0.0281, 0.0270, 0.0240)
    )
    # U of a trace of 8 is that of its readings; of the mount half a turn apart, U / sqrt 2.
    assert over.mount_uncertainty == over.part_uncertainty == near.mount_uncertainty == D("0.0021214")
    assert (over.mounted, near.mounted, within.mounted) == (Mounted.AGAIN, Mounted.CANNOT_TELL, Mounted.RIGHT)
    assert [Note.WITHIN_UNCERTAINTY in check.notes for check in (over, near, within)] == [False, True, True]
    assert near.missing == (Missing.FINER_READING,)
    assert D("0.025") == GREATEST_MOUNT_RUNOUT


def test_a_gauge_too_coarse_to_show_a_bad_mount_proves_no_good_one() -> None:
    check = check_mounting(indicated(0j, polar(0.01, 0), 0, 180, count=8), Doubt(D("0.04"), D(0), D(0)))
    assert check.mounted is Mounted.CANNOT_TELL


def test_a_mount_at_its_limit_is_right() -> None:
    """Nothing is lost to the last digits of the arithmetic."""
    check = check_mounting(indicated(polar(0.01, 30), polar(0.025, 30), 0, 180), SURE, D("0.0250001"))
    assert check.mounted is Mounted.RIGHT
    exact = [MountReading(D(0), Scratch(D("0.0125"), arcs=(Arc(D(300), D(120)),)))]
    exact.append(MountReading(D(180), Scratch(D("0.0125"), arcs=(Arc(D(120), D(300)),))))
    assert told(check_mounting(exact, SURE))[0] == D("0.0250000")
    assert check_mounting(exact, SURE).mounted is Mounted.RIGHT


@pytest.mark.parametrize(
    ("reading", "pointer", "code"),
    [
        (MountReading(D(4000), trace=(D(0),) * 4), "/readings/0/turned", "not_a_turn"),
        (MountReading(D(-4000), trace=(D(0),) * 4), "/readings/0/turned", "not_a_turn"),
        (MountReading(D(0)), "/readings/0", "scratch_or_trace"),
        (MountReading(D(0), Scratch(D(1), D(1)), (D(0),) * 4), "/readings/0", "scratch_or_trace"),
        (MountReading(D(0), Scratch(D(0), D(1))), "/readings/0/scratch/depth", "must_be_positive"),
        (MountReading(D(0), trace=(D(0), D(1))), "/readings/0/trace", "too_few_readings"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_by_name(reading: MountReading, pointer: str, code: str) -> None:
    with pytest.raises(LatheDataError) as raised:
        check_mounting([reading], SURE)
    assert [(fault.pointer, fault.code) for fault in raised.value.faults] == [(pointer, code)]


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(LatheDataError) as raised:
        check_mounting([], Doubt(D(-1), D(-1), D(-1)), D(-1))
    assert [fault.pointer for fault in raised.value.faults] == [
        "/uncertainty/reading",
        "/uncertainty/angle",
        "/uncertainty/covered",
        "/limit",
        "/readings",
    ]

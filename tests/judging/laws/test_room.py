"""Laws: judging again at the room's own figures, one least digit to either side, agrees with them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import assume, given

from tests.judging.laws.strategies import Setting, near_the_discard_limit, settings
from turnrule.judging.lengths import GRID
from turnrule.judging.parts import AskedCut, Instrument, Part
from turnrule.judging.uncertainty import expanded_uncertainty
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, Outcome, Ruling

_STRENGTH = {CheckName.DISCARD_LIMIT, CheckName.MACHINING_LIMIT, CheckName.DISCARD_AFTER_CUT}


def _with_cut(setting: Setting, total: Decimal) -> Setting:
    """The same judgement with an equal cut that takes `total` in all; bounds that are not about metal left out."""
    part = setting.part
    cut = AskedCut(inboard=total / 2, outboard=total / 2) if part.kind.is_rotor else AskedCut(depth=total)
    readings = replace(part.readings, grooves={})
    findings = tuple(replace(finding, depth=None) for finding in part.findings)
    return replace(setting, part=replace(part, cut=cut, readings=readings, findings=findings))


def _metal_allows(setting: Setting) -> bool:
    """Whether the strength checks after the cut, the total and the distance left all pass."""
    verdict = setting.verdict()
    bearing = {CheckName.MACHINING_LIMIT, CheckName.DISCARD_AFTER_CUT, CheckName.TOTAL_CUT}
    size = "thickness_after_cut" if setting.part.kind.is_rotor else "diameter_after_cut"
    return all(
        check.outcome is Outcome.PASS
        for check in verdict.checks
        if check.check in bearing and check.limit is not None and check.quantity in {size, "total_cut"}
    )


@given(settings(whole=True))
def test_the_most_that_may_come_off_is_allowed_and_one_least_digit_more_is_not(setting: Setting) -> None:
    setting = replace(setting, policy=replace(setting.policy, remaining_distance_km=None))
    most = setting.verdict().room.most_total_cut
    assume(most is not None)
    assert most is not None
    assert _metal_allows(_with_cut(setting, most))
    assert not _metal_allows(_with_cut(setting, most + 2 * GRID))


def _shifted(part: Part, by: Decimal) -> Part:
    readings = part.readings
    return replace(
        part,
        readings=replace(
            readings,
            track=tuple(size + by for size in readings.track),
            inner_track=tuple(size + by for size in readings.inner_track),
        ),
    )


def _strength_passes(verdict: Verdict) -> bool:
    held = [check for check in verdict.checks if check.check in _STRENGTH and check.quantity is not None]
    return all(check.outcome is Outcome.PASS for check in held)


@given(settings() | settings(whole=True))
def test_the_reading_needed_passes_and_one_least_digit_less_does_not(setting: Setting) -> None:
    setting = replace(
        setting, part=replace(setting.part, readings=replace(setting.part.readings, part_temperature_c=None))
    )
    verdict = setting.verdict()
    needed = verdict.room.reading_needed
    assume(needed is not None)
    figures = verdict.figures
    worst = figures.least if setting.part.kind.is_rotor else figures.greatest
    assert needed is not None
    assert worst is not None
    toward_limit = -GRID if setting.part.kind.is_rotor else GRID
    there = replace(setting, part=_shifted(setting.part, needed - worst))
    assert _strength_passes(there.verdict())
    short = replace(setting, part=_shifted(setting.part, needed - worst + toward_limit))
    assert not _strength_passes(short.verdict())


@given(settings())
def test_a_reading_that_settles_an_unproven_check_makes_it_pass(setting: Setting) -> None:
    setting = replace(
        setting, part=replace(setting.part, readings=replace(setting.part.readings, part_temperature_c=None))
    )
    verdict = setting.verdict()
    worst = verdict.figures.least if setting.part.kind.is_rotor else verdict.figures.greatest
    for settling in verdict.room.settled_by:
        if settling.reading_needed is None or worst is None:
            continue
        again = replace(setting, part=_shifted(setting.part, settling.reading_needed - worst)).verdict()
        named = [check for check in again.checks if check.check is settling.check and check.value is not None]
        assert any(check.outcome is Outcome.PASS for check in named)


@given(near_the_discard_limit())
def test_a_gauge_as_fine_as_asked_for_settles_an_unproven_check(setting: Setting) -> None:
    verdict = setting.verdict()
    finest = [s.expanded_uncertainty_at_most for s in verdict.room.settled_by]
    if verdict.ruling is not Ruling.INCONCLUSIVE or not finest:
        return
    wanted = finest[0]
    assert wanted is not None
    finer = wanted - Decimal("0.0001")
    gauge = Instrument(resolution=wanted / 10, expanded_uncertainty=finer, repeatability=Decimal(0))
    coarser = Instrument(resolution=wanted / 10, expanded_uncertainty=wanted + GRID, repeatability=Decimal(0))
    assert _outcome_with(setting, gauge) is (
        Outcome.PASS if expanded_uncertainty(wanted / 10, finer, Decimal(0)) <= wanted else Outcome.UNPROVEN
    )
    assert _outcome_with(setting, coarser) is Outcome.UNPROVEN


def _outcome_with(setting: Setting, gauge: Instrument) -> Outcome:
    verdict = replace(setting, part=replace(setting.part, instrument=gauge)).verdict()
    return next(check.outcome for check in verdict.checks if check.check is CheckName.DISCARD_LIMIT)

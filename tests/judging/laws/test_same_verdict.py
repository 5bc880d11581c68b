"""Laws: what changes nothing about the part changes nothing about its verdict."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.judging.laws.strategies import Setting, settings
from turnrule.judging.lengths import from_mm, to_mm
from turnrule.judging.verdict import Check, Verdict
from turnrule.judging.words import Unit


def _without_words(verdict: Verdict) -> tuple[object, ...]:
    """Everything but the sentences, which speak in the caller's unit."""
    return (
        verdict.ruling,
        verdict.governing,
        verdict.figures,
        verdict.margins,
        verdict.room,
        verdict.limits,
        verdict.cut,
        verdict.checks,
        [caution.code for caution in verdict.cautions],
        verdict.missing,
    )


@given(settings())
def test_the_same_readings_in_inches_and_in_millimetres_get_the_same_verdict_and_checks(setting: Setting) -> None:
    inches = replace(setting, part=replace(setting.part, unit=Unit.IN))
    assert _without_words(inches.verdict()) == _without_words(setting.verdict())


@given(st.integers(0, 10**9).map(lambda count: count * Decimal("0.000001")))
def test_inches_to_millimetres_and_back_is_exact(inches: Decimal) -> None:
    assert from_mm(to_mm(inches, Unit.IN), Unit.IN) == inches


def _turned(setting: Setting, by: int) -> Setting:
    """The same part, read from another starting angle: every list of the same length turned alike."""
    readings = setting.part.readings

    def turn(values: tuple[Decimal, ...]) -> tuple[Decimal, ...]:
        if not values:
            return values
        start = by % len(values)
        return values[start:] + values[:start]

    return replace(
        setting,
        part=replace(
            setting.part,
            readings=replace(
                readings,
                track=turn(readings.track),
                inner_track=turn(readings.inner_track),
                runout_trace=turn(readings.runout_trace),
            ),
        ),
    )


def _without_angle(verdict: Verdict) -> tuple[object, ...]:
    harmonic = verdict.figures.harmonic
    still = replace(harmonic, angle=Decimal(0)) if harmonic is not None else None
    return _without_words(replace(verdict, figures=replace(verdict.figures, harmonic=still)))


@given(settings(), st.integers(0, 7))
def test_starting_equally_spaced_readings_elsewhere_changes_nothing_but_angles(setting: Setting, by: int) -> None:
    assert _without_angle(_turned(setting, by).verdict()) == _without_angle(setting.verdict())


@given(settings())
def test_judging_again_gives_an_equal_verdict(setting: Setting) -> None:
    assert setting.verdict() == setting.verdict()


@given(settings())
def test_every_setting_gets_a_verdict_whose_checks_explain_it(setting: Setting) -> None:
    verdict = setting.verdict()
    failed = [check for check in verdict.checks if check.outcome.value == "fail"]
    if verdict.ruling.value == "replace":
        assert verdict.governing is not None
        assert verdict.governing.check in {check.check for check in failed}
    if verdict.ruling.value == "inconclusive":
        assert verdict.missing or any(check.outcome.value == "unproven" for check in verdict.checks)
    assert verdict.summary.endswith(".")
    assert all(_is_whole(check) for check in verdict.checks)


def _is_whole(check: Check) -> bool:
    """A check that was made says against what; one that was not says why."""
    if check.outcome.value == "not_assessed":
        return bool(check.reason)
    return check.limit is None or (check.value is not None and check.sense is not None and check.origin is not None)

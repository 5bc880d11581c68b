"""Laws: what makes a part or its evidence worse never makes the verdict better."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.judging.laws.policies import judge_pairs, rank_of
from tests.judging.laws.strategies import FINDINGS, Setting, settings, steps
from tests.judging.laws.stricter import FIELDS, tighter
from turnrule.judging.parts import Part, ReportedFinding
from turnrule.judging.words import Ruling
from turnrule.pack import loosenings


def test_the_order_from_best_to_worst_is_serviceable_machine_inconclusive_replace() -> None:
    assert [ruling.value for ruling in sorted(Ruling, key=lambda r: r.rank)] == [
        "serviceable",
        "machine",
        "inconclusive",
        "replace",
    ]


def _worn(part: Part, by: Decimal) -> Part:
    """The same part uniformly thinner (a drum: wider) today."""
    change = -by if part.kind.is_rotor else by
    readings = part.readings
    return replace(
        part,
        readings=replace(
            readings,
            track=tuple(size + change for size in readings.track),
            inner_track=tuple(size + change for size in readings.inner_track),
        ),
    )


def _cold(setting: Setting) -> Setting:
    """The same judgement without a temperature, so that a uniform wear stays uniform after correction."""
    return replace(
        setting, part=replace(setting.part, readings=replace(setting.part.readings, part_temperature_c=None))
    )


@given(settings(), steps(0, 900))
def test_a_part_uniformly_thinner_never_gets_a_better_verdict(setting: Setting, by: Decimal) -> None:
    setting = _cold(setting)
    worn = replace(setting, part=_worn(setting.part, by))
    assert worn.verdict().ruling.rank >= setting.verdict().ruling.rank


@given(settings(), steps(0, 40), steps(0, 40), steps(0, 40))
def test_a_coarser_gauge_never_gets_a_better_verdict(
    setting: Setting, resolution: Decimal, calibration: Decimal, spread: Decimal
) -> None:
    gauge, known = setting.part.instrument, setting.policy.instrument
    coarser = replace(
        gauge,
        resolution=(known.resolution if gauge.resolution is None else gauge.resolution) + resolution,
        expanded_uncertainty=calibration
        + (known.expanded_uncertainty if gauge.expanded_uncertainty is None else gauge.expanded_uncertainty),
        repeatability=spread + (known.repeatability if gauge.repeatability is None else gauge.repeatability),
    )
    worse = replace(setting, part=replace(setting.part, instrument=coarser))
    assert worse.verdict().ruling.rank >= setting.verdict().ruling.rank


@given(st.data(), settings())
def test_a_stricter_policy_never_gets_a_better_verdict(data: st.DataObject, setting: Setting) -> None:
    stricter = data.draw(tighter(setting.policy))
    assert not list(loosenings(setting.policy, stricter))
    assert rank_of(replace(setting, policy=stricter)) >= rank_of(setting)


def test_the_stricter_policies_that_are_drawn_tighten_every_field_and_are_never_better() -> None:
    found = judge_pairs(200, 11)
    assert found.pairs == 200
    assert found.tightened.keys() == FIELDS
    assert found.worse > 0
    assert found.axles > 0
    assert not found.better


@given(settings(), FINDINGS)
def test_one_more_finding_never_gets_a_better_verdict(setting: Setting, finding: ReportedFinding) -> None:
    more = replace(setting, part=replace(setting.part, findings=(*setting.part.findings, finding)))
    assert more.verdict().ruling.rank >= setting.verdict().ruling.rank

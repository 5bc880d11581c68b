"""Laws: what makes a part or its evidence worse never makes the verdict better."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.judging.laws.strategies import FINDINGS, Setting, maybe, settings, steps
from turnrule.judging.parts import Part, ReportedFinding
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, Reading, Ruling


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


@st.composite
def _tighter(draw: st.DrawFn, policy: Policy) -> Policy:
    """A policy at least as strict in every field."""
    more = st.just(Decimal(0)) | steps(0, 200)

    def smaller(value: Decimal | None, bound: int) -> Decimal | None:
        if value is None:
            return draw(maybe(steps(0, bound)))
        return max(Decimal(0), value - draw(more))

    return replace(
        policy,
        decision_rule=draw(st.sampled_from([policy.decision_rule, DecisionRule.GUARDED])),
        instrument=InstrumentDefaults(
            policy.instrument.resolution + draw(more),
            policy.instrument.expanded_uncertainty + draw(more),
            policy.instrument.repeatability + draw(more),
        ),
        minimum_points=policy.minimum_points + draw(st.integers(0, 3)),
        require=policy.require | draw(st.frozensets(st.sampled_from(Reading), max_size=2)),
        discard_margin=policy.discard_margin + draw(more),
        machining_margin=policy.machining_margin + draw(more),
        wear_allowance=policy.wear_allowance + draw(more),
        derive_machining_limit=policy.derive_machining_limit and draw(st.booleans()),
        maximum_runout=smaller(policy.maximum_runout, 120),
        maximum_thickness_variation=smaller(policy.maximum_thickness_variation, 50),
        maximum_out_of_round=smaller(policy.maximum_out_of_round, 200),
        maximum_taper=smaller(policy.maximum_taper, 100),
        groove_limit=max(Decimal(0), policy.groove_limit - draw(more)),
        minimum_cut=policy.minimum_cut + draw(more),
        total_cut=smaller(policy.total_cut, 1000),
        face_balance=smaller(policy.face_balance, 300),
        remaining_distance_km=(policy.remaining_distance_km or Decimal(0)) + draw(_kilometres),
        findings={
            code: max(policy.findings.get(code, Effect.CAUTION), effect, key=lambda e: e.rank)
            for code, effect in (policy.findings | draw(_raised)).items()
        },
        regulations=tuple(
            dict.fromkeys([*policy.regulations, *draw(st.sampled_from([(), ("turn_60",), ("use_90",)]))])
        ),
        limits_review_due=draw(st.sampled_from([policy.limits_review_due, Overdue.INCONCLUSIVE])),
        calibration_overdue=draw(st.sampled_from([policy.calibration_overdue, Overdue.INCONCLUSIVE])),
    )


_kilometres = st.integers(1, 20_000).map(Decimal)
_laws = st.sampled_from([(), ("turn_60",), ("use_90",), ("both_80", "marked")])
_raised = st.dictionaries(st.sampled_from(["crazing", "pit", "hard_spot"]), st.sampled_from(Effect), max_size=2)


@given(st.data(), settings())
def test_a_stricter_policy_never_gets_a_better_verdict(data: st.DataObject, setting: Setting) -> None:
    stricter = replace(setting, policy=data.draw(_tighter(setting.policy)))
    assert stricter.verdict().ruling.rank >= setting.verdict().ruling.rank


@given(settings(), FINDINGS)
def test_one_more_finding_never_gets_a_better_verdict(setting: Setting, finding: ReportedFinding) -> None:
    more = replace(setting, part=replace(setting.part, findings=(*setting.part.findings, finding)))
    assert more.verdict().ruling.rank >= setting.verdict().ruling.rank

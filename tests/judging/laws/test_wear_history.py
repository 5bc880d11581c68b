"""Laws with a history in play: what is left out of the wear line never buys a better verdict."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.judging.laws.strategies import Setting, maybe, settings, steps
from turnrule.judging.parts import EarlierReading, Instrument, Part, Readings, Services
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, Outcome, Stage

_GAUGES = st.sampled_from([Decimal(step) for step in ("0.001", "0.01", "0.03", "0.1", "0.4")])


@st.composite
def _worn_parts(draw: st.DrawFn) -> Setting:
    """A part that is good but for its life: readings that wear, grow, repeat, and were machined in between."""
    setting = draw(settings(whole=True))
    rotor = setting.part.kind.is_rotor
    today = Decimal(21) if rotor else Decimal(279)
    drift = steps(-300, 600).map(lambda step: today + step if rotor else today - step)
    kilometres = st.integers(0, 6).map(lambda count: Decimal(10_000 * count))
    reading = st.builds(EarlierReading, size=drift, odometer_km=kilometres, expanded=maybe(_GAUGES))
    stored = st.builds(
        EarlierReading,
        size=drift,
        odometer_km=kilometres,
        expanded=_GAUGES,
        finished=st.sampled_from([False] * 5 + [True]),
    )
    return replace(
        setting,
        part=replace(
            setting.part,
            readings=Readings(track=(draw(drift),) * 8, setup_runout=Decimal(0), lateral_runout=Decimal(0)),
            findings=(),
            marking=None,
            cut=None,
            stage=draw(st.sampled_from(Stage)),
            history=tuple(draw(st.lists(reading, max_size=5))),
            drawn=draw(maybe(st.lists(stored, max_size=5).map(_in_order))),
            new=draw(maybe(st.builds(EarlierReading, size=drift, odometer_km=kilometres))),
            instrument=Instrument(draw(_GAUGES), Decimal(0), Decimal(0)),
        ),
        policy=replace(setting.policy, remaining_distance_km=Decimal(draw(st.integers(1, 120_000)))),
    )


def _in_order(drawn: list[EarlierReading]) -> tuple[EarlierReading, ...]:
    return tuple(sorted(drawn, key=lambda one: one.odometer_km))


def _shifted(part: Part, by: Decimal) -> Part:
    change = -by if part.kind.is_rotor else by
    track = tuple(size + change for size in part.readings.track)
    return replace(part, readings=replace(part.readings, track=track))


def _decided(verdict: Verdict) -> Decimal:
    """The distance that is held against the policy's; without end where none is."""
    check = next(check for check in verdict.checks if check.check is CheckName.REMAINING_DISTANCE)
    return Decimal("Infinity") if check.outcome is Outcome.NOT_ASSESSED or check.value is None else check.value


@given(_worn_parts(), steps(0, 600))
def test_a_thinner_part_never_gets_a_better_verdict_by_its_history(setting: Setting, by: Decimal) -> None:
    before, worn = setting.verdict(), replace(setting, part=_shifted(setting.part, by)).verdict()
    assert worn.ruling.rank >= before.ruling.rank
    assert _decided(worn) <= _decided(before)


@given(_worn_parts(), steps(0, 400))
def test_a_coarser_gauge_never_gets_a_better_verdict_by_its_history(setting: Setting, more: Decimal) -> None:
    gauge = replace(setting.part.instrument, expanded_uncertainty=more)
    before, coarser = setting.verdict(), replace(setting, part=replace(setting.part, instrument=gauge)).verdict()
    assert coarser.ruling.rank >= before.ruling.rank
    assert _decided(coarser) <= _decided(before)


@given(_worn_parts(), steps(0, 400), st.integers(0, 50_000))
def test_a_stricter_policy_never_gets_a_better_verdict_by_its_history(
    setting: Setting, more: Decimal, further: int
) -> None:
    setting = replace(setting, part=replace(setting.part, instrument=Instrument()))
    policy = setting.policy
    assert policy.remaining_distance_km is not None
    stricter = replace(
        policy,
        instrument=replace(policy.instrument, repeatability=policy.instrument.repeatability + more),
        discard_margin=policy.discard_margin + more,
        remaining_distance_km=policy.remaining_distance_km + further,
    )
    before, after = setting.verdict(), replace(setting, policy=stricter).verdict()
    assert after.ruling.rank >= before.ruling.rank
    assert _decided(after) <= _decided(before)


@given(_worn_parts(), st.integers(1, 40_000))
def test_the_bound_lies_below_the_estimate_and_reaches_no_more_services(setting: Setting, interval: int) -> None:
    part = replace(setting.part, services=Services(Decimal(interval)))
    life = replace(setting, part=part).verdict().life
    assert life is not None
    if life.life.at_least_km is not None:
        assert life.life.left_km is not None
        assert life.life.at_least_km <= life.life.left_km
    if life.surely_reached is not None:
        assert life.reached is not None
        assert life.surely_reached.count <= life.reached.count


@given(_worn_parts())
def test_every_reading_is_either_used_or_left_out_with_a_reason(setting: Setting) -> None:
    verdict = setting.verdict()
    life = verdict.life
    if life is None:
        assert not setting.part.history
        return
    out = {doubt.place for doubt in life.life.doubts}
    assert len(out) == len(life.life.doubts)
    assert out <= set(range(len(life.readings)))
    if life.life.rate is not None:
        assert life.life.rate.used == len(life.readings) - len(out)
        assert verdict.figures.wear_per_1000_km == life.life.rate.per_1000_km

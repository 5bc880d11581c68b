"""Policies that are at least as strict as another in every field, and how many fields of it they tighten."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from tests.judging.laws.strategies import maybe, steps
from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading
from turnrule.pack.tightening import CHOICES, GREATER, INSTRUMENT, LISTED, SMALLER, TRUTHS

FIELDS = frozenset(
    {
        *(*GREATER, *SMALLER, *CHOICES, *TRUTHS, *LISTED, "minimum_points", "remaining_distance", "findings"),
        *(f"instrument/{name}" for name in INSTRUMENT),
    }
)
"""Every field in which one policy can be stricter than another; all findings together are one."""


@st.composite
def tighter(draw: st.DrawFn, policy: Policy) -> Policy:
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
        accept_caller_limits=policy.accept_caller_limits and draw(st.sampled_from([True] * 9 + [False])),
        maximum_runout=smaller(policy.maximum_runout, 120),
        maximum_thickness_variation=smaller(policy.maximum_thickness_variation, 50),
        maximum_out_of_round=smaller(policy.maximum_out_of_round, 200),
        maximum_taper=smaller(policy.maximum_taper, 100),
        groove_limit=max(Decimal(0), policy.groove_limit - draw(more)),
        minimum_cut=policy.minimum_cut + draw(more),
        total_cut=smaller(policy.total_cut, 1000),
        face_balance=smaller(policy.face_balance, 300),
        axle_difference=smaller(policy.axle_difference, 1500),
        pair_rule=draw(st.sampled_from(list(PairRule)[list(PairRule).index(policy.pair_rule) :])),
        remaining_distance_km=(policy.remaining_distance_km or Decimal(0)) + draw(_kilometres),
        findings={
            code: max(policy.findings.get(code, Effect.CAUTION), effect, key=lambda e: e.rank)
            for code, effect in (policy.findings | draw(_raised)).items()
        },
        regulations=tuple(dict.fromkeys([*policy.regulations, *draw(_laws)])),
        jurisdictions=tuple(dict.fromkeys([*policy.jurisdictions, *draw(_places)])),
        limits_review_due=draw(st.sampled_from([policy.limits_review_due, Overdue.INCONCLUSIVE])),
        calibration_overdue=draw(st.sampled_from([policy.calibration_overdue, Overdue.INCONCLUSIVE])),
    )


_kilometres = st.integers(1, 20_000).map(Decimal)
_laws = st.sampled_from([(), ("turn_60",), ("use_90",), ("both_80", "marked")])
_places = st.sampled_from([(), (), ("hill_state",), ("lake_state",)])
_raised = st.dictionaries(st.sampled_from(["crazing", "pit", "hard_spot"]), st.sampled_from(Effect), max_size=2)

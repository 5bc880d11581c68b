"""What differs between two policies, field by field, and which way it goes."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal

import pytest

from turnrule.judging.policy import InstrumentDefaults, Policy
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading
from turnrule.pack import Difference, Direction, differences, loosenings
from turnrule.pack.policies import FIELDS

D = Decimal
BASE = Policy(
    decision_rule=DecisionRule.SIMPLE,
    instrument=InstrumentDefaults(D("0.01"), D("0.005"), D(0)),
    derive_machining_limit=True,
    groove_limit=D("0.38"),
)
STRICTER: dict[str, Policy] = {
    "decision_rule": replace(BASE, decision_rule=DecisionRule.GUARDED),
    "instrument/resolution": replace(BASE, instrument=InstrumentDefaults(D("0.02"), D("0.005"), D(0))),
    "instrument/expanded_uncertainty": replace(BASE, instrument=InstrumentDefaults(D("0.01"), D("0.006"), D(0))),
    "instrument/repeatability": replace(BASE, instrument=InstrumentDefaults(D("0.01"), D("0.005"), D("0.001"))),
    "minimum_points": replace(BASE, minimum_points=5),
    "require": replace(BASE, require=frozenset({Reading.MARKING})),
    "discard_margin": replace(BASE, discard_margin=D("0.1")),
    "machining_margin": replace(BASE, machining_margin=D("0.1")),
    "wear_allowance": replace(BASE, wear_allowance=D("0.1")),
    "derive_machining_limit": replace(BASE, derive_machining_limit=False),
    "accept_caller_limits": replace(BASE, accept_caller_limits=False),
    "maximum_runout": replace(BASE, maximum_runout=D("0.05")),
    "maximum_thickness_variation": replace(BASE, maximum_thickness_variation=D("0.02")),
    "maximum_out_of_round": replace(BASE, maximum_out_of_round=D("0.1")),
    "maximum_taper": replace(BASE, maximum_taper=D("0.1")),
    "groove_limit": replace(BASE, groove_limit=D("0.3")),
    "minimum_cut": replace(BASE, minimum_cut=D("0.06")),
    "total_cut": replace(BASE, total_cut=D(1)),
    "face_balance": replace(BASE, face_balance=D("0.2")),
    "axle_difference": replace(BASE, axle_difference=D("0.3")),
    "pair_rule": replace(BASE, pair_rule=PairRule.MACHINE_BOTH),
    "remaining_distance": replace(BASE, remaining_distance_km=D(10_000)),
    "findings/pit": replace(BASE, findings={"pit": Effect.MACHINE}),
    "regulations": replace(BASE, regulations=("a_law",)),
    "jurisdictions": replace(BASE, jurisdictions=("a_place",)),
    "limits_review_due": replace(BASE, limits_review_due=Overdue.INCONCLUSIVE),
    "calibration_overdue": replace(BASE, calibration_overdue=Overdue.INCONCLUSIVE),
}


def test_there_is_a_stricter_policy_for_every_field_of_a_policy() -> None:
    assert {name.partition("/")[0] for name in STRICTER} == FIELDS
    own = {"remaining_distance_km" if name == "remaining_distance" else name.partition("/")[0] for name in STRICTER}
    assert own == {one.name for one in fields(Policy)} - {"name", "revision"}


@pytest.mark.parametrize("field", sorted(STRICTER))
def test_a_field_that_is_tightened_is_stricter_one_way_and_looser_the_other(field: str) -> None:
    [one] = differences(BASE, STRICTER[field])
    assert (one.field, one.direction) == (field, Direction.STRICTER)
    [back] = differences(STRICTER[field], BASE)
    assert back == Difference(field, one.new, one.old, Direction.LOOSER, one.unit)
    assert list(loosenings(BASE, STRICTER[field])) == []
    [fault] = loosenings(STRICTER[field], BASE)
    assert (fault.pointer, fault.code) == (f"/{field}", "policy_loosens")
    assert "a policy may only tighten" in fault.detail


def test_one_bound_is_closer_than_another_and_any_is_closer_than_none() -> None:
    wide, close = replace(BASE, total_cut=D(2)), replace(BASE, total_cut=D(1))
    assert [one.direction for one in differences(wide, close)] == [Direction.STRICTER]
    assert [one.direction for one in differences(close, wide)] == [Direction.LOOSER]
    far, near = replace(BASE, remaining_distance_km=D(2)), replace(BASE, remaining_distance_km=D(1))
    assert [one.direction for one in differences(far, near)] == [Direction.LOOSER]


def test_of_a_list_each_entry_that_comes_or_goes_is_told_by_itself() -> None:
    before, after = replace(BASE, regulations=("b", "a")), replace(BASE, regulations=("a", "c"))
    assert list(differences(before, after)) == [
        Difference("regulations", "b", None, Direction.LOOSER),
        Difference("regulations", None, "c", Direction.STRICTER),
    ]


def test_nothing_differs_between_policies_that_ask_for_the_same() -> None:
    assert list(differences(BASE, replace(BASE, name="another", revision=7, regulations=()))) == []

"""A place that a policy turns on is the same as all of its laws named one by one."""

from __future__ import annotations

import pytest

from tests.judging.samples import CATALOGUE, codes, drum, verdict_on
from turnrule.judging.faults import PartError
from turnrule.judging.policy import Policy

WORN = drum(*["281.7"] * 4)


def test_a_place_turns_on_all_of_its_laws_and_each_once() -> None:
    assert CATALOGUE.jurisdictions == {"hill_state", "lake_state"}
    assert [law.code for law in CATALOGUE.in_force((), ("hill_state",))] == ["turn_60", "use_90"]
    named = CATALOGUE.in_force(("use_90", "marked"), ("hill_state", "lake_state"))
    assert [law.code for law in named] == ["use_90", "marked", "turn_60", "both_80"]
    assert CATALOGUE.in_force((), ("nowhere",)) == ()


@pytest.mark.parametrize(
    ("place", "laws"), [("hill_state", ("turn_60", "use_90")), ("lake_state", ("both_80", "marked"))]
)
def test_a_verdict_under_a_place_is_that_under_its_laws(place: str, laws: tuple[str, ...]) -> None:
    by_place = verdict_on(WORN, policy=Policy(jurisdictions=(place,)))
    assert by_place == verdict_on(WORN, policy=Policy(regulations=laws))
    assert "regulation_applies" in codes(by_place)


def test_a_place_of_which_no_law_is_held_is_a_fault_and_not_passed_over() -> None:
    with pytest.raises(PartError) as raised:
        verdict_on(WORN, policy=Policy(jurisdictions=("nowhere",)))
    [fault] = raised.value.faults
    assert (fault.pointer, fault.code) == ("/policy", "unknown_jurisdiction")
    assert "'nowhere'" in fault.detail

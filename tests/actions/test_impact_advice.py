"""What a changed verdict asks for, and which of its checks changed."""

from __future__ import annotations

from decimal import Decimal

import pytest

from turnrule.actions.impact_advice import Action, advice, advice_where_lost
from turnrule.actions.impact_lines import Answer, ChangedCheck, Obstacle, Standing, changed_checks
from turnrule.judging.words import Ruling


def test_of_checks_that_are_alike_each_is_held_against_its_own() -> None:
    def answer(*outcomes: str) -> Answer:
        return {"checks": [{"check": "total_cut", "quantity": "total_cut", "outcome": one} for one in outcomes]}

    assert list(changed_checks(answer("pass", "pass"), answer("fail", "pass"))) == [
        ChangedCheck("total_cut", "total_cut", "pass", "fail")
    ]
    assert list(changed_checks(answer("pass", "fail"), answer("pass"))) == [
        ChangedCheck("total_cut", "total_cut", "fail", None)
    ]


def stood(ruling: Ruling, *, cut_allowed: bool | None = None, room: str | None = None) -> Standing:
    """How a part may stand."""
    return Standing(ruling, 1, None, None, None, cut_allowed, None if room is None else Decimal(room))


@pytest.mark.parametrize("before", list(Ruling))
@pytest.mark.parametrize("after", list(Ruling))
def test_a_worse_verdict_calls_back_and_a_better_one_loses_nothing(before: Ruling, after: Ruling) -> None:
    found = advice(stood(before), stood(after))
    assert found.action is (Action.CALL_BACK if after.rank > before.rank else Action.NOTHING_LOST)
    held_back = before is Ruling.INCONCLUSIVE
    assert ("if the part was fitted" in found.sentence) == (held_back and after.rank > before.rank)


def test_where_the_verdict_is_the_same_the_cut_that_was_answered_counts() -> None:
    def action(before: Standing, after: Standing) -> Action:
        return advice(before, after).action

    machine = Ruling.MACHINE
    assert action(stood(machine, cut_allowed=True), stood(machine, cut_allowed=False)) is Action.CALL_BACK
    assert action(stood(machine, cut_allowed=True), stood(machine)) is Action.CALL_BACK
    assert action(stood(machine, cut_allowed=False), stood(machine, cut_allowed=True)) is Action.NOTHING_LOST
    assert action(stood(machine, room="0.3"), stood(machine, room="0.2")) is Action.CHECK
    assert action(stood(machine, room="0.3"), stood(machine)) is Action.CHECK
    assert action(stood(machine, room="0.2"), stood(machine, room="0.3")) is Action.NOTHING_LOST
    assert action(stood(Ruling.REPLACE, room="0.3"), stood(Ruling.REPLACE)) is Action.NOTHING_LOST


@pytest.mark.parametrize("before", list(Ruling))
def test_a_part_that_was_passed_and_cannot_be_judged_any_more_is_called_back(before: Ruling) -> None:
    found = advice_where_lost(stood(before), Obstacle("application_ambiguous", "two records"))
    passed = before in {Ruling.SERVICEABLE, Ruling.MACHINE}
    assert found.action is (Action.CALL_BACK if passed else Action.NOTHING_LOST)
    assert "application_ambiguous" in found.sentence

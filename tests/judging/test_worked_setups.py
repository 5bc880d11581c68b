"""Every worked case of a set-up comes out as it was worked out by hand, through the service's own readers."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from decimal import Decimal
from typing import cast

import pytest

from tests.judging.test_worked_cases import (
    CASES,
    PACK,
    Case,
    caution_differences,
    differences,
    mapping,
    policy_of,
    record_of,
    sentences,
)
from turnrule.actions.judging_parts import Ground
from turnrule.actions.setting_up import CheckedSetup
from turnrule.actions.setup_answers import setup_answer
from turnrule.api.faults import FaultsError
from turnrule.api.setup_reading import setup_of
from turnrule.judging.faults import PartError
from turnrule.judging.lathe_words import Expected, LookAt, Missing, Mounted
from turnrule.judging.setup_check import check_setup
from turnrule.judging.setup_summary import setup_cautions, summary_of_setup

SETUPS = {name: case for name, case in CASES.items() if case.get("kind_of_case") == "setup"}


def answer_to(case: Case) -> Case:
    """The answer as it would be sent, read back with exact decimals."""
    read, policy = setup_of(case["request"]), policy_of(case)
    at = datetime.datetime.fromisoformat(f"{case['on']}T12:00:00+00:00")
    check = check_setup(
        read.setup,
        record=record_of(case),
        caller=read.request.caller,
        policy=policy,
        catalogue=PACK.catalogue,
        on=at.date(),
    )
    ground = Ground(policy, None, None, 0)
    checked = CheckedSetup(check, summary_of_setup(check), setup_cautions(check), ground, at)
    return mapping(json.loads(setup_answer(PACK, checked), parse_float=Decimal))


@pytest.mark.parametrize("case", sentences(SETUPS))
def test_set_up_comes_out_as_worked_out(case: Case) -> None:
    expected = mapping(case["expect"])
    if "problem" in expected:
        with pytest.raises((FaultsError, PartError)) as refusal:
            answer_to(case)
        assert expected["problem"] in {fault.code for fault in cast("PartError", refusal.value).faults}
        return
    answer = answer_to(case)
    raised = {mapping(caution)["code"] for caution in cast("list[object]", answer["cautions"])}
    plain = {name: value for name, value in expected.items() if name != "cautions"}
    found = [
        *differences(plain, answer, ""),
        *caution_differences(cast("list[str]", expected.get("cautions", [])), raised),
    ]
    assert not found, "\n".join(found)


def said(value: object, name: str) -> Iterator[object]:
    """Every value of this name within the expectations."""
    if isinstance(value, dict):
        yield from (inner for key, inner in value.items() if key == name)
        for inner in value.values():
            yield from said(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from said(inner, name)


def test_every_way_of_sitting_is_shown_and_every_expectation_of_the_trade() -> None:
    expected = [dict(mapping(case["expect"])) for case in SETUPS.values()]
    assert set(said(expected, "mounted")) == set(Mounted)
    codes = set(said(expected, "code"))
    assert codes >= set(Expected)
    assert codes & set(LookAt)
    assert codes & set(Missing)
    assert {one["ready"] for one in expected if "ready" in one} == {True, False, None}

"""The engine and the second judgement agree on every figure of 20,000 random cases, and those reach everything."""

from __future__ import annotations

import json

import pytest

from tests.judging.agreement.answering import engine_answer
from tests.judging.agreement.answers import differences
from tests.judging.agreement.coverage import tally, wanted
from tests.judging.agreement.generate import case_of, cases
from tests.judging.agreement.oracle import judge_case
from tests.judging.agreement.shapes import Case
from tests.judging.agreement.soak import main as soak

CASES = 20_000
BLOCK = 1_000


def shown(seed: int, case: Case, found: list[str]) -> str:
    """A disagreement as a person needs it: the seed, the points, and the case in full."""
    told = {name: part for name, part in case.items() if name not in {"effects", "regulations"}}
    return "\n".join([f"seed {seed}:", *found, json.dumps(told)])


@pytest.mark.parametrize("first", range(0, CASES, BLOCK))
def test_the_engine_and_the_second_judgement_agree_on_every_case(first: int) -> None:
    failed = []
    for seed, case in cases(first, BLOCK):
        found = differences(judge_case(case), engine_answer(case))
        if found:
            failed.append(shown(seed, case, found))
    if failed:
        pytest.fail(f"{len(failed)} of {BLOCK} cases differ; the first:\n{failed[0]}", pytrace=False)


def test_the_cases_reach_every_verdict_check_outcome_limit_caution_field_and_boundary() -> None:
    reached = tally((case, judge_case(case)) for _, case in cases(0, CASES))
    assert not [thing for thing in wanted() if not reached[thing]]
    assert not set(reached) - set(wanted()), "the list of what can be reached is not whole"


def test_a_seed_always_gives_the_same_case() -> None:
    assert [case_of(seed) for seed in range(50)] == [case_of(seed) for seed in range(50)]


def test_a_printed_case_reads_back_to_the_same_judgement() -> None:
    for _, case in cases(0, 50):
        again: Case = json.loads(json.dumps(case))
        assert judge_case(again) == judge_case(case)


def test_a_soak_counts_its_cases_and_says_how_many_disagree(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert soak(["--cases", "20", "--processes", "1", "--first", "0"]) == 0
    assert capsys.readouterr().out.startswith("20 cases, ")
    # With an engine that answers the next case's question, the soak must fail and show what differs.
    other = engine_answer(case_of(21))
    monkeypatch.setattr("tests.judging.agreement.soak.engine_answer", lambda _: other)
    assert soak(["--cases", "20", "--processes", "1", "--first", "0", "--show", "3"]) == 1
    told = capsys.readouterr()
    assert told.out.rstrip().endswith(" 20 disagreements")
    assert [json.loads(line)["seed"] for line in told.err.splitlines()] == [0, 1, 2]

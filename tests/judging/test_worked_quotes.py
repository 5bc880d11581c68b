"""Every worked case of a quote comes out as a service adviser would expect, through the service's own readers."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from dataclasses import replace
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
from turnrule.actions.checking_quotes import CheckedPart, CheckedQuote, ReadPart
from turnrule.actions.quote_answers import quote_answer
from turnrule.api.quote_reading import quote_of
from turnrule.judging.judge import judge
from turnrule.judging.quote_check import check_quote
from turnrule.judging.quote_lines import KnownPart, Quote
from turnrule.judging.quote_words import FindingLevel, QuoteCode

QUOTES = {name: case for name, case in CASES.items() if case.get("kind_of_case") == "quote"}
ELSEWHERE = {QuoteCode.LIMITS_WITHDRAWN, QuoteCode.LIMITS_CHANGED, QuoteCode.PART_GIVEN_TWICE}
"""Codes that take a store, or that is plain by itself: they have tests of their own."""


def known(case: Case, part: ReadPart) -> KnownPart:
    """A part with the verdict on it under the record and the policy of the case."""
    told = KnownPart(part.name, part.place, new_distance_km=part.new_distance_km, other_way=part.other_way)
    if part.request is None:
        return told
    record, caller = record_of(case), part.request.caller
    verdict = judge(
        part.request.part,
        record=record,
        caller=caller,
        policy=policy_of(case),
        catalogue=PACK.catalogue,
        on=datetime.date.fromisoformat(str(case["on"])),
    )
    new_size = record.limits.nominal if record is not None else None
    return replace(told, part=part.request.part, verdict=verdict, new_size=new_size)


def answer_to(case: Case) -> Case:
    """The answer as it would be sent, read back with exact decimals."""
    read, policy = quote_of(case["request"]), policy_of(case)
    parts = tuple(known(case, part) for part in read.parts)
    quote = Quote(read.unit, read.lines, parts, read.total, read.currency)
    at = datetime.datetime.fromisoformat(f"{case['on']}T12:00:00+00:00")
    checked = CheckedQuote(quote, check_quote(quote, policy), tuple(CheckedPart(one) for one in parts), policy, at)
    return mapping(json.loads(quote_answer(PACK, checked), parse_float=Decimal))


@pytest.mark.parametrize("case", sentences(QUOTES))
def test_quote_comes_out_as_expected(case: Case) -> None:
    expected, answer = mapping(case["expect"]), answer_to(case)
    raised = {mapping(caution)["code"] for caution in cast("list[object]", answer["cautions"])}
    plain = {name: value for name, value in expected.items() if name != "cautions"}
    found = [
        *differences(plain, answer, ""),
        *caution_differences(cast("list[str]", expected.get("cautions", [])), raised),
    ]
    assert not found, "\n".join(found)


def expected_codes() -> Iterator[QuoteCode]:
    """Every code that a case expects."""
    for case in QUOTES.values():
        for finding in cast("list[Case]", mapping(case["expect"])["findings"]):
            yield QuoteCode(str(finding["code"]))


def test_the_table_has_forty_cases_or_more_and_every_code() -> None:
    assert len(QUOTES) >= 40
    assert set(expected_codes()) == set(QuoteCode) - ELSEWHERE
    assert {code.level for code in expected_codes()} == set(FindingLevel)

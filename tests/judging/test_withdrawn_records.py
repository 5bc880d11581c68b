"""A part whose record was withdrawn is never passed on what is left; and who entered a record is told."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.samples import CATALOGUE, ROTOR, TODAY, codes, record_of, rotor
from turnrule.judging.judge import judge
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Application, Part, ReportedFinding
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import Axle, Ruling

WHY = "table misread"
VEHICLE = Application("Corvane", "Ostrel", 2022, Axle.FRONT, "B16")
GOOD = replace(rotor(*["25.00"] * 8, lateral_runout=Decimal("0.03")), application=VEHICLE)


def _withdrawn(part: Part, caller: LimitSet | None = None) -> Verdict:
    return judge(part, record=None, caller=caller, policy=Policy(), catalogue=CATALOGUE, on=TODAY, withdrawn=WHY)


@pytest.mark.parametrize("marking", [None, Decimal("24.0")])
def test_nothing_passes_without_the_record_not_even_by_its_marking(marking: Decimal | None) -> None:
    verdict = _withdrawn(replace(GOOD, marking=marking))
    assert verdict.ruling is Ruling.INCONCLUSIVE
    assert "limits_record" in verdict.missing
    assert "withdrawn" in verdict.summary
    (caution,) = [caution for caution in verdict.cautions if caution.code == "limits_withdrawn"]
    assert WHY in caution.text


def test_what_fails_without_the_record_still_fails() -> None:
    cracked = replace(GOOD, findings=(ReportedFinding("crack"),))
    assert _withdrawn(cracked).ruling is Ruling.REPLACE
    assert _withdrawn(replace(GOOD, marking=Decimal("25.5"))).ruling is Ruling.REPLACE


def test_limits_that_the_caller_brings_serve_and_the_caution_stays() -> None:
    verdict = _withdrawn(GOOD, ROTOR)
    assert verdict.ruling is Ruling.SERVICEABLE
    assert {"limits_withdrawn", "limits_from_caller"} <= codes(verdict)


@pytest.mark.parametrize("alone", [False, True])
def test_a_record_that_one_person_entered_says_so_on_every_verdict(*, alone: bool) -> None:
    by = replace(record_of(ROTOR), by_one_person=alone)
    verdict = judge(GOOD, record=by, caller=None, policy=Policy(), catalogue=CATALOGUE, on=TODAY)
    assert verdict.ruling is Ruling.SERVICEABLE
    assert ("entered_by_one_person" in codes(verdict)) is alone

"""Rule text, code and worked case carry the same id: none of the three may be missing."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from turnrule.judging.words import CheckName
from turnrule.pack import load_pack

ROOT = Path(__file__).resolve().parent.parent.parent
ENGINE = ROOT / "service" / "turnrule" / "judging"
RULES = sorted(load_pack(ROOT / "reference").catalogue.rules)
IN_CODE = {check.value for check in CheckName} | {
    code for module in ENGINE.glob("*.py") for code in re.findall(r"Rule: ([a-z_]+)\.", module.read_text("utf-8"))
}
IN_CASES = {
    code
    for path in (ROOT / "reference" / "cases").glob("*.json")
    for code in json.loads(path.read_text("utf-8"))["rules"]
}


@pytest.mark.parametrize("code", RULES)
def test_a_rule_has_its_code_and_its_worked_case(code: str) -> None:
    assert code in IN_CODE
    assert code in IN_CASES


def test_nothing_in_code_or_cases_goes_by_a_rule_that_is_not_written() -> None:
    assert set(RULES) >= IN_CODE
    assert set(RULES) >= IN_CASES

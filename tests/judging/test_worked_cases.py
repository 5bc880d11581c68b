"""Every worked case of the reference pack comes out as it was worked out by hand, through the service's own readers.

A case is a sentence that says what holds, with its source; `expect` holds what the answer must contain, in the
contract's names, and cautions that it must raise, or must not ("not few_points"). Expected figures come from
arithmetic on the source, never from the engine.
"""

from __future__ import annotations

import datetime
import itertools
import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import cast

import orjson
import pytest

from turnrule.actions.answers import Basis, document_of
from turnrule.actions.lathes import profile_of
from turnrule.actions.numbers import write_exact
from turnrule.actions.planning import at_the_lathe
from turnrule.api.faults import FaultsError
from turnrule.api.json_reading import read_json
from turnrule.api.lathe_shapes import read_lathe_body
from turnrule.api.limits_schemas import read_figures
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.faults import PartError
from turnrule.judging.judge import judge
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import BeforeMachining, Part
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import CheckName, DecisionRule, Kind, Outcome, Ruling, Unit, Zero
from turnrule.pack import load_pack
from turnrule.pack.policies import policy_from_document

Case = Mapping[str, object]

PLACE = Path(__file__).parents[2] / "reference" / "cases"
PACK = load_pack(PLACE.parent)
STATUSES = ("READ", "READ (secondary)", "MEMORY", "DERIVED", "COMMON PRACTICE")
UNDECIDED = Basis(None, "default", 1, PACK.version, PACK.digest, "1")

HALF = frozenset({Outcome.PASS, Outcome.FAIL})
THREE = HALF | {Outcome.NOT_ASSESSED}
OCCURRING = {
    CheckName.FINDINGS: HALF,
    CheckName.DISCARD_LIMIT: frozenset(Outcome),
    CheckName.MACHINING_LIMIT: frozenset(Outcome),
    CheckName.DISCARD_AFTER_CUT: frozenset(Outcome),
    CheckName.MEASUREMENT_POINTS: HALF,
    CheckName.AXLE_DIFFERENCE: frozenset({Outcome.NOT_ASSESSED}),
}
"""The outcomes that a check of one part can have; of those not named, all but `unproven`."""


def read_cases() -> dict[str, Case]:
    """Every case by the name of its file, numbers as exact decimals."""
    return {path.stem: mapping(read_json(path.read_bytes())) for path in sorted(PLACE.glob("*.json"))}


def mapping(value: object) -> Case:
    """An object of a document."""
    assert isinstance(value, Mapping), value
    return value


CASES = read_cases()
VERDICTS = {name: case for name, case in CASES.items() if case.get("kind_of_case", "verdict") == "verdict"}
PAIRS = {name: case for name, case in CASES.items() if case.get("kind_of_case") == "dual_unit"}


def sentences(cases: Mapping[str, Case]) -> list[object]:
    """Cases as test parameters, each with its sentence."""
    return [pytest.param(case, id=str(case["case"])) for case in cases.values()]


def effective(name: str) -> Policy:
    """A policy of the pack with everything that it inherits."""
    return policy_from_document(PACK.policies[name], effective)


def policy_of(case: Case) -> Policy:
    """The policy that a case is judged under: one of the pack's, or fields of its own.

    A policy that inherits nothing may choose the simple rule and derive limits: there is no parent that it loosens.
    """
    given = case["policy"]
    if isinstance(given, str):
        return effective(given)
    document = mapping(given)
    if "inherits" in document:
        return policy_from_document(document, effective)
    root = Policy(
        decision_rule=DecisionRule(str(document.get("decision_rule", DecisionRule.GUARDED))),
        derive_machining_limit=document.get("derive_machining_limit") is True,
    )
    return policy_from_document({**document, "inherits": "none"}, lambda _: root)


def record_of(case: Case) -> Record | None:
    """The limits record that a case is judged by, cited by the case's source."""
    given = case["record"]
    if given is None:
        return None
    figures = read_figures(given)
    return Record("L-1", 1, figures.limits, str(mapping(case["source"])["text"]), figures.review_due)


def before_of(case: Case) -> BeforeMachining | None:
    """What the verdict on the part before it was machined found, where the case tells of it."""
    if "before" not in case:
        return None
    part = read_request(case["before"]).part
    verdict = judged(case, part)
    figures = verdict.figures
    worst = figures.least if part.kind.is_rotor else figures.greatest
    found = (worst, figures.mean, figures.clean_up, verdict.margins.guard_band)
    return BeforeMachining("01m7q5st000000000000000001", f"sha256:{64 * '0'}", verdict.ruling, *found)


def lathe_of(case: Case) -> LatheProfile | None:
    """The lathe that the request names, as a body of the contract gives its figures."""
    if "lathe" not in case:
        return None
    given = read_lathe_body(write_exact(case["lathe"]))
    named = mapping(mapping(case["request"])["lathe"])["profile"]
    return profile_of(str(named), 1, given)


def judged(case: Case, part: Part, caller: LimitSet | None = None) -> Verdict:
    """The verdict on a part under the record, the policy and on the day of a case."""
    return judge(
        part,
        record=record_of(case),
        caller=caller,
        policy=policy_of(case),
        catalogue=PACK.catalogue,
        on=datetime.date.fromisoformat(str(case["on"])),
    )


def answer_to(case: Case) -> Case:
    """The answer as it would be sent, without id and moment, read back with exact decimals."""
    request = read_request(case["request"])
    verdict = judged(case, replace(request.part, before=before_of(case)), request.caller)
    work = at_the_lathe(PACK.catalogue, request, verdict, record_of(case), lathe_of(case))
    sent = orjson.dumps(document_of(verdict, request.part, None, UNDECIDED, work))
    return mapping(json.loads(sent, parse_float=Decimal))


def differences(expected: object, found: object, place: str) -> Iterator[str]:
    """Where the answer is not what was worked out; an object may hold more than is expected of it."""
    if isinstance(expected, Mapping) and isinstance(found, Mapping):
        for name, value in expected.items():
            yield from differences(value, found.get(name, "nothing"), f"{place}/{name}")
    elif isinstance(expected, list) and isinstance(found, list) and len(expected) == len(found):
        for index, (one, other) in enumerate(zip(expected, found, strict=True)):
            yield from differences(one, other, f"{place}/{index}")
    elif expected != found:
        yield f"{place}: worked out {expected!r}, answered {found!r}"


def check_differences(expected: Case, answer: Case) -> Iterator[str]:
    """The same for the checks: one outcome, the outcomes of several checks of one name in order, or more of one."""
    listed = [mapping(check) for check in cast("list[object]", answer["checks"])]
    for name, wanted in expected.items():
        found = [check for check in listed if check["check"] == name]
        if isinstance(wanted, Mapping):
            yield from differences([wanted], found, f"/checks/{name}")
        else:
            outcomes = [check["outcome"] for check in found]
            yield from differences([wanted] if isinstance(wanted, str) else wanted, outcomes, f"/checks/{name}")


def caution_differences(wanted: list[str], raised: set[object]) -> Iterator[str]:
    """Cautions that are missing, and those that should be; each must be one of the catalogue's."""
    for words in wanted:
        code = words.removeprefix("not ")
        assert code in PACK.catalogue.cautions, code
        if (code in raised) is (code != words):
            yield f"/cautions: it should be {words}"


def expected_outcomes(case: Case) -> Iterator[tuple[str, str]]:
    """Every (check, outcome) that a case expects."""
    for name, wanted in mapping(mapping(case["expect"]).get("checks", {})).items():
        one = wanted["outcome"] if isinstance(wanted, Mapping) else wanted
        for outcome in [one] if isinstance(one, str) else cast("list[str]", one):
            yield name, str(outcome)


@pytest.mark.parametrize("case", sentences(VERDICTS))
def test_case_comes_out_as_worked_out(case: Case) -> None:
    expected = mapping(case["expect"])
    if "problem" in expected:
        with pytest.raises((FaultsError, PartError)) as refusal:
            answer_to(case)
        codes = {fault.code for fault in cast("FaultsError | PartError", refusal.value).faults}
        assert expected["problem"] in codes
        return
    answer = answer_to(case)
    raised = {mapping(caution)["code"] for caution in cast("list[object]", answer["cautions"])}
    wanted = cast("list[str]", expected.get("cautions", []))
    plain = {name: value for name, value in expected.items() if name not in {"checks", "cautions"}}
    found = [
        *differences(plain, answer, ""),
        *check_differences(mapping(expected.get("checks", {})), answer),
        *caution_differences(wanted, raised),
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("case", sentences(PAIRS))
def test_printed_pair_agrees_where_it_is_said_to(case: Case) -> None:
    pair = mapping(case["dual_unit"])
    inches, printed = Decimal(str(pair["in"])), Decimal(str(pair["printed_mm"]))
    exponent = printed.as_tuple().exponent
    assert isinstance(exponent, int)
    half_of_last_place = Decimal(5).scaleb(exponent - 1)
    assert (abs(to_mm(inches, Unit.IN) - printed) <= half_of_last_place) is pair["agrees"]


@pytest.mark.parametrize("case", sentences(CASES))
def test_case_names_its_source_and_how_surely_it_is_known(case: Case) -> None:
    source = mapping(case["source"])
    assert source["text"]
    assert source["status"] in STATUSES
    assert source["address"] or source["status"] in {"DERIVED", "COMMON PRACTICE"}


def test_every_rule_of_the_catalogue_has_a_case_and_no_case_an_unknown_rule() -> None:
    shown = {str(code) for case in CASES.values() for code in cast("list[object]", case["rules"])}
    assert shown == PACK.catalogue.rules.keys()


def test_every_verdict_kind_rule_unit_and_zero_is_among_the_cases() -> None:
    requests = [mapping(case["request"]) for case in VERDICTS.values()]
    cuts = [mapping(request["cut"]) for request in requests if "cut" in request]
    expected = [mapping(case["expect"]) for case in VERDICTS.values()]
    assert {one["verdict"] for one in expected if "verdict" in one} == set(Ruling)
    assert {request["kind"] for request in requests} == set(Kind)
    assert {request.get("unit", "none") for request in requests} == {*Unit, "none"}
    assert {cut.get("zero", Zero.THINNEST_POINT) for cut in cuts} == set(Zero)
    assert {policy_of(case).decision_rule for case in VERDICTS.values()} == set(DecisionRule)


def test_every_check_is_shown_with_every_outcome_that_it_can_have() -> None:
    shown = set(itertools.chain.from_iterable(expected_outcomes(case) for case in VERDICTS.values()))
    possible = {(str(name), str(outcome)) for name in CheckName for outcome in OCCURRING.get(name, THREE)}
    assert possible - shown == set()
    assert shown - possible == set()


def test_sentences_of_the_cases_are_all_different() -> None:
    assert len({case["case"] for case in CASES.values()}) == len(CASES)

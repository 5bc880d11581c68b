"""What each part gets by the quote, against what its verdict asks for (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.judging.quote.quotes import (
    EACH,
    LEFT,
    RIGHT,
    D,
    barred,
    check,
    codes,
    cut,
    good,
    known,
    line,
    machine,
    near,
    on,
    renew,
    thin,
    uneven,
)
from tests.judging.samples import ROTOR, rotor
from turnrule.judging.parts import Part, ReportedFinding
from turnrule.judging.policy import Policy
from turnrule.judging.quote_check import QuoteCheck
from turnrule.judging.quote_findings import name_of
from turnrule.judging.quote_lines import KnownPart, Place
from turnrule.judging.quote_targets import Target
from turnrule.judging.quote_words import FindingLevel, Measure, Operation, Outdated, QuoteCode
from turnrule.judging.words import Axle, CheckName, Effect, Kind, LatheKind, Machining, Reading

C = QuoteCode


def test_both_are_machined_as_both_verdicts_ask() -> None:
    found = check([machine(*EACH)], uneven(LEFT), uneven(RIGHT))
    assert codes(found) == []
    assert found.agrees
    assert found.level is None


def test_a_part_that_must_be_replaced_is_not_machined() -> None:
    found = check([machine(LEFT), renew(RIGHT)], thin(LEFT), thin(RIGHT))
    first = found.findings[0]
    assert first.code is C.MACHINING_OF_PART_TO_REPLACE
    assert first.sentence == (
        "The front left brake rotor is quoted for machining, but it must be replaced: its least thickness is 23.9 mm, "
        "0.1 mm past the discard limit of 24 mm."
    )
    assert (first.lines, first.parts) == ((0,), (0,))
    held = first.evidence
    assert held is not None
    assert (held.check, held.value, held.limit, held.margin) == (CheckName.DISCARD_LIMIT, D("23.9"), D(24), D("-0.1"))
    assert held.measure is Measure.LENGTH


def test_a_part_replaced_for_what_was_seen_has_a_finding_as_evidence() -> None:
    part = replace(good(), findings=(_seen("crack"),))
    found = check([machine(LEFT)], part)
    held = found.findings[0].evidence
    assert held is not None
    assert (held.check, held.value, held.margin, held.measure) == (CheckName.FINDINGS, None, None, None)


def _seen(code: str) -> ReportedFinding:
    return ReportedFinding(code)


@pytest.mark.parametrize(
    ("part", "expected"), [(good(), C.REPLACEMENT_NOT_NEEDED), (uneven(), C.REPLACEMENT_WHERE_MACHINING_DOES)]
)
def test_a_part_that_can_stay_or_be_machined_is_not_replaced_without_a_word(part: Part, expected: QuoteCode) -> None:
    found = check([renew(LEFT)], part, good(RIGHT))
    assert expected in codes(found)
    assert found.agrees is (expected.level is not FindingLevel.CONTRADICTION)


def test_a_good_part_is_replaced_for_the_pair() -> None:
    found = check([renew(*EACH)], thin(LEFT), good(RIGHT))
    assert codes(found) == [C.REPLACED_FOR_THE_PAIR]
    assert found.agrees


def test_a_good_part_is_machined_for_the_pair() -> None:
    assert codes(check([machine(*EACH)], uneven(LEFT), good(RIGHT))) == [C.MACHINED_FOR_THE_PAIR]


def test_a_good_part_beside_one_that_nobody_measured_may_go_with_it() -> None:
    found = check([machine(*EACH)], good(LEFT))
    assert codes(found) == [C.NO_READING, C.MACHINED_FOR_THE_PAIR]


def test_a_good_part_beside_an_open_one_that_is_not_worked_on_is_machined_for_nothing() -> None:
    assert C.MACHINING_NOT_NEEDED in codes(check([machine(LEFT)], good(LEFT), near(RIGHT)))


def test_machining_that_nothing_asks_for() -> None:
    found = check([machine(*EACH)], good(LEFT), good(RIGHT))
    assert codes(found) == [C.MACHINING_NOT_NEEDED] * 2


@pytest.mark.parametrize("part", [thin(), uneven()])
def test_a_bad_part_is_not_left_out(part: Part) -> None:
    found = check([line(Operation.INSPECT, LEFT)], part)
    assert codes(found) == [C.BAD_PART_LEFT_OUT]
    held = found.findings[0].evidence
    assert held is not None
    assert held.margin is not None
    assert held.margin < 0


def test_a_part_left_out_for_what_was_seen_names_what_decided() -> None:
    part = replace(good(), findings=(_seen("hard_spot"),))
    found = check([], part)
    assert codes(found) == [C.BAD_PART_LEFT_OUT]
    held = found.findings[0].evidence
    assert held is not None
    assert held.check is CheckName.MACHINING_LIMIT


def test_a_good_part_may_be_left_out() -> None:
    assert codes(check([], good())) == []


def test_machined_and_replaced() -> None:
    found = check([machine(LEFT), renew(LEFT)], thin())
    assert C.MACHINED_AND_REPLACED in codes(found)
    assert C.MACHINING_OF_PART_TO_REPLACE not in codes(found)


def test_a_maker_who_prohibits_machining() -> None:
    part = known(uneven(), limits=barred(Machining.PROHIBITED))
    found = check([machine(LEFT, cut=cut("0", "0"))], part)
    assert codes(found)[:2] == [C.MACHINING_OF_PART_TO_REPLACE, C.MACHINING_PROHIBITED]
    good_one = known(good(), limits=barred(Machining.PROHIBITED))
    assert C.MACHINING_PROHIBITED in codes(check([machine(LEFT, cut=cut("9", "9"))], good_one))


@pytest.mark.parametrize(
    ("lathe", "expected"),
    [
        (LatheKind.BENCH, [C.MACHINING_ON_VEHICLE_ONLY]),
        (LatheKind.ON_VEHICLE, []),
        (None, [C.LATHE_NOT_NAMED]),
    ],
)
def test_a_maker_who_allows_machining_on_the_vehicle_only(lathe: LatheKind | None, expected: list[QuoteCode]) -> None:
    parts = [known(uneven(side), limits=barred(Machining.ON_VEHICLE_ONLY)) for side in EACH]
    found = check([machine(*EACH, lathe=lathe)], *parts)
    assert sorted(set(codes(found))) == sorted(expected)


def test_nothing_was_measured_behind_a_line() -> None:
    found = check([renew(*EACH), line(Operation.MEASURE, *EACH)])
    assert codes(found) == [C.NO_READING] * 2
    assert [one.lines for one in found.findings] == [(0,), (0,)]
    assert not found.agrees


def test_a_part_of_which_nothing_is_known_and_nothing_done_says_nothing() -> None:
    assert codes(check([line(Operation.INSPECT, LEFT)], KnownPart("left"))) == []


def test_an_open_verdict_says_how_fine_to_measure() -> None:
    found = check([renew(*EACH)], near(LEFT), near(RIGHT))
    assert codes(found) == [C.VERDICT_INCONCLUSIVE] * 2
    assert "a gauge that is sure to 0.001 mm" in found.findings[0].sentence


def test_an_open_verdict_exactly_at_the_limit_asks_for_a_finer_gauge() -> None:
    found = check([], on(rotor(*["24"] * 4, lateral_runout=D("0.02")), LEFT))
    assert codes(found) == [C.VERDICT_INCONCLUSIVE]
    assert found.findings[0].sentence.endswith("measure it again first, with a finer gauge.")


def test_an_open_verdict_says_what_to_find_out() -> None:
    part = known(uneven(), limits=replace(ROTOR, machining=None))
    found = check([machine(LEFT)], part)
    assert C.VERDICT_INCONCLUSIVE in codes(found)
    assert "find out the maker's machining limit first" in _told(found, C.VERDICT_INCONCLUSIVE)
    strict = Policy(require=frozenset({Reading.THICKNESS_INNER}))
    assert "find out thickness inner first" in _told(check([], good(), policy=strict), C.VERDICT_INCONCLUSIVE)


def _told(found: QuoteCheck, code: QuoteCode) -> str:
    return next(one.sentence for one in found.findings if one.code is code)


def test_an_open_verdict_without_a_deciding_check_names_only_its_id() -> None:
    strict = Policy(require=frozenset({Reading.THICKNESS_INNER}))
    part = known(good(), strict, verdict_id="01m7q5st000000000000000001")
    held = check([], part, policy=strict).findings[0].evidence
    assert held is not None
    assert (held.quantity, held.check, held.verdict_id) == ("verdict", None, "01m7q5st000000000000000001")


@pytest.mark.parametrize(
    ("why", "expected"), [(Outdated.WITHDRAWN, C.LIMITS_WITHDRAWN), (Outdated.CHANGED, C.LIMITS_CHANGED)]
)
def test_a_verdict_whose_limits_no_longer_govern(why: Outdated, expected: QuoteCode) -> None:
    found = check([machine(*EACH)], known(uneven(LEFT), outdated=why), uneven(RIGHT))
    assert codes(found) == [expected]
    assert not found.agrees


def test_a_policy_that_raises_a_finding_is_heard() -> None:
    strict = Policy(findings={"crazing": Effect.REPLACE})
    part = replace(good(), findings=(_seen("crazing"),))
    assert C.MACHINING_OF_PART_TO_REPLACE in codes(check([machine(LEFT)], part, policy=strict))


@pytest.mark.parametrize(
    ("place", "name", "words"),
    [
        (Place(Axle.FRONT, LEFT, Kind.ROTOR), "fl", "the front left brake rotor"),
        (Place(Axle.REAR, None, Kind.PARKING_DRUM), None, "the rear parking brake drum"),
        (Place(None, LEFT, Kind.DRUM), "the one", 'the part "the one"'),
        (Place(None, LEFT, Kind.DRUM), None, "the left brake drum"),
        (Place(Axle.FRONT), None, "the front"),
        (Place(), None, "the part"),
    ],
)
def test_a_part_is_called_as_a_customer_knows_it(place: Place, name: str | None, words: str) -> None:
    assert name_of(Target(0, KnownPart(name, place), place, ())) == words


def test_every_code_has_a_level_in_the_order_of_the_codes() -> None:
    levels = [list(FindingLevel).index(code.level) for code in QuoteCode]
    assert levels == sorted(levels)
    assert {code.level for code in QuoteCode} == set(FindingLevel)

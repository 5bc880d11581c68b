"""Where a quote contradicts itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.judging.quote.quotes import EACH, LEFT, RIGHT, check, codes, good, known, line, renew, thin, uneven
from turnrule.judging.quote_lines import KnownPart, Place, QuoteLine
from turnrule.judging.quote_words import Operation, QuoteCode
from turnrule.judging.words import Axle, Kind

C = QuoteCode


@pytest.mark.parametrize("operation", [one for one in Operation if one is not Operation.OTHER])
def test_the_same_work_twice(operation: Operation) -> None:
    found = check([line(operation, *EACH), line(operation, RIGHT)], uneven(LEFT), uneven(RIGHT))
    twice = [one for one in found.findings if one.code is C.LINE_TWICE]
    assert [(one.lines, one.parts) for one in twice] == [((0, 1), (1,))]


def test_two_other_lines_are_two_lines() -> None:
    other = QuoteLine(Operation.OTHER)
    named = replace(other, part="left")
    assert codes(check([other, other, named, named], good())) == []


@pytest.mark.parametrize(
    "said",
    [{"axle": Axle.REAR}, {"kind": Kind.DRUM}, {"sides": (RIGHT,)}],
)
def test_a_line_that_says_another_place_than_its_part(said: dict[str, object]) -> None:
    fitting = QuoteLine(Operation.INSPECT, part="left", axle=Axle.FRONT, sides=EACH, kind=Kind.ROTOR)
    assert codes(check([fitting], good())) == []
    found = check([replace(fitting, **said)], good())  # type: ignore[arg-type]
    assert codes(found) == [C.LINE_NAMES_ANOTHER_PART]


def test_a_line_that_names_a_part_that_is_not_there_is_about_none() -> None:
    assert codes(check([QuoteLine(Operation.INSPECT, part="lost")], good())) == []


def test_readings_that_were_taken_elsewhere() -> None:
    part = known(good(RIGHT), told=Place(side=LEFT))
    found = check([line(Operation.INSPECT, LEFT)], part)
    assert codes(found) == [C.VERDICT_ON_ANOTHER_PART]
    assert found.findings[0].lines == (0,)


def test_readings_that_were_taken_elsewhere_make_no_pair() -> None:
    part = known(good(LEFT), told=Place(side=RIGHT))
    assert codes(check([], part, good(LEFT))) == [C.VERDICT_ON_ANOTHER_PART, C.VEHICLES_DIFFER]


def test_a_part_that_is_given_twice() -> None:
    found = check([renew(LEFT), renew(RIGHT)], thin(LEFT), replace(known(thin(LEFT)), name="again"), thin(RIGHT))
    assert codes(found) == [C.PART_GIVEN_TWICE]
    assert (found.findings[0].lines, found.findings[0].parts) == ((0,), (0, 1))
    assert found.findings[0].sentence.endswith("which of its measurements counts?")


def test_a_part_of_unknown_place_is_only_found_by_its_name() -> None:
    somewhere = KnownPart("somewhere")
    found = check([line(Operation.REPLACE, LEFT), QuoteLine(Operation.MACHINE, part="somewhere")], somewhere)
    assert C.MACHINED_AND_REPLACED not in codes(found)
    assert [part.target.lines for part in found.parts] == [(1,), (0,)]


def test_parts_of_unknown_place_are_not_one() -> None:
    assert codes(check([], KnownPart("one"), KnownPart("two"))) == []
    front = Place(Axle.FRONT, None, Kind.ROTOR)
    assert codes(check([], KnownPart("one", front), KnownPart("two", front))) == []


def test_a_line_about_part_of_a_place_finds_what_fits() -> None:
    anywhere = QuoteLine(Operation.INSPECT, kind=Kind.ROTOR)
    found = check([anywhere, QuoteLine(Operation.INSPECT, axle=Axle.THIRD)], good(LEFT), good(RIGHT))
    assert [part.target.lines for part in found.parts] == [(0,), (0,), (1,)]

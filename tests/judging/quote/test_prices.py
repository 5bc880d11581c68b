"""Prices, totals, and what each way costs for the life that it buys."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.judging.quote.quotes import (
    EACH,
    LEFT,
    RIGHT,
    D,
    check,
    codes,
    good,
    good_drum,
    known,
    line,
    machine,
    on,
    renew,
    thin,
    uneven,
)
from tests.judging.samples import CATALOGUE, ROTOR, drum
from turnrule.judging.parts import EarlierReading, Part
from turnrule.judging.planning_words import Cheaper
from turnrule.judging.quote_check import quote_cautions, quote_summary
from turnrule.judging.quote_costs import Way
from turnrule.judging.quote_findings import money
from turnrule.judging.quote_lines import Charge, QuoteLine
from turnrule.judging.quote_words import Measure, Operation, QuoteCode
from turnrule.judging.words import Axle, Kind

C = QuoteCode
OTHER = QuoteLine(Operation.OTHER, charge=Charge(D(10), D(5), D(1)))


def worn(side: object = LEFT) -> Part:
    """An uneven rotor of 25.0 mm that lost 0.4 mm over the last 20,000 km."""
    part = uneven(side, "25.0")  # type: ignore[arg-type]
    return replace(part, odometer_km=D(60000), history=(EarlierReading(D("25.4"), D(40000)),))


@pytest.mark.parametrize(
    ("charge", "expected"),
    [
        (Charge(), [C.PRICE_MISSING]),
        (Charge(discount=D(5)), [C.PRICE_MISSING]),
        (Charge(price=D(0)), []),
        (Charge(labour=D(40)), []),
    ],
)
def test_machining_has_a_price_or_labour(charge: Charge, expected: list[QuoteCode]) -> None:
    assert codes(check([machine(*EACH, charge=charge)], uneven(LEFT), uneven(RIGHT))) == expected


@pytest.mark.parametrize(
    ("charge", "expected"),
    [
        (Charge(), [C.PRICE_MISSING, C.LABOUR_MISSING]),
        (Charge(price=D(90)), [C.LABOUR_MISSING]),
        (Charge(labour=D(90)), [C.PRICE_MISSING]),
        (Charge(D(90), D(0)), []),
    ],
)
def test_a_new_part_has_a_price_and_labour(charge: Charge, expected: list[QuoteCode]) -> None:
    assert codes(check([renew(*EACH, charge=charge)], thin(LEFT), thin(RIGHT))) == expected


@pytest.mark.parametrize(
    ("beside", "found"),
    [
        (QuoteLine(Operation.OTHER, charge=Charge(labour=D(80))), True),
        (QuoteLine(Operation.OTHER, charge=Charge(price=D(80))), False),
        (line(Operation.CLEAN, LEFT, charge=Charge(labour=D(8))), True),
        (line(Operation.CLEAN, LEFT, charge=Charge(labour=D(8)), axle=Axle.REAR, kind=Kind.DRUM), False),
    ],
)
def test_labour_may_stand_in_another_line(beside: QuoteLine, found: bool) -> None:  # noqa: FBT001 - a table
    told = check([renew(*EACH, charge=Charge(price=D(90))), beside], thin(LEFT), thin(RIGHT))
    assert (C.LABOUR_MISSING not in codes(told)) is found


def test_the_lines_come_to_the_total_exactly() -> None:
    lines = [machine(*EACH, charge=Charge(D("0.10"), D("0.20"))), OTHER]
    parts = uneven(LEFT), uneven(RIGHT)
    assert codes(check(lines, *parts, total=D("14.3"))) == []
    found = check(lines, *parts, total=D("14.31"), currency="EUR")
    first = found.findings[0]
    assert first.code is C.TOTAL_DIFFERS
    assert first.sentence == "The lines of the quote come to 14.30 EUR, and its total says 14.31 EUR."
    assert first.evidence is not None
    assert (first.evidence.value, first.evidence.limit, first.evidence.margin) == (D("14.31"), D("14.3"), D("0.01"))
    assert first.evidence.measure is Measure.MONEY
    assert found.sum == D("14.3")


def test_a_total_below_what_is_known_of_the_lines_is_wrong_whatever_is_missing() -> None:
    lines = [renew(*EACH, charge=Charge(price=D(90)))]
    assert C.TOTAL_DIFFERS in codes(check(lines, thin(LEFT), thin(RIGHT), total=D(89)))
    assert C.TOTAL_NOT_COMPARED in codes(check(lines, thin(LEFT), thin(RIGHT), total=D(90)))
    assert C.TOTAL_NOT_COMPARED in codes(check([QuoteLine(Operation.OTHER)], total=D(90)))


def test_what_is_missing_of_a_price_is_told_of_the_parts_that_the_line_is_about() -> None:
    found = check([machine(*EACH, charge=Charge()), machine(RIGHT)], uneven(RIGHT), uneven(LEFT), good_drum(RIGHT))
    told = next(one for one in found.findings if one.code is C.PRICE_MISSING)
    assert told.sentence == (
        "The quote does not say what machining the front right brake rotor and the front left brake rotor costs."
    )
    assert (told.lines, told.parts) == ((0,), (0, 1))


def test_a_total_in_one_of_two_currencies_is_never_compared() -> None:
    lines = [machine(*EACH, currency="EUR"), replace(OTHER, currency="CHF")]
    assert C.TOTAL_DIFFERS not in codes(check(lines, uneven(LEFT), uneven(RIGHT), total=D(1)))


def test_prices_in_two_currencies_are_never_added_up() -> None:
    lines = [machine(*EACH, currency="EUR"), replace(OTHER, currency="CHF")]
    found = check(lines, uneven(LEFT), uneven(RIGHT), total=D(84), currency="EUR")
    assert codes(found) == [C.TWO_CURRENCIES, C.TOTAL_NOT_COMPARED]
    assert found.sum is None
    assert "(EUR, CHF)" in found.findings[0].sentence
    assert found.findings[0].lines == (0, 1)


def test_a_quote_without_prices_comes_to_nothing_known() -> None:
    assert check([QuoteLine(Operation.OTHER)]).sum is None
    assert money(D("1E+3"), None) == "1000"


def test_the_dearer_way_per_distance_is_asked_about() -> None:
    # 25.0 mm less 0.1 of cut leaves 0.9 to the limit of 24: at 0.02 mm per 1,000 km 45,000 km; a new one of 26 mm
    # leaves 2.0, which is 100,000 km.
    part = known(worn(), new_size=D(26), other_way=Charge(D(60), D(20)))
    found = check([machine(LEFT, charge=Charge(D(45)))], part)
    ways = found.parts[0].ways
    assert (ways.machining, ways.replacing) == (Way(D(45), D(45000)), Way(D(80), D(100000)))
    assert (ways.costs.machining, ways.costs.replacing) == (D(1), D("0.8"))
    told = next(one for one in found.findings if one.code is C.DEARER_PER_DISTANCE)
    assert told.sentence == (
        "Machining the front left brake rotor costs 1.0000 per 1,000 km of the life that it buys, and replacing would "
        "cost 0.8000."
    )
    assert told.evidence is not None
    assert told.evidence.margin == D("-0.2")
    assert C.DEARER_PER_DISTANCE not in codes(check([machine(LEFT, charge=Charge(D(36)))], part))  # both 0.8


def test_replacing_may_be_the_dearer_way() -> None:
    part = known(worn(), new_distance_km=D(90000), new_size=D(26), other_way=Charge(labour=D(30)))
    found = check([renew(LEFT, charge=Charge(D(60), D(40)))], part)
    assert found.parts[0].ways.replacing == Way(D(100), D(90000))
    assert found.parts[0].ways.costs.cheaper is Cheaper.MACHINING
    assert C.DEARER_PER_DISTANCE in codes(found)


def test_a_price_for_both_sides_is_shared() -> None:
    parts = [known(worn(side), new_size=D(26), other_way=Charge(D(80))) for side in EACH]
    found = check([machine(*EACH, charge=Charge(D(90)))], *parts)
    assert [part.ways.machining for part in found.parts] == [Way(D(90), D(45000), 2)] * 2
    assert [part.ways.costs.machining for part in found.parts] == [D(1)] * 2


@pytest.mark.parametrize(
    "lines",
    [
        [],
        [machine(LEFT, charge=Charge(discount=D(3)))],
        [machine(LEFT), machine(LEFT)],
        [machine(LEFT, currency="EUR"), replace(OTHER, currency="CHF")],
    ],
)
def test_where_no_price_can_be_told_none_is(lines: list[QuoteLine]) -> None:
    found = check(lines, known(worn(), new_size=D(26), other_way=Charge(D(1))))
    assert found.parts[0].ways.costs.machining is None
    assert C.DEARER_PER_DISTANCE not in codes(found)


def test_a_new_part_without_its_price_costs_nothing_that_is_known() -> None:
    found = check([renew(LEFT, charge=Charge(labour=D(9)))], known(worn(), new_size=D(26)))
    assert found.parts[0].ways.replacing == Way(None, D(100000))


def test_machining_is_no_way_for_a_part_that_needs_none_or_cannot_have_it() -> None:
    for part in (good(), thin()):
        found = check([renew(LEFT)], known(part, other_way=Charge(D(1)), new_distance_km=D(70000)))
        assert found.parts[0].ways.machining == Way()
        assert found.parts[0].ways.costs.replacing == D(1)


def test_how_far_a_new_drum_goes_at_the_wear_of_the_old_one() -> None:
    oval = on(drum("281", "281", "281", "280.8", setup_runout=D(0)), LEFT, Axle.REAR)
    part = replace(oval, odometer_km=D(60000), history=(EarlierReading(D("280.6"), D(40000)),))
    lines = [QuoteLine(Operation.REPLACE, part="left", charge=Charge(D(80), D(20)))]
    assert check(lines, known(part, new_size=D(280))).parts[0].ways.replacing == Way(D(100), D(100000))
    assert check(lines, known(part)).parts[0].ways.replacing == Way(D(100), None)
    assert check(lines, known(oval, new_size=D(280))).parts[0].ways.replacing == Way(D(100), None)


def test_a_rotor_whose_discard_limit_is_not_known_has_no_life_to_tell() -> None:
    part = known(worn(), limits=replace(ROTOR, discard=None), new_size=D(26))
    assert check([renew(LEFT)], part).parts[0].ways.replacing.distance_km is None


def test_the_summary_is_one_sentence_by_the_loudest_finding() -> None:
    agreed = check([machine(*EACH)], uneven(LEFT), uneven(RIGHT))
    assert quote_summary(agreed) == "The quote agrees with what was measured and with the policy."
    noted = check([machine(*EACH)], uneven(LEFT), good(RIGHT))
    assert quote_summary(noted) == quote_summary(agreed)
    asked = check([renew(LEFT)], thin(LEFT), good(RIGHT))
    assert quote_summary(asked).startswith("The quote agrees with what was measured, with a question: only the front")
    missing = check([machine(*EACH)])
    assert quote_summary(missing) == (
        "The quote cannot be confirmed yet: nothing was measured on the front left brake rotor that the quote could "
        "rest on (and 1 more of this kind)."
    )
    wrong = check([machine(LEFT)], thin(LEFT))
    assert quote_summary(wrong).startswith(
        "The quote does not agree with what was measured or with itself: the front left"
    )


def test_cautions_are_always_there() -> None:
    working = {caution.code for caution in quote_cautions(check([machine(LEFT)], thin()), CATALOGUE)}
    assert working == {"dust_hazard", "follow_service_data", "prices_from_caller"}
    idle = {caution.code for caution in quote_cautions(check([], good()), CATALOGUE)}
    assert idle == {"follow_service_data", "prices_from_caller"}

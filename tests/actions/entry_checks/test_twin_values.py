"""Values printed in both units agree within half a last digit of each, and no further."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.actions.entry_checks.entries import ALONE, only, rotor, rotor_of
from tests.actions.entry_checks.published_records import AGREEING_PAIRS, DISAGREEING_PAIRS
from turnrule.actions.entry_checks.twin_values import agree, check, swaps
from turnrule.judging.words import Unit


@pytest.mark.parametrize(("inches", "millimetres"), AGREEING_PAIRS)
def test_published_pairs_that_are_consistent_agree_either_way_around(inches: str, millimetres: str) -> None:
    assert agree(inches, Unit.IN, millimetres, Unit.MM)
    assert agree(millimetres, Unit.MM, inches, Unit.IN)


@pytest.mark.parametrize(("inches", "millimetres"), DISAGREEING_PAIRS)
def test_published_pairs_that_are_wrong_agree_only_as_far_as_the_inches_are_printed(
    inches: str, millimetres: str
) -> None:
    exact = Decimal(inches) * Decimal("25.4")
    within = abs(exact - Decimal(millimetres)) <= Decimal("0.005") + Decimal("12.7").scaleb(
        -len(inches.partition(".")[2])
    )
    assert agree(inches, Unit.IN, millimetres, Unit.MM) is within
    assert not agree(f"{inches}000", Unit.IN, millimetres, Unit.MM)


@pytest.mark.parametrize(
    ("millimetres", "inches", "same"),
    [
        # 0.945 in is 24.003 mm; half digits: 0.05 mm and 0.0127 mm
        ("24.0", "0.945", True),
        ("24.1", "0.945", False),
        ("23.9", "0.945", False),
        # half a digit of 24 is 0.5 mm: 24 and 24.5127 mm are one length, and more is not
        ("24", "0.945", True),
        ("25", "0.945", False),
        # 10 in is 254 mm
        ("267.2", "10", False),
        ("267", "10", True),
        ("266.75", "10.0", False),
        ("255.32", "10.0", False),
        # 2 in is 50.8 mm; at the very edge 0.5 + 12.7 mm
        ("64", "2", True),
        ("65", "2", False),
        ("255.27", "10.0", True),
        ("255.275", "10.0", False),
        ("255.2701", "10.0", False),
        ("255.2700", "10.0", True),
    ],
)
def test_the_tolerance_is_half_a_last_digit_of_each(millimetres: str, inches: str, same: bool) -> None:  # noqa: FBT001
    assert agree(millimetres, Unit.MM, inches, Unit.IN) is same


@given(st.integers(1, 10**7), st.integers(0, 4), st.integers(0, 5))
def test_any_length_agrees_with_itself_rounded_in_both_units(units: int, places_mm: int, places_in: int) -> None:
    length = Decimal(units).scaleb(-4)
    millimetres = length.quantize(Decimal(1).scaleb(-places_mm))
    inches = (length / Decimal("25.4")).quantize(Decimal(1).scaleb(-places_in))
    assert agree(f"{millimetres:f}", Unit.MM, f"{inches:f}", Unit.IN)


@given(st.integers(1, 10**6))
def test_neighbours_swapped_twice_are_the_number_again(number: int) -> None:
    text = f"{number / 1000:.3f}"
    for swapped in swaps(text):
        assert swapped != text
        assert text in set(swaps(swapped))


def test_a_swap_in_either_value_is_named() -> None:
    in_twin = only(tuple(check(rotor(more={"also": {"discard_thickness": "0.954"}}), ALONE)))
    assert "two digits of 0.954 may have changed places" in in_twin.detail
    printed = {"nominal_thickness": "1.204", "discard_thickness": "0.945"}
    in_main = only(tuple(check(rotor_of(printed, more={"also": {"nominal_thickness": "26.01"}}), ALONE)))
    assert "two digits of 1.204 may have changed places" in in_main.detail


def test_the_remedy_says_what_to_do_with_a_misprint() -> None:
    remark = only(tuple(check(rotor(more={"also": {"discard_thickness": "0.97"}}), ALONE)))
    assert "24.0 mm and 0.97 in are not the same length" in remark.detail
    assert "leave this one out of also and say so in the note" in remark.detail

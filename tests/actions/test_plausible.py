"""A size past the size as made is a slip, and refused by place."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.judging.samples import DRUM, ROTOR, drum, rotor, sizes
from turnrule.actions.plausible import size_faults
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Part
from turnrule.judging.words import Unit


@pytest.mark.parametrize(
    ("part", "limits", "pointers"),
    [
        (rotor("25", "252", "25", "27.1"), ROTOR, ["/thickness/1", "/thickness/3"]),
        (rotor("27", "26.2"), ROTOR, []),
        (rotor("25", inner_track=sizes("52.2")), ROTOR, ["/thickness_inner/0"]),
        (drum("28.02", "279", "278.99"), DRUM, ["/diameter/0", "/diameter/2"]),
        (rotor("252"), replace(ROTOR, nominal=None), []),
    ],
)
def test_a_reading_more_than_a_millimetre_past_nominal_is_refused(
    part: Part, limits: LimitSet, pointers: list[str]
) -> None:
    assert [fault.pointer for fault in size_faults(part, limits)] == pointers


def test_the_message_speaks_in_the_callers_unit_and_names_the_remedy() -> None:
    [fault] = size_faults(replace(rotor("254"), unit=Unit.IN), None, ROTOR)
    assert fault.detail.startswith("10 in is thicker than the part was made (1.02362 in); check the reading")


def test_the_larger_nominal_counts_where_record_and_caller_differ() -> None:
    thicker = replace(ROTOR, nominal=Decimal(28))
    assert not list(size_faults(rotor("28.5"), ROTOR, thicker))

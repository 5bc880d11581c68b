"""Which services a part still reaches."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnrule.judging.faults import PartError
from turnrule.judging.parts import Services
from turnrule.judging.services import Reach, services_reached

D = Decimal


def test_round_multiples_of_the_interval_are_counted_by_the_odometer() -> None:
    found = services_reached(Services(D(15_000)), odometer_km=D(61_200), left_km=D(35_000))
    assert found == Reach(2, D(75_000), D(90_000), D(105_000))


def test_the_interval_may_count_from_the_last_service() -> None:
    found = services_reached(Services(D(15_000), D(60_500)), odometer_km=D(61_200), left_km=D(14_300))
    assert found == Reach(1, D(75_500), D(75_500), D(90_500))


def test_a_service_one_kilometre_too_far_is_missed() -> None:
    found = services_reached(Services(D(15_000)), odometer_km=D(61_200), left_km=D(13_799))
    assert found == Reach(0, None, None, D(75_000))


def test_todays_own_service_is_behind_already() -> None:
    found = services_reached(Services(D(15_000)), odometer_km=D(60_000), left_km=D(0))
    assert found == Reach(0, None, None, D(75_000))
    found = services_reached(Services(at_km=(D(60_000),)), odometer_km=D(60_000), left_km=D(5))
    assert found == Reach(0, None, None, None)


def test_a_list_of_odometers_need_not_be_in_order() -> None:
    services = Services(at_km=(D(90_000), D(50_000), D(70_000), D(70_000), D(80_000)))
    found = services_reached(services, odometer_km=D(61_200), left_km=D(20_000))
    assert found == Reach(2, D(70_000), D(80_000), D(90_000))


def test_a_list_that_ends_before_the_part_has_no_missed_service() -> None:
    found = services_reached(Services(at_km=(D(70_000),)), odometer_km=D(61_200), left_km=D(20_000))
    assert found == Reach(1, D(70_000), D(70_000), None)


@pytest.mark.parametrize(
    ("services", "pointers"),
    [
        (Services(), {"/services"}),
        (Services(D(15_000), at_km=(D(70_000),)), {"/services"}),
        (Services(D(0)), {"/services/interval"}),
        (Services(D(15_000), D(60_001)), {"/services/last"}),
        (Services(D(-1), D(60_001)), {"/services/interval", "/services/last"}),
    ],
)
def test_what_names_no_services_is_refused_by_its_field(services: Services, pointers: set[str]) -> None:
    with pytest.raises(PartError) as refused:
        services_reached(services, odometer_km=D(60_000), left_km=D(1))
    assert {fault.pointer for fault in refused.value.faults} == pointers


@given(st.integers(1, 500), st.integers(0, 2000), st.integers(0, 2000), st.integers(0, 3000))
def test_interval_and_list_of_the_same_services_agree(interval: int, start: int, run: int, left: int) -> None:
    odometer = D(start + run)
    counted = services_reached(Services(D(interval), D(start)), odometer_km=odometer, left_km=D(left))
    listed = tuple(D(start + step * interval) for step in range((run + left) // interval + 2))
    assert counted == services_reached(Services(at_km=listed), odometer_km=odometer, left_km=D(left))

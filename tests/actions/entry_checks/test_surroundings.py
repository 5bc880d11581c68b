"""What the store holds already: overlaps are refused and lead to the other record, and odd values are noticed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from tests.actions.entry_checks.entries import ROTOR, TODAY, fitting, rotor, rotor_of, told
from tests.actions.entry_checks.slips import Body
from tests.actions.entry_checks.stores import accept_all, enter, verify
from tests.api.bodies import EXAMPLE_LIMITS, changed
from turnrule.actions.entry_checks import around, check_entry
from turnrule.actions.requests import Corrects
from turnrule.judging.words import Axle, Unit
from turnrule.store.sqlite import SqliteStore, open_sqlite

ID = "corvane-ostrel-7k2m9x"
OTHER_SIZE = {"nominal_thickness": "22.0", "minimum_machining_thickness": "20.6", "discard_thickness": "20.0"}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteStore]:
    """An empty store."""
    store = open_sqlite(tmp_path / "store.sqlite")
    store.migrate()
    yield store
    store.close()


def of_a_size(number: int, **figures: str) -> Body:
    """A record of another vehicle, of a size with the example."""
    body = changed(EXAMPLE_LIMITS, **{name: Decimal(value) for name, value in figures.items()})
    body["application"] |= {"model": f"Type {number}"}
    return body


def test_a_second_record_for_the_same_vehicles_is_refused_and_led_to_the_draft(store: SqliteStore) -> None:
    enter(store, changed(EXAMPLE_LIMITS), ID)
    [remark] = check_entry(fitting(rotor(), year_from=2020, year_to=2021), around(store, TODAY))
    assert (remark.pointer, remark.code, remark.refused) == ("/application", "overlap", True)
    assert ID in remark.detail
    assert "it is a draft: make its second entry" in remark.detail


def test_an_accepted_record_is_to_be_corrected(store: SqliteStore) -> None:
    enter(store, changed(EXAMPLE_LIMITS), ID)
    verify(store, ID)
    [remark] = check_entry(rotor(), around(store, TODAY))
    assert f'correct it, with "corrects" naming {ID}' in remark.detail


@pytest.mark.parametrize(
    "apart",
    [{"year_from": 2018, "year_to": 2020}, {"axle": Axle.REAR}, {"brake_option": "B17"}, {"model": "Pirrel"}],
)
def test_other_vehicles_do_not_overlap(store: SqliteStore, apart: dict[str, object]) -> None:
    enter(store, changed(EXAMPLE_LIMITS), ID)
    assert not told(fitting(rotor(), **apart), around(store, TODAY))


def test_a_correction_does_not_overlap_with_what_it_corrects(store: SqliteStore) -> None:
    enter(store, changed(EXAMPLE_LIMITS), ID)
    verify(store, ID)
    entry = replace(rotor(), corrects=Corrects(ID, 1), reason="page 14 prints another value")
    assert not told(entry, around(store, TODAY))
    elsewhere = replace(entry, corrects=Corrects("corvane-ostrel-000000", 1))
    assert [code for _, code, _ in told(elsewhere, around(store, TODAY))] == ["overlap"]


def test_a_value_far_from_those_of_similar_parts_is_a_warning(store: SqliteStore) -> None:
    runouts = ("0.02", "0.02", "0.03", "0.02", "0.02", "0.015", "0.02", "0.03", "0.02", "0.02", "0.025", "0.02")
    accept_all(store, (of_a_size(number, maximum_lateral_runout=value) for number, value in enumerate(runouts)))
    odd = rotor(maximum_lateral_runout="0.15")
    assert told(odd, around(store, TODAY)) == [("/maximum_lateral_runout", "far_from_similar", False)]
    [remark] = check_entry(odd, around(store, TODAY))
    assert remark.detail.startswith("7.5 times greater than with most parts of this size")
    assert not told(rotor(maximum_lateral_runout="0.12"), around(store, TODAY))
    of_another_size = rotor_of(ROTOR | OTHER_SIZE | {"maximum_lateral_runout": "0.15"}, Unit.MM)
    assert not told(of_another_size, around(store, TODAY))


def test_of_fewer_than_twelve_similar_parts_nothing_is_concluded(store: SqliteStore) -> None:
    accept_all(store, (of_a_size(number, maximum_lateral_runout="0.02") for number in range(11)))
    assert not told(rotor(maximum_lateral_runout="0.15"), around(store, TODAY))


def test_one_wrong_record_among_the_similar_does_not_excuse_another(store: SqliteStore) -> None:
    runouts = ["0.02"] * 12 + ["0.15"]
    accept_all(store, (of_a_size(number, maximum_lateral_runout=value) for number, value in enumerate(runouts)))
    assert told(rotor(maximum_lateral_runout="0.15"), around(store, TODAY))


def test_where_similar_parts_are_of_two_sorts_neither_is_unusual(store: SqliteStore) -> None:
    runouts = ["0.02"] * 12 + ["0.15", "0.15"]
    accept_all(store, (of_a_size(number, maximum_lateral_runout=value) for number, value in enumerate(runouts)))
    assert not told(rotor(maximum_lateral_runout="0.15"), around(store, TODAY))


def test_drafts_are_no_similar_parts(store: SqliteStore) -> None:
    for number in range(12):
        enter(store, of_a_size(number, maximum_lateral_runout="0.02"), f"draft-{number}")
    assert not told(rotor(maximum_lateral_runout="0.15"), around(store, TODAY))


def test_similar_parts_are_read_once_for_each_size(store: SqliteStore) -> None:
    accept_all(store, (of_a_size(number) for number in range(12)))
    surroundings = around(store, TODAY)
    first = surroundings.similar(rotor())
    assert len(first) == 12
    assert surroundings.similar(rotor(nominal_thickness="28.0")) is first
    assert surroundings.similar(rotor(nominal_thickness="18.0")) is not first
    assert around(store, TODAY).similar(rotor()) is not first


def test_an_entry_without_a_size_has_no_similar_parts(store: SqliteStore) -> None:
    sizes = ("nominal_thickness", "minimum_machining_thickness", "discard_thickness")
    assert not around(store, TODAY).similar(rotor(*sizes))

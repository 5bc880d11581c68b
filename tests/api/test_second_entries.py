"""A second entry is read as strictly as the first; what it may leave out, it may."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, changed, exact
from turnrule.api.faults import FaultsError
from turnrule.api.limits_schemas import read_limits, read_second_entry
from turnrule.judging.words import Unit
from turnrule.store.limit_records import Source

D = Decimal
LEAST = changed(EXAMPLE_LIMITS, source=None, effective_from=None)


def faults(document: object) -> list[tuple[str, str]]:
    """Pointer and code of every fault, none where the entry is read."""
    try:
        read_second_entry(document)
    except FaultsError as error:
        return [(fault.pointer, fault.code) for fault in error.faults]
    return []


@pytest.mark.parametrize("text", [EXAMPLE_LIMITS, DRUM_LIMITS])
def test_the_same_body_read_as_second_entry_says_the_same(text: str) -> None:
    first, second = read_limits(exact(text)), read_second_entry(exact(text))
    assert second.figures == first.figures
    assert second.fits == first.fits
    assert second.source == first.source
    assert (second.effective_from, second.effective_to) == (first.effective_from, first.effective_to)


def test_source_and_days_may_be_left_out() -> None:
    second = read_second_entry(LEAST)
    assert (second.source, second.effective_from, second.effective_to) == (None, None, None)


def test_of_the_source_document_and_edition_are_enough_and_needed() -> None:
    given = {"document": "Ostrel workshop manual", "edition": "2023-04"}
    assert read_second_entry(LEAST | {"source": given}).source == Source("Ostrel workshop manual", "", "", "2023-04")
    assert faults(LEAST | {"source": {"publisher": "Corvane"}}) == [
        ("/source/document", "missing"),
        ("/source/edition", "missing"),
    ]


def test_days_review_note_and_the_other_unit_may_be_given() -> None:
    more = {"effective_to": "2030-01-01", "review_due": "2028-01-01", "note": "as in the table"}
    also = {"unit": "in", "nominal_thickness": D("1.024")}
    second = read_second_entry(LEAST | more | {"also": also})
    assert second.effective_to == datetime.date(2030, 1, 1)
    assert second.figures.review_due == datetime.date(2028, 1, 1)
    assert second.figures.also is not None
    assert second.figures.also.unit is Unit.IN


@pytest.mark.parametrize("name", ["unit", "kind", "application"])
def test_what_is_compared_is_needed(name: str) -> None:
    document = {key: value for key, value in LEAST.items() if key != name}
    assert (f"/{name}", "missing") in faults(document)


def test_what_only_a_first_entry_says_is_unknown_here() -> None:
    document = LEAST | {"corrects": {}, "reason": "x" * 20, "answered_warnings": [], "limits_id": "x"}
    assert faults(document) == [
        ("/answered_warnings", "unknown_field"),
        ("/corrects", "unknown_field"),
        ("/limits_id", "unknown_field"),
        ("/reason", "unknown_field"),
    ]


def test_what_cannot_be_is_refused_before_it_is_compared() -> None:
    document = LEAST | {
        "minimum_machining_thickness": D("23.9"),
        "nominal_thickness": D("1.024"),
        "effective_from": "2021-01-01",
        "effective_to": "2021-01-01",
        "also": {"unit": "in", "discard_thickness": D("0.954")},
    }
    document["application"] = document["application"] | {"year_to": D(2020)}
    assert faults(document) == [
        ("/also/discard_thickness", "twin_differs"),
        ("/application/year_to", "out_of_range"),
        ("/discard_thickness", "discard_past_nominal"),
        ("/effective_to", "out_of_range"),
        ("/minimum_machining_thickness", "machining_past_discard"),
        ("/minimum_machining_thickness", "machining_past_nominal"),
        ("/nominal_thickness", "unit_mismatch"),
    ]


def test_what_is_only_unusual_is_read() -> None:
    assert not faults(LEAST | {"maximum_lateral_runout": D("0.5")})

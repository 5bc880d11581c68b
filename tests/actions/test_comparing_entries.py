"""Two entries of the same limits: what is compared, what is kept of one that differs, and what it would have been."""

from __future__ import annotations

import dataclasses
import datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, changed, exact
from turnrule.actions.requests import SecondEntry
from turnrule.actions.second_entries import as_entered, differing, kept_entry
from turnrule.api.limits_schemas import read_limits, read_second_entry
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.limit_records import FitsTo, LimitRevision, Mismatch, Source

D = Decimal
AT = datetime.datetime(2026, 11, 2, 10, 0, tzinfo=datetime.UTC)


def first(text: str = EXAMPLE_LIMITS) -> LimitRevision:
    """A draft."""
    entry = read_limits(exact(text))
    return dataclasses.replace(entry.as_revision("a", entered_by="anna", entered_at=AT), note="beside the figure")


def second(text: str = EXAMPLE_LIMITS, **changes: object) -> SecondEntry:
    """A second entry with some fields changed; None takes one out."""
    return read_second_entry(changed(text, **changes))


@pytest.mark.parametrize("text", [EXAMPLE_LIMITS, DRUM_LIMITS])
def test_the_same_body_differs_in_nothing(text: str) -> None:
    assert differing(second(text), first(text)) == ()
    assert differing(second(text, source=None, effective_from=None), first(text)) == ()


def test_every_field_of_a_limit_set_and_of_an_application_is_compared() -> None:
    """A field that is added later is compared as well, or this test fails."""
    draft = first()
    whole = second()
    other: dict[str, Any] = {
        "kind": Kind.DRUM,
        "permission": Machining.PROHIBITED,
        "construction": Construction.SOLID,
        "axle": Axle.REAR,
        "year_from": 1999,
        "year_to": None,
    }
    for field in dataclasses.fields(LimitSet):
        value = other.get(field.name, D("0.0000001"))
        limits = dataclasses.replace(whole.figures.limits, **{field.name: value})
        changed_entry = dataclasses.replace(whole, figures=dataclasses.replace(whole.figures, limits=limits))
        assert differing(changed_entry, draft), field.name
    for field in dataclasses.fields(FitsTo):
        fits = dataclasses.replace(whole.fits, **{field.name: other.get(field.name, "Another")})
        assert differing(dataclasses.replace(whole, fits=fits), draft), field.name


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({"effective_from": "2021-01-02"}, ("/effective_from",)),
        ({"effective_to": "2031-01-02"}, ("/effective_to",)),
        ({"source": {"document": "OSTREL  workshop manual", "edition": "2023-04"}}, ()),
        ({"source": {"document": "Ostrel manual", "edition": "2023-05"}}, ("/source/document", "/source/edition")),
        ({"source": {"document": "Ostrel workshop manual", "edition": "2023-04", "section": "another"}}, ()),
        ({"review_due": "2031-01-02", "note": "another note"}, ()),
        ({"also": {"unit": "in", "discard_thickness": D("0.945")}}, ()),
    ],
)
def test_what_is_beside_the_figures_is_compared_where_it_was_given(
    changes: dict[str, Any], fields: tuple[str, ...]
) -> None:
    assert differing(second(**changes), first()) == fields


def test_a_length_is_compared_in_exact_millimetres() -> None:
    """24.0 and 24.000 are one length; a tenth of a nanometre makes another."""
    assert differing(second(discard_thickness=D("24.000")), first()) == ()
    assert differing(second(discard_thickness=D("24.0000001")), first()) == ("/discard_thickness",)


def as_mismatch(entry: SecondEntry, draft: LimitRevision) -> Mismatch:
    """The entry as it is kept."""
    return Mismatch("bert", AT + datetime.timedelta(hours=1), differing(entry, draft), kept_entry(entry))


def test_what_is_kept_is_what_was_entered_and_takes_the_rest_from_the_draft() -> None:
    draft = first()
    entry = second(discard_thickness=D("23.90"), source={"document": "Another manual", "edition": "7"}, note=None)
    kept = as_entered(as_mismatch(entry, draft), draft)
    assert (kept.limits, kept.printed, kept.fits) == (entry.figures.limits, entry.figures.printed, entry.fits)
    assert kept.printed["discard_thickness"] == "23.90"
    assert kept.source == Source("Another manual", "Corvane", "6.2, table 3", "7", datetime.date(2023, 4, 1))
    assert (kept.entered_by, kept.entered_at) == ("bert", AT + datetime.timedelta(hours=1))
    assert (kept.effective_from, kept.note, kept.verified_by) == (draft.effective_from, None, "")
    bare = second(source=None, effective_from=None, discard_thickness=D("23.9"))
    kept = as_entered(as_mismatch(bare, draft), draft)
    assert (kept.source, kept.effective_from) == (draft.source, draft.effective_from)


SIZES = st.decimals(min_value="10", max_value="40", places=4)
FORMS = st.none() | st.decimals(min_value="0.001", max_value="0.9", places=5)


@st.composite
def entries(draw: st.DrawFn) -> SecondEntry:
    """Second entries of every shape that the reader lets through."""
    unit = draw(st.sampled_from(Unit))
    sizes = sorted(draw(st.lists(SIZES, min_size=3, max_size=3, unique=True)), reverse=True)
    if unit is Unit.IN:
        sizes = [(size / 25).quantize(D("0.0001")) for size in sizes]
    names = ("nominal_thickness", "minimum_machining_thickness", "discard_thickness")
    years = sorted(draw(st.lists(st.integers(1990, 2026), min_size=2, max_size=2)))
    document: dict[str, Any] = {
        "unit": unit.value,
        "kind": "rotor",
        **dict(zip(names, sizes, strict=True)),
        "application": {
            "make": draw(st.text("aB\u00e9 z", min_size=1, max_size=6)).strip() or "m",
            "model": "Ostrel",
            "year_from": D(years[0]),
            "year_to": D(years[1]),
            "axle": draw(st.sampled_from(Axle)).value,
            "brake_option": draw(st.none() | st.just("B16")),
        },
        "maximum_lateral_runout": draw(FORMS) if unit is Unit.MM else None,
        "maximum_taper": draw(FORMS) if unit is Unit.MM else None,
        "expansion_per_k": draw(st.none() | st.just(D("0.0000117"))),
        "machining": draw(st.none() | st.sampled_from([word.value for word in Machining])),
        "effective_from": draw(st.none() | st.just("1990-01-01")),
        "effective_to": draw(st.none() | st.just("2040-01-01")),
        "review_due": draw(st.none() | st.just("2030-01-01")),
        "source": draw(st.none() | st.just({"document": "A manual", "edition": "9"})),
    }
    document["application"] = {name: value for name, value in document["application"].items() if value is not None}
    return read_second_entry({name: value for name, value in document.items() if value is not None})


@given(entries())
def test_an_entry_that_is_kept_and_read_again_equals_itself(entry: SecondEntry) -> None:
    kept = as_entered(as_mismatch(entry, first()), first())
    assert differing(entry, kept) == ()
    assert (kept.limits, kept.printed_unit, kept.printed, kept.fits) == (
        entry.figures.limits,
        entry.figures.printed_unit,
        entry.figures.printed,
        entry.fits,
    )
    assert kept.also == entry.figures.also
    assert kept_entry(entry) == kept_entry(entry)


@given(entries(), entries())
def test_two_entries_differ_in_the_same_fields_whichever_came_first(one: SecondEntry, other: SecondEntry) -> None:
    draft = first()
    there = differing(dataclasses.replace(one, source=None, effective_from=None, effective_to=None), kept(other, draft))
    back = differing(dataclasses.replace(other, source=None, effective_from=None, effective_to=None), kept(one, draft))
    assert there == back


def kept(entry: SecondEntry, draft: LimitRevision) -> LimitRevision:
    """The draft that an entry would have been."""
    return as_entered(as_mismatch(entry, draft), draft)

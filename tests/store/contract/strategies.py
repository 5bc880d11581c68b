"""What the histories of a store are made of: few names, so that they meet."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace

from hypothesis import strategies as st

from tests.store.samples import DRUM, FITS, NOON, ROTOR, SECOND, revision
from turnrule.judging.words import Axle, Kind
from turnrule.store.limit_records import LimitQuery, LimitRevision
from turnrule.store.port import StoreError

MAKES = st.sampled_from(["Corvane", " corVANE", "Tarn", "T\u00e4rn"])
MODELS = st.sampled_from(["Ostrel", "Pell  GT", "pell gt"])
YEARS = st.integers(2019, 2027)
OPTIONS = st.sampled_from([None, "B16", "B17"])
AXLES = st.sampled_from([Axle.FRONT, Axle.REAR])
KINDS = st.sampled_from([Kind.ROTOR, Kind.DRUM])
MOMENTS = st.integers(0, 5).map(lambda number: NOON + number * SECOND)
DAYS = st.integers(0, 4).map(lambda number: datetime.date(2022 + number, 1, 1))
NAMES = st.sampled_from(["one", "two", "three"])


def or_none(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """Nothing as often as not."""
    return st.none() | strategy


@st.composite
def revisions(draw: st.DrawFn) -> LimitRevision:
    """Revisions of a few records, on top of each other as often as not."""
    start = draw(YEARS)
    fits = replace(
        FITS,
        make=draw(MAKES),
        model=draw(MODELS),
        year_from=start,
        year_to=draw(st.none() | st.integers(start, 2028)),
        axle=draw(AXLES),
        brake_option=draw(OPTIONS),
    )
    first = draw(DAYS)
    return revision(
        draw(NAMES),
        draw(st.integers(1, 6)),
        fits=fits,
        limits=draw(st.sampled_from([ROTOR, DRUM])),
        effective_from=first,
        effective_to=draw(st.none() | st.just(first + datetime.timedelta(days=400))),
    )


QUERIES = st.builds(
    LimitQuery,
    make=or_none(MAKES),
    model=or_none(MODELS),
    year=or_none(YEARS),
    axle=or_none(AXLES),
    kind=or_none(KINDS),
    brake_option=OPTIONS,
    release=or_none(st.integers(-1, 6)),
    on=or_none(DAYS),
)


HOUR = datetime.timedelta(hours=1)
HOURS = st.integers(-4, 4).map(lambda number: NOON + number * HOUR)
PEOPLE = st.sampled_from([f"reader {number}" for number in range(1, 6)])


@st.composite
def entries(draw: st.DrawFn) -> LimitRevision:
    """First entries by any of a few people, for a few vehicles, so that they get in each other's way."""
    row = draw(revisions())
    make, model = draw(st.sampled_from(["Corvane", " corVANE"])), draw(st.sampled_from(["Ostrel", "Pell  GT"]))
    option = draw(st.sampled_from([None, "B16", " b16", "B17"]))
    row = replace(
        row,
        fits=replace(
            FITS,
            make=make,
            model=model,
            brake_option=option,
            year_from=draw(st.integers(2019, 2021)),
            year_to=draw(st.sampled_from([None, 2021, 2024])),
        ),
    )
    due = draw(st.none() | DAYS)
    return replace(row, entered_by=draw(PEOPLE), entered_at=draw(HOURS), review_due=due)


@st.composite
def both_entries(draw: st.DrawFn) -> LimitRevision:
    """Revisions that carry both their entries, now and then by one person."""
    return replace(draw(entries()), verified_by=draw(PEOPLE), verified_at=draw(HOURS))


def outcome(call: Callable[[], object]) -> object:
    """What a call answers, or the class of the error that it raises."""
    try:
        return call()
    except StoreError as error:
        return type(error)

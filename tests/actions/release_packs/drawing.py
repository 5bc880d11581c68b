"""Any revision that an entrance of the service lets into a store, as Hypothesis draws it: ugly text, exact figures."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.folding import fold
from turnrule.store.limit_records import AnsweredWarning, Twin
from turnrule.store.port import FitsTo, LimitRevision, Source

# Ranges as numbers, so that no character that hides or reorders stands in this file.
_HIDDEN = (
    *(*range(0x20), *range(0x7F, 0xA0), 0x61C, 0x200E, 0x200F),
    *(*range(0x2028, 0x202F), *range(0x2066, 0x206A), 0xFEFF),
)
_CHARACTERS = st.characters(exclude_categories=["Cs"], exclude_characters=[chr(code) for code in _HIDDEN])
UGLY = (
    '"\\"',
    "{};--",
    "a\u0301\u0327",
    "\U0001f6e0\ufe0f",
    "\u202f\u00a0x",
    "\u05e2\u05d1\u05e8\u05d9\u05ea",
    "\ue000\uffff",
    "\U0001f3f3\ufe0f\u200d\U0001f308",
    "\u2019; DROP",
    "~/",
)
"""Quotes, marks that combine, wide spaces, letters from right to left, joined pictures, private and no characters."""


def texts(most: int = 40) -> st.SearchStrategy[str]:
    """One line of text that is not blank."""
    drawn = st.one_of(st.sampled_from(UGLY), st.text(_CHARACTERS, min_size=1, max_size=most))
    return drawn.filter(lambda text: bool(fold(text)))


def days() -> st.SearchStrategy[datetime.date]:
    """Any day that has one after it."""
    return st.dates(max_value=datetime.date(9999, 12, 30))


def moments() -> st.SearchStrategy[datetime.datetime]:
    """Any moment of UTC."""
    # Hypothesis draws them bare and puts the zone to them.
    first, last = datetime.datetime(1970, 1, 1), datetime.datetime(2100, 1, 1)  # noqa: DTZ001
    return st.datetimes(first, last, timezones=st.just(datetime.UTC))


def ids() -> st.SearchStrategy[str]:
    """Ids of records, some of which begin with others."""
    return st.from_regex(r"[a-z0-9][a-z0-9-]{0,12}", fullmatch=True)


def printed_texts(whole: int, decimals: int) -> st.SearchStrategy[str]:
    """A value as a document prints it, perhaps with zeros that do not count."""
    return st.builds(
        lambda digits, places, zeros: f"{Decimal(digits).scaleb(-places):f}" + ("0" * zeros if places else ""),
        st.integers(1, whole),
        st.integers(0, decimals),
        st.integers(0, 2),
    )


@st.composite
def revisions(draw: st.DrawFn, limits_id: str | None = None, number: int | None = None) -> LimitRevision:
    """A verified revision whose printed values are its figures."""
    kind, unit = draw(st.sampled_from(Kind)), draw(st.sampled_from(Unit))
    printed = draw(_printed(kind, unit))
    entered_by, verified_by = draw(st.lists(texts(), min_size=2, max_size=2, unique=True))
    start = draw(days())
    return LimitRevision(
        limits_id=draw(ids()) if limits_id is None else limits_id,
        revision=draw(st.integers(1, 2**31 - 1)) if number is None else number,
        fits=draw(_fits()),
        limits=_limits(draw, kind, unit, printed),
        printed_unit=unit,
        printed=printed,
        source=draw(st.builds(Source, texts(), texts(), texts(), texts(), st.none() | days())),
        effective_from=start,
        effective_to=draw(st.none() | st.dates(min_value=start + datetime.timedelta(days=1))),
        review_due=draw(st.none() | days()),
        entered_by=entered_by,
        verified_by=verified_by,
        note=draw(st.none() | texts(500)),
        also=draw(st.none() | _twins(kind, unit)),
        reason=draw(st.none() | texts(500)),
        warnings=tuple(draw(st.lists(_warnings(), max_size=3))),
        entered_at=draw(moments()),
        verified_at=draw(moments()),
    )


def _fits() -> st.SearchStrategy[FitsTo]:
    def ordered(fits: FitsTo) -> FitsTo:
        if fits.year_to is None or fits.year_from <= fits.year_to:
            return fits
        return replace(fits, year_from=fits.year_to, year_to=fits.year_from)

    years = st.integers(1, 9999)
    return st.builds(
        FitsTo, texts(), texts(), years, st.none() | years, st.sampled_from(Axle), st.none() | texts()
    ).map(ordered)


@st.composite
def _printed(draw: st.DrawFn, kind: Kind, unit: Unit) -> dict[str, str]:
    """Some of the values of this kind of part, those of its sizes in the order of wear."""
    # In inches one decimal less: 25.4 adds one, and lengths are kept to seven decimals of a millimetre.
    decimals = 7 if unit is Unit.MM else 6
    names = names_for(kind)
    sizes = draw(st.lists(printed_texts(10**10, decimals), min_size=3, max_size=3))
    sizes.sort(key=Decimal, reverse=kind is Kind.ROTOR)
    values = dict(zip((names.nominal, names.machining, names.discard), sizes, strict=True))
    for name in names[3:]:
        if name is not None:
            values[name] = draw(st.sampled_from(("0", "0.0")) | printed_texts(10**7, decimals))
    kept = draw(st.sets(st.sampled_from(sorted(values))))
    return {name: value for name, value in values.items() if name in kept}


def _limits(draw: st.DrawFn, kind: Kind, unit: Unit, printed: Mapping[str, str]) -> LimitSet:
    exact = {
        figure: to_mm(Decimal(printed[name]), unit)
        for figure, name in zip(FigureNames._fields, names_for(kind), strict=True)
        if name is not None and name in printed
    }
    return LimitSet(
        kind=kind,
        permission=draw(st.sampled_from(Machining)),
        construction=draw(st.none() | st.sampled_from(Construction)),
        expansion_per_k=draw(st.none() | printed_texts(10**6, 12).map(Decimal)),
        **exact,
    )


@st.composite
def _twins(draw: st.DrawFn, kind: Kind, unit: Unit) -> Twin:
    """The values in the document's other unit, as far as it prints them."""
    names = [name for name in names_for(kind) if name is not None]
    values = draw(st.dictionaries(st.sampled_from(names), printed_texts(10**6, 4)))
    return Twin(Unit.IN if unit is Unit.MM else Unit.MM, values)


def _warnings() -> st.SearchStrategy[AnsweredWarning]:
    return st.builds(
        AnsweredWarning, texts(), st.sampled_from(("", "/discard_thickness")) | texts(), texts(), texts(500)
    )


def records(most: int = 4) -> st.SearchStrategy[list[LimitRevision]]:
    """The newest revisions of some records, in any order."""
    return st.lists(revisions(), min_size=1, max_size=most, unique_by=lambda revision: revision.limits_id)

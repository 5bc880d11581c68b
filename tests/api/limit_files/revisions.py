"""Limits of an invented fleet with the texts that people really type, and worse."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.api.bounds import LINE
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.limit_records import AnsweredWarning, FitsTo, LimitRevision, Source, Twin

NOON = datetime.datetime(2026, 3, 2, 12, 0, tzinfo=datetime.UTC)

PLAIN = LimitRevision(
    limits_id="corvane-ostrel-k3x9pa",
    revision=1,
    fits=FitsTo("Corvane", "Ostrel", 2021, 2024, Axle.FRONT, "B16"),
    limits=LimitSet(
        kind=Kind.ROTOR,
        nominal=Decimal("26.0"),
        machining=Decimal("24.60"),
        discard=Decimal("24.0"),
        maximum_lateral_runout=Decimal("0.05"),
        permission=Machining.PERMITTED,
        construction=Construction.VENTED,
    ),
    printed_unit=Unit.MM,
    printed={
        "nominal_thickness": "26.0",
        "minimum_machining_thickness": "24.60",
        "discard_thickness": "24.0",
        "maximum_lateral_runout": "0.05",
    },
    source=Source("Ostrel workshop manual", "Corvane", "6.2, table 3", "2023-04", datetime.date(2023, 4, 1)),
    effective_from=datetime.date(2021, 1, 1),
)

_LEADS = ["", "=", "+", "-", "@", "'", "''", "'=", '"', ",", ";", "#", "#REF!", "_x003D_", "\uff1d", "%", "/", "="]
_TAILS = st.text(
    st.one_of(
        st.sampled_from(list(" '\"=+-@;,|\\\u00a0_xX0041éß漢🚗\ufffe\uffff")),
        st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp"), max_codepoint=0x1F6FF),
    ),
    max_size=8,
)


def ugly(most: int = 60) -> st.SearchStrategy[str]:
    """Text that a limits body takes and a spreadsheet may not leave alone."""
    made = st.builds(lambda lead, tail: f"{lead}Aq{tail}"[:most], st.sampled_from(_LEADS), _TAILS)
    return made.filter(lambda text: LINE.fullmatch(text) is not None)


def _days() -> st.SearchStrategy[datetime.date]:
    return st.dates(datetime.date(1901, 1, 1), datetime.date(2099, 12, 31))


@st.composite
def _printed(draw: st.DrawFn, kind: Kind) -> dict[str, str]:
    """Figures of a part that may exist, in mm, with as many digits as a document may print."""
    places = draw(st.integers(0, 4))
    least = draw(st.integers(8, 40) if kind.is_rotor else st.integers(160, 400))
    steps = [Decimal(least), *(Decimal(least) + draw(st.integers(1, 30)) / Decimal(10) for _ in range(2))]
    sizes = sorted(steps, reverse=kind.is_rotor)
    names = names_for(kind)
    printed = {name: f"{size:.{places}f}" for name, size in zip(names[:3], sizes, strict=True) if name}
    if places < 1:
        printed = {names.discard: printed[names.discard]}
    for name in names[3:]:
        if name is not None and draw(st.booleans()):
            printed[name] = draw(st.sampled_from(["0.05", "0.050", "0.1", "0.013", "0.12", "0.10"]))
    return printed


def _limits(kind: Kind, printed: dict[str, str], expansion: Decimal | None, permission: Machining) -> LimitSet:
    figures = {
        figure: Decimal(printed[name])
        for figure, name in zip(FigureNames._fields, names_for(kind), strict=True)
        if name in printed
    }
    construction = Construction.VENTED if kind.is_rotor else Construction.CAST
    return LimitSet(kind, permission=permission, construction=construction, expansion_per_k=expansion, **figures)


@st.composite
def revisions(draw: st.DrawFn) -> LimitRevision:
    """One revision of a record as it may be stored."""
    kind = draw(st.sampled_from(list(Kind)))
    printed = draw(_printed(kind))
    first = draw(st.integers(1990, 2030))
    start = draw(_days())
    names = names_for(kind)
    also = None
    if draw(st.booleans()):
        inches = {names.discard: f"{Decimal(printed[names.discard]) / Decimal('25.4'):.4f}"}
        also = Twin(Unit.IN, inches)
    return LimitRevision(
        limits_id=draw(st.from_regex(r"[a-z0-9][a-z0-9-]{0,30}", fullmatch=True)),
        revision=1,
        fits=FitsTo(
            draw(ugly()),
            draw(ugly()),
            first,
            draw(st.none() | st.integers(first, first + 20)),
            draw(st.sampled_from(list(Axle))),
            draw(st.none() | ugly(40)),
        ),
        limits=_limits(
            kind,
            printed,
            draw(st.sampled_from([None, Decimal("0.0000105"), Decimal("0.000024")])),
            draw(st.sampled_from(list(Machining))),
        ),
        printed_unit=Unit.MM,
        printed=printed,
        source=Source(draw(ugly()), draw(ugly()), draw(ugly()), draw(ugly(60)), draw(st.none() | _days())),
        effective_from=start,
        effective_to=draw(st.none() | st.dates(start + datetime.timedelta(days=1), datetime.date(2150, 1, 1))),
        review_due=draw(st.none() | _days()),
        note=draw(st.none() | ugly()),
        also=also,
        warnings=tuple(draw(st.lists(_answered(names.discard), max_size=2, unique_by=lambda one: one.code))),
    )


def _answered(name: str) -> st.SearchStrategy[AnsweredWarning]:
    """A warning that somebody answered, with whatever they wrote."""
    return st.builds(
        lambda code, reason: AnsweredWarning(code, f"/{name}", "a warning", f"looked twice {reason}".rstrip()),
        st.sampled_from(["unusual_value", "unusual_allowance"]),
        ugly(),
    )


def in_inches(row: LimitRevision, printed: dict[str, str]) -> LimitRevision:
    """The same record with other figures, which its document prints in inches."""
    kind = row.limits.kind
    figures = {
        figure: to_mm(Decimal(printed[name]), Unit.IN)
        for figure, name in zip(FigureNames._fields, names_for(kind), strict=True)
        if name in printed
    }
    limits = LimitSet(kind, permission=row.limits.permission, construction=row.limits.construction, **figures)
    return replace(row, limits=limits, printed=printed, printed_unit=Unit.IN, also=None)


def sets(most: int = 3) -> st.SearchStrategy[Sequence[LimitRevision]]:
    """Several records, each under an id of its own."""
    return st.lists(revisions(), min_size=1, max_size=most, unique_by=lambda row: row.limits_id)

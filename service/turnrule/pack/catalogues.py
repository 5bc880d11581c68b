"""The pack's catalogue files into the engine's `Catalogue`."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable
from decimal import Decimal
from pathlib import Path
from typing import Protocol, TypeVar

from turnrule.judging.catalogue import Catalogue, CautionText, FindingRule, Practice, Regulation, RuleText
from turnrule.judging.words import Binds, Effect, Kind, Level
from turnrule.pack.reader import PackError, Row, read_items
from turnrule.pack.status import Status

_MM_PER_UM = Decimal("0.001")
_WITHOUT_ADDRESS = frozenset({Status.DERIVED, Status.PRACTICE})
"""What was worked out here, or is a habit of the trade, stands nowhere."""


class _Coded(Protocol):
    @property
    def code(self) -> str: ...


C = TypeVar("C", bound=_Coded)


def read_sources(folder: Path) -> dict[str, str]:
    """Source code to the line that a trace shows: title, place, and how it is known."""

    def build(row: Row) -> tuple[str, str]:
        code, title, status = row.text("code"), row.text("title"), row.one_of("status", Status)
        place = row.maybe_text("place")
        if row.maybe_text("address") is None and status not in _WITHOUT_ADDRESS:
            raise PackError(row.place, f"address is missing; say where {code!r} stands, or its number as a standard")
        row.maybe_text("note")
        where = f", {place}" if place else ""
        return code, f"{title}{where} ({status})"

    rows = read_items(folder / "catalogue" / "sources.json", build)
    found = dict(rows)
    if len(found) < len(rows):
        raise PackError("sources.json", "a code stands twice; keep one")
    return found


def read_catalogue(folder: Path, version: str) -> Catalogue:
    """All catalogues of the pack in this folder. Raises `PackError`."""
    sources = read_sources(folder)
    place = folder / "catalogue"

    def source(row: Row) -> str:
        code = row.text("source")
        if code not in sources:
            raise PackError(row.place, f"source {code!r} is not in sources.json; add it there")
        return sources[code]

    return Catalogue(
        version=version,
        findings=_by_code(place / "findings.json", lambda row: _finding(row, source(row))),
        cautions=_by_code(place / "cautions.json", lambda row: _caution(row, source(row))),
        rules=_by_code(place / "rules.json", lambda row: _rule(row, source(row))),
        practice=_by_code(place / "practice.json", lambda row: _practice(row, source(row))),
        regulations=_by_code(place / "regulations.json", lambda row: _regulation(row, source(row))),
    )


def _by_code(path: Path, build: Callable[[Row], C]) -> dict[str, C]:
    return in_order(path.name, read_items(path, build))


def in_order(name: str, entries: Iterable[C]) -> dict[str, C]:
    """Entries by code; they must be sorted and each code must stand once."""
    listed = list(entries)
    for before, after in itertools.pairwise(listed):
        if before.code >= after.code:
            raise PackError(name, f"{after.code!r} stands after {before.code!r}; sort by code, each once")
    return {entry.code: entry for entry in listed}


def _finding(row: Row, source: str) -> FindingRule:
    return FindingRule(
        code=row.text("code"),
        title=row.text("title"),
        effect=row.one_of("effect", Effect),
        kinds=row.all_of("kinds", Kind),
        text=row.text("text"),
        source=source,
        parameters=row.texts("parameters"),
    )


def _caution(row: Row, source: str) -> CautionText:
    return CautionText(row.text("code"), row.one_of("level", Level), row.text("text"), source)


def _rule(row: Row, source: str) -> RuleText:
    return RuleText(row.text("code"), row.text("title"), row.text("text"), source)


def _practice(row: Row, source: str) -> Practice:
    """A figure of practice; roughness is written in micrometres and kept, as every length, in mm."""
    value, unit = row.decimal("value"), row.text("unit")
    if unit == "um":
        value, unit = value * _MM_PER_UM, "mm"
    return Practice(row.text("code"), value, unit, row.text("text"), source)


def _regulation(row: Row, source: str) -> Regulation:
    """A rule of law; only one that names drums alone may hold an oversize, and that is more than nothing."""
    kinds, oversize = row.all_of("kinds", Kind), row.maybe_decimal("oversize_mm")
    if oversize is not None and (oversize <= 0 or Kind.ROTOR in kinds):
        raise PackError(
            row.place, "oversize_mm must be more than 0, and for drums only; write null where there is none"
        )
    return Regulation(
        code=row.text("code"),
        place=row.text("place"),
        binds=row.one_of("binds", Binds),
        kinds=kinds,
        oversize=oversize,
        text=row.text("text"),
        source=source,
        jurisdiction=row.text("jurisdiction"),
    )

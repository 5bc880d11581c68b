"""The worked cases of the pack: a sentence, a source, a request, and what must come of it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from turnrule.pack.reader import PackError, Row, read_document
from turnrule.pack.status import Status


class Sort(StrEnum):
    """What a case works out: a verdict on a part or an axle, a set-up, a quote, or whether two lengths are one."""

    VERDICT = "verdict"
    AXLE = "axle"
    SETUP = "setup"
    QUOTE = "quote"
    DUAL_UNIT = "dual_unit"


@dataclass(frozen=True, slots=True)
class WorkedCase:
    """One case; `document` is the whole of it, in the contract's names, numbers as exact decimals.

    `on`, the day of judgement, is None for a pair of printed values: nothing is judged there.
    """

    name: str
    sentence: str
    sort: Sort
    source: str
    status: Status
    rules: tuple[str, ...]
    on: datetime.date | None
    document: Mapping[str, object]


def read_cases(folder: Path) -> Iterator[WorkedCase]:
    """Every worked case of the pack in this folder, in the order of their files. Raises `PackError`."""
    for path in sorted((folder / "cases").glob("*.json")):
        yield _case(path)


def _case(path: Path) -> WorkedCase:
    document = read_document(path)
    row = Row(document, f"cases/{path.name}")
    given = row.maybe_text("kind_of_case")
    sort = Sort.VERDICT if given is None else row.one_of("kind_of_case", Sort)
    source = Row(row.raw("source"), f"{row.place}, source")
    text, status = source.text("text"), source.one_of("status", Status)
    source.maybe_text("address")
    source.done()
    rules = row.texts("rules")
    if not rules or len(set(rules)) < len(rules):
        raise PackError(row.place, "rules needs one code or more, each once")
    case = WorkedCase(
        name=path.stem,
        sentence=row.text("case"),
        sort=sort,
        source=text,
        status=status,
        rules=rules,
        on=row.date("on") if sort is not Sort.DUAL_UNIT else None,
        document=document if isinstance(document, Mapping) else {},
    )
    row.maybe_text("working")
    _parts(row, sort)
    row.done()
    return case


def _parts(row: Row, sort: Sort) -> None:
    """See that a case holds what it works out: objects all, but for the policy's name and no record."""
    if sort is Sort.DUAL_UNIT:
        Row(row.raw("dual_unit"), f"{row.place}, dual_unit")
        return
    if row.maybe_raw("before") is not None:
        Row(row.raw("before"), f"{row.place}, before")
    if row.maybe_raw("lathe") is not None:
        Row(row.raw("lathe"), f"{row.place}, lathe")
    Row(row.raw("request"), f"{row.place}, request")
    Row(row.raw("expect"), f"{row.place}, expect")
    if not isinstance(row.raw("policy"), str):
        Row(row.raw("policy"), f"{row.place}, policy")
    if row.maybe_raw("record") is not None:
        Row(row.raw("record"), f"{row.place}, record")

"""What changed between two releases, row by row: the fields with their old and new values, why, by whom."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from turnrule.actions.answers import source_document
from turnrule.actions.desk import Desk
from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.store.limit_records import Change, LimitRevision, Release, Twin


class ChangeKind(StrEnum):
    """What became of a record in a release."""

    ADDED = "added"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field that changed, by its JSON Pointer in a limits body; lengths in mm; None where it was not given."""

    field: str
    old: object
    new: object


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change of one record; `after` is its place, to go on from. `row` is what holds, or held until now."""

    release: int
    place: str
    kind: ChangeKind
    row: LimitRevision
    replaces: int | None
    fields: tuple[FieldChange, ...]
    reason: str | None
    withdrawn_by: str | None


@dataclass(frozen=True, slots=True)
class ChangesPage:
    """Changes after one release up to another; `since` 0 is before the first."""

    since: int
    until: int
    rows: Sequence[ChangeRow]


def list_changes(
    desk: Desk, release: Release, since: int, *, after: tuple[int, str] = (0, ""), limit: int = 50
) -> ChangesPage:
    """What changed after the release `since` up to `release`, in the order in which it was released."""
    changes = desk.store.changes(since, release.number, after=after, limit=limit)
    return ChangesPage(since, release.number, [_row(change) for change in changes])


def _row(change: Change) -> ChangeRow:
    if change.withdrawal is not None or change.new is None:
        row = change.old if change.new is None else change.new
        if row is None or change.withdrawal is None:  # pragma: no cover - a store tells what was withdrawn, and why
            raise TypeError(change)
        withdrawal = change.withdrawal
        return ChangeRow(
            change.release,
            change.place,
            ChangeKind.WITHDRAWN,
            row,
            None,
            (),
            withdrawal.reason,
            withdrawal.withdrawn_by,
        )
    old, new = change.old, change.new
    return ChangeRow(
        change.release,
        change.place,
        ChangeKind.ADDED if old is None else ChangeKind.CORRECTED,
        new,
        None if old is None else old.revision,
        tuple(field_changes(old, new)),
        new.reason,
        None,
    )


def field_changes(old: LimitRevision | None, new: LimitRevision) -> Iterator[FieldChange]:
    """The fields that differ, in the order of a limits body; all that are given where there is no old one."""
    before: Mapping[str, object] = {} if old is None else _fields(old)
    now = _fields(new)
    for field in dict.fromkeys((*before, *now)):
        was, now_is = before.get(field), now.get(field)
        if was != now_is:
            yield FieldChange(field, was, now_is)


def _fields(row: LimitRevision) -> dict[str, object]:
    """Every field of a revision that says something, by pointer; lengths in mm."""
    limits, fits, source = row.limits, row.fits, row.source
    figures = {
        f"/{name}": getattr(limits, figure)
        for figure, name in zip(FigureNames._fields, names_for(limits.kind), strict=True)
        if name is not None
    }
    fields = {
        "/unit": row.printed_unit,
        "/kind": limits.kind,
        **{f"/application/{name}": getattr(fits, name) for name in _APPLICATION},
        **figures,
        "/machining": limits.permission,
        "/construction": limits.construction,
        "/expansion_per_k": limits.expansion_per_k,
        "/also": _also(row.also),
        **{f"/source/{name}": value for name, value in (source_document(source) or {}).items()},
        "/effective_from": row.effective_from,
        "/effective_to": row.effective_to,
        "/review_due": row.review_due,
        "/note": row.note,
    }
    return {field: value for field, value in fields.items() if value is not None}


_APPLICATION = ("make", "model", "year_from", "year_to", "axle", "brake_option")


def _also(twin: Twin | None) -> object:
    if twin is None:
        return None
    return {"unit": twin.unit, **{name: Decimal(text) for name, text in twin.printed.items()}}

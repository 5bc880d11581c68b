"""Limits records as the JSON documents that are sent; what was never accepted is shown to its author only."""

from __future__ import annotations

from decimal import Decimal

import orjson

from turnrule.actions.answers import Json, moment, source_document
from turnrule.actions.changes import ChangeRow
from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.actions.numbers import number
from turnrule.actions.reading_records import SeenRevision
from turnrule.store.limit_records import (
    AnsweredWarning,
    EntryState,
    FitsTo,
    HistoryRow,
    LimitRevision,
    OpenDraft,
    Rejection,
    Release,
    Twin,
    Withdrawal,
)

BY_ONE_PERSON = "entered_by_one_person"
"""The caution of the catalogue about limits whose two entries one person made."""


def limits_document(row: LimitRevision) -> Json:
    """One accepted revision of a limits record, which is the same for ever: as printed, and in exact millimetres."""
    return _values(row) | {
        "verified_by": row.verified_by,
        "verified_at": moment(row.verified_at) if row.verified_at is not None else None,
        "cautions": [BY_ONE_PERSON] if row.by_one_person else [],
    }


def _values(row: LimitRevision) -> Json:
    """What was entered, by whom, and why."""
    limits = row.limits
    names = names_for(limits.kind)
    sizes: dict[str, Decimal | None] = {
        name: getattr(limits, figure)
        for figure, name in zip(FigureNames._fields, names, strict=True)
        if name is not None
    }
    return {
        "limits_id": row.limits_id,
        "revision": row.revision,
        "unit": row.printed_unit,
        "kind": limits.kind,
        "application": fits_document(row.fits),
        **{name: orjson.Fragment(row.printed[name]) for name in sizes if name in row.printed},
        "millimetres": {name: number(size) for name, size in sizes.items() if size is not None},
        "also": _also(row.also),
        "machining": limits.permission,
        "construction": limits.construction,
        "expansion_per_k": number(limits.expansion_per_k),
        "source": source_document(row.source),
        "effective_from": row.effective_from,
        "effective_to": row.effective_to,
        "review_due": row.review_due,
        "entered_by": row.entered_by,
        "entered_at": moment(row.entered_at) if row.entered_at is not None else None,
        "reason": row.reason,
        "answered_warnings": [_warning(warning) for warning in row.warnings],
        "note": row.note,
    }


def fits_document(fits: FitsTo) -> Json:
    """The vehicles that a record is for."""
    return {
        "make": fits.make,
        "model": fits.model,
        "year_from": fits.year_from,
        "year_to": fits.year_to,
        "axle": fits.axle,
        "brake_option": fits.brake_option,
    }


def _also(twin: Twin | None) -> Json | None:
    if twin is None:
        return None
    return {"unit": twin.unit, **{name: orjson.Fragment(text) for name, text in twin.printed.items()}}


def _warning(warning: AnsweredWarning) -> Json:
    return {
        "code": warning.code,
        "pointer": warning.pointer,
        "detail": warning.detail,
        "reason": warning.reason,
    }


def seen_document(seen: SeenRevision) -> Json:
    """One revision with what became of it, its values only where they are shown."""
    row = seen.row
    if not seen.shown:
        return hidden_document(row.revision, row.state, row.mismatches) | _rejected(row.rejection)
    if row.state in {EntryState.DRAFT, EntryState.DISPUTED, EntryState.REJECTED}:
        return draft_document(row.revision, row.state, row.mismatches) | _rejected(row.rejection)
    return standing_document(row)


def standing_document(row: HistoryRow) -> Json:
    """An accepted revision with how it stands now."""
    return limits_document(row.revision) | {
        "state": row.state,
        "release": row.release,
        "mismatches": row.mismatches,
        "withdrawal": _withdrawal(row.withdrawal),
    }


def draft_document(row: LimitRevision, state: EntryState, mismatches: int = 0) -> Json:
    """A revision that was never accepted, as its author sees it."""
    return _values(row) | {"state": state, "mismatches": mismatches}


def hidden_document(row: LimitRevision, state: EntryState, mismatches: int) -> Json:
    """A revision that was never accepted, as everybody else sees it: enough to find the document and enter it again.

    Nothing that was read from the document's tables: no figure, unit, year, axle or option, and no words about them.
    """
    return {
        "limits_id": row.limits_id,
        "revision": row.revision,
        "values": "hidden",
        "state": state,
        "mismatches": mismatches,
        "kind": row.limits.kind,
        "application": {"make": row.fits.make, "model": row.fits.model},
        "source": source_document(row.source),
        "entered_by": row.entered_by,
        "entered_at": moment(row.entered_at) if row.entered_at is not None else None,
    }


def awaiting_document(draft: OpenDraft) -> Json:
    """A draft in the list of those that wait for their second entry: hidden, whoever looks."""
    return hidden_document(draft.revision, draft.state, len(draft.mismatches))


def _rejected(rejection: Rejection | None) -> Json:
    if rejection is None:
        return {}
    return {
        "rejection": {
            "rejected_by": rejection.rejected_by,
            "rejected_at": moment(rejection.rejected_at),
            "reason": rejection.reason,
        }
    }


def _withdrawal(withdrawal: Withdrawal | None) -> Json | None:
    if withdrawal is None:
        return None
    return {
        "revision": withdrawal.revision,
        "withdrawn_by": withdrawal.withdrawn_by,
        "withdrawn_at": moment(withdrawal.withdrawn_at),
        "reason": withdrawal.reason,
    }


def release_document(release: Release) -> Json:
    """One release, which is the same for ever."""
    return {
        "number": release.number,
        "published_at": moment(release.published_at),
        "published_by": release.published_by,
        "notes": release.notes,
        "digest": release.digest,
        "records": release.records,
        "records_by_one_person": release.by_one_person,
        "cautions": [BY_ONE_PERSON] if release.by_one_person else [],
    }


def change_document(change: ChangeRow) -> Json:
    """One change between two releases; lengths in mm."""
    row = change.row
    return {
        "release": change.release,
        "change": change.kind,
        "limits_id": row.limits_id,
        "revision": row.revision,
        "replaces": change.replaces,
        "kind": row.limits.kind,
        "application": fits_document(row.fits),
        "fields": [{"field": one.field, "old": one.old, "new": one.new} for one in change.fields],
        "reason": change.reason,
        "entered_by": row.entered_by,
        "verified_by": row.verified_by,
        "withdrawn_by": change.withdrawn_by,
        "source": source_document(row.source),
    }

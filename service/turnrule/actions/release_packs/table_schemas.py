"""What the columns of a release pack hold (Frictionless Table Schema); whoever reads one elsewhere begins here."""

from __future__ import annotations

from typing import Final

_MOMENT = "%Y-%m-%dT%H:%M:%S.%fZ"


def _field(name: str, kind: str, description: str, *, needed: bool = True, **more: str) -> dict[str, object]:
    constraints: dict[str, object] = {"constraints": {"required": True}} if needed else {}
    return {"name": name, "type": kind, "description": description, **more, **constraints}


_ROW_DIGEST = _field("row_digest", "string", "SHA-256 over the line without this member.")
_LIMITS_ID = _field("limits_id", "string", "The record's id, the same in every release.")
_REVISION = _field("revision", "integer", "The revision of the record, from 1.")

# In the order in which the names stand in a line.
LIMITS_SCHEMA: Final[dict[str, object]] = {
    "fields": [
        _field("also", "object", "The values as the document prints them in its other unit.", needed=False),
        _field("content_digest", "string", "SHA-256 over what governs; the release's digest is made of these."),
        _field("effective_from", "date", "The first day on which the limits hold."),
        _field("effective_to", "date", "The first day on which they hold no longer.", needed=False),
        _field("entered_at", "datetime", "When the first entry was made, in UTC.", format=_MOMENT),
        _field("entered_by", "string", "Who made the first entry."),
        _field("fits", "object", "The vehicles: make, model, first and last year, axle, brake option."),
        _field("limits", "object", "The limits in exact millimetres, as decimals in quotes; null is not stated."),
        _LIMITS_ID,
        _field("note", "string", "What else a reader should know.", needed=False),
        _field("printed", "object", "The values as the document prints them, in printed_unit."),
        _field("printed_unit", "string", "mm or in."),
        _field("reason", "string", "Why the revision before this one was corrected.", needed=False),
        _field("review_due", "date", "The day until which the limits are to be looked at again.", needed=False),
        _REVISION,
        _ROW_DIGEST,
        _field("source", "object", "The document, its publisher, section and edition, and when it was issued."),
        _field("verified_at", "datetime", "When the second entry was made, in UTC.", format=_MOMENT),
        _field("verified_by", "string", "Who made the second entry."),
        _field("warnings", "array", "Warnings at entry, each with the reason why the limits are right all the same."),
    ],
    "primaryKey": ["limits_id"],
}

WITHDRAWALS_SCHEMA: Final[dict[str, object]] = {
    "fields": [
        _LIMITS_ID,
        _field("reason", "string", "Why the record must not be used."),
        _field("revision", "integer", "This revision of it and all before must not be used."),
        _ROW_DIGEST,
        _field("sequence", "integer", "The number of the withdrawal in the store that it was made in, rising."),
        _field("withdrawn_at", "datetime", "When it was withdrawn, in UTC.", format=_MOMENT),
        _field("withdrawn_by", "string", "Who withdrew it."),
    ],
    "primaryKey": ["sequence"],
}

"""Limits entries as the revisions of a release, and the digest of what a release holds."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Sequence

from turnrule.actions.numbers import canonical, digest_of
from turnrule.actions.requests import LimitsEntry
from turnrule.store.port import LimitRevision

_NOT_PLAIN = re.compile(r"[^a-z0-9]+")


def as_revisions(entries: Iterable[LimitsEntry], *, entered_by: str, verified_by: str) -> Sequence[LimitRevision]:
    """The first revision of each entry, under an id that is made of what it is for."""
    rows: dict[str, LimitRevision] = {}
    for entry in entries:
        stem = limits_id_of(entry)
        limits_id, number = stem, 1
        while limits_id in rows:
            number += 1
            limits_id = f"{stem}-{number}"
        rows[limits_id] = entry.as_revision(limits_id, 1, entered_by=entered_by, verified_by=verified_by)
    return tuple(rows.values())


def limits_id_of(entry: LimitsEntry) -> str:
    """What a record is for, in small letters and digits, so that people can tell records apart."""
    fits = entry.fits
    words = (fits.make, fits.model, str(fits.year_from), fits.axle, entry.figures.limits.kind, fits.brake_option or "")
    return _NOT_PLAIN.sub("-", " ".join(words).casefold()).strip("-") or "limits"


def content_digest(rows: Iterable[LimitRevision]) -> str:
    """The SHA-256 of everything that the rows say, whatever their order."""
    return digest_of(canonical([dataclasses.asdict(row) for row in sorted(rows, key=lambda row: row.limits_id)]))

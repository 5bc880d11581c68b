"""The digests of what is held: of one revision's substance, and of all that a release holds.

Only what governs counts: not who entered it or when, not the number of the revision, not why it was corrected. The
same limits, under the same ids, have the same digest in any store and on any machine.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from decimal import Decimal

from turnrule.judging.lengths import plain
from turnrule.store.limit_records import LimitRevision

_ENCODE = json.JSONEncoder(separators=(",", ":"), sort_keys=True, ensure_ascii=False).encode
PREFIX = "sha256:"
EMPTY = f"{PREFIX}{hashlib.sha256(b'').hexdigest()}"
"""The digest of a release that holds nothing."""


def _text(value: Decimal | None) -> str | None:
    return None if value is None else f"{plain(value):f}"


def _day(value: datetime.date | None) -> str | None:
    return None if value is None else value.isoformat()


def content_digest(revision: LimitRevision) -> str:
    """The SHA-256 of a revision's substance: canonical JSON (sorted names, no spaces, UTF-8), lengths in mm as text."""
    fits, limits, source = revision.fits, revision.limits, revision.source
    also = revision.also
    document = {
        "limits_id": revision.limits_id,
        "make": fits.make,
        "model": fits.model,
        "year_from": fits.year_from,
        "year_to": fits.year_to,
        "axle": str(fits.axle),
        "brake_option": fits.brake_option,
        "kind": str(limits.kind),
        "nominal": _text(limits.nominal),
        "machining": _text(limits.machining),
        "discard": _text(limits.discard),
        "lateral_runout": _text(limits.maximum_lateral_runout),
        "thickness_variation": _text(limits.maximum_thickness_variation),
        "out_of_round": _text(limits.maximum_out_of_round),
        "taper": _text(limits.maximum_taper),
        "permission": str(limits.permission),
        "construction": None if limits.construction is None else str(limits.construction),
        "expansion_per_k": _text(limits.expansion_per_k),
        "printed_unit": str(revision.printed_unit),
        "printed": revision.printed,
        "also": None if also is None else {"unit": str(also.unit), "printed": also.printed},
        "document": source.document,
        "publisher": source.publisher,
        "section": source.section,
        "edition": source.edition,
        "issued": _day(source.issued),
        "effective_from": _day(revision.effective_from),
        "effective_to": _day(revision.effective_to),
        "review_due": _day(revision.review_due),
        "note": revision.note,
    }
    return f"{PREFIX}{hashlib.sha256(_ENCODE(document).encode()).hexdigest()}"


class ReleaseDigest:
    """Adds up the digest of a release: SHA-256 over a line for each record that it holds, by id, rising."""

    def __init__(self) -> None:
        self.records = 0
        self._sum = hashlib.sha256()

    def add(self, limits_id: str, digest: str) -> None:
        """Count the next record, whose id comes after the last one's, byte for byte."""
        self.records += 1
        self._sum.update(f"{limits_id} {digest.removeprefix(PREFIX)}\n".encode())

    @property
    def digest(self) -> str:
        """The digest of what was added so far."""
        return f"{PREFIX}{self._sum.hexdigest()}"

"""One held revision as one line of `limits.jsonl`, and back: the same revision has the same line on every machine.

A line is read by making the revision out of it and writing that revision again: where the two lines are not the
same to the byte, the line holds something that a revision does not, and is refused.
"""

from __future__ import annotations

import datetime
import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal

from turnrule.actions.answers import moment
from turnrule.actions.figure_names import FigureNames, names_for
from turnrule.actions.numbers import text_of
from turnrule.actions.release_packs.damage import RowError
from turnrule.actions.release_packs.members import Members, canonical_line, decimal_in, parsed
from turnrule.judging.lengths import to_mm
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.content import PREFIX, content_digest
from turnrule.store.limit_records import AnsweredWarning, Twin
from turnrule.store.port import FitsTo, LimitRevision, Source

LONGEST_LINE = 256 * 1024
"""No line of a pack has more bytes; whoever reads one holds no more in memory."""
GREATEST_REVISION = 2**31 - 1

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,79}", re.ASCII)
_SIZES = (
    *("nominal", "machining", "discard", "maximum_lateral_runout"),
    *("maximum_thickness_variation", "maximum_out_of_round", "maximum_taper"),
)
_FITS = frozenset(field.name for field in fields(FitsTo))
_LIMITS = frozenset(field.name for field in fields(LimitSet))
_SOURCE = frozenset(field.name for field in fields(Source))
_TWIN = frozenset(field.name for field in fields(Twin))
_WARNING = frozenset(field.name for field in fields(AnsweredWarning))
_DIGESTS = ("content_digest", "row_digest")
NAMES = frozenset((*(field.name for field in fields(LimitRevision)), *_DIGESTS))
"""The members of a line: every field of a revision, the digest of its substance, the digest of the whole row."""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One line as it was read: the revision, and the digest of its substance that the release's is made of."""

    revision: LimitRevision
    content: str


def limit_line(revision: LimitRevision) -> bytes:
    """The line of a verified revision, without its line feed. Raises `RowError` where its second entry is missing."""
    document = _document(revision, content_digest(revision))
    return canonical_line({**document, "row_digest": row_digest(document)})


def row_digest(document: Mapping[str, object]) -> str:
    """The digest of a row: SHA-256 over its canonical line without the member `row_digest`."""
    return f"{PREFIX}{hashlib.sha256(canonical_line(document)).hexdigest()}"


def _document(revision: LimitRevision, content: str) -> dict[str, object]:
    """All of a line but its own digest."""
    if revision.entered_at is None or revision.verified_at is None or not revision.verified_by:
        raise RowError(f"{revision.limits_id} revision {revision.revision} lacks its second entry or a moment of it")
    also = revision.also
    return {
        "limits_id": revision.limits_id,
        "revision": revision.revision,
        "fits": _flat(revision.fits, _FITS),
        "limits": _limits(revision.limits),
        "printed_unit": revision.printed_unit,
        "printed": revision.printed,
        "also": None if also is None else _flat(also, _TWIN),
        "source": _flat(revision.source, _SOURCE),
        "effective_from": revision.effective_from,
        "effective_to": revision.effective_to,
        "review_due": revision.review_due,
        "note": revision.note,
        "reason": revision.reason,
        "warnings": [_flat(warning, _WARNING) for warning in revision.warnings],
        "entered_by": revision.entered_by,
        "entered_at": moment(revision.entered_at),
        "verified_by": revision.verified_by,
        "verified_at": moment(revision.verified_at),
        "content_digest": content,
    }


def _flat(value: object, names: Iterable[str]) -> dict[str, object]:
    """The fields of a record as they are."""
    return {name: getattr(value, name) for name in names}


def _limits(limits: LimitSet) -> dict[str, str | None]:
    figures: dict[str, str | None] = {name: _exact(getattr(limits, name)) for name in (*_SIZES, "expansion_per_k")}
    return {**figures, "kind": limits.kind, "permission": limits.permission, "construction": limits.construction}


def _exact(value: Decimal | None) -> str | None:
    return None if value is None else text_of(value)


def read_limit_line(line: bytes) -> LimitRow:
    """The revision of a line without its line feed. Raises `RowError` that says which member cannot be taken."""
    members = Members(parsed(line), NAMES)
    stated = members.text("row_digest")
    if row_digest({name: members.raw(name) for name in NAMES - {"row_digest"}}) != stated:
        raise RowError(f"was changed: it has another digest than its row_digest{_about(members)}")
    revision = _revision(members)
    content = content_digest(revision)
    if members.text("content_digest") != content:
        raise RowError(f"was changed: its limits have the digest {content}, and not its content_digest")
    if canonical_line({**_document(revision, content), "row_digest": stated}) != line:
        raise RowError("is not written in the pack's own form: names sorted, no spaces, no digits that do not count")
    return LimitRow(revision, content)


def _about(members: Members) -> str:
    named = members.raw("limits_id")
    return f" (limits_id {named})" if type(named) is str and _ID.fullmatch(named) else ""


def read_id(members: Members) -> str:
    """The id of the record that a row is about."""
    limits_id = members.text("limits_id")
    if _ID.fullmatch(limits_id) is None:
        raise RowError(f"limits_id is {limits_id!r:.90}; ids are 1 to 80 of a-z, 0-9 and -, and begin with none of -")
    return limits_id


def _revision(members: Members) -> LimitRevision:
    fits, source = members.inner("fits", _FITS), members.inner("source", _SOURCE)
    limits = _limit_set(members.inner("limits", _LIMITS))
    unit = members.word("printed_unit", Unit)
    return LimitRevision(
        limits_id=read_id(members),
        revision=members.whole("revision", most=GREATEST_REVISION),
        fits=FitsTo(
            make=fits.text("make"),
            model=fits.text("model"),
            year_from=fits.whole("year_from", most=datetime.MAXYEAR),
            year_to=fits.maybe_whole("year_to", least=1, most=datetime.MAXYEAR),
            axle=fits.word("axle", Axle),
            brake_option=fits.maybe_text("brake_option"),
        ),
        limits=limits,
        printed_unit=unit,
        printed=_as_printed(members.raw("printed"), limits, unit),
        source=Source(
            document=source.text("document"),
            publisher=source.text("publisher"),
            section=source.text("section"),
            edition=source.text("edition"),
            issued=source.maybe_day("issued"),
        ),
        effective_from=members.day("effective_from"),
        effective_to=members.maybe_day("effective_to"),
        review_due=members.maybe_day("review_due"),
        entered_by=members.text("entered_by"),
        verified_by=members.text("verified_by"),
        note=members.maybe_text("note"),
        also=_twin(members, limits.kind, unit),
        reason=members.maybe_text("reason"),
        warnings=_warnings(members),
        entered_at=members.moment("entered_at"),
        verified_at=members.moment("verified_at"),
    )


def _limit_set(members: Members) -> LimitSet:
    sizes = {name: members.maybe_decimal(name) for name in _SIZES}
    return LimitSet(
        kind=members.word("kind", Kind),
        permission=members.word("permission", Machining),
        construction=members.maybe_word("construction", Construction),
        expansion_per_k=members.maybe_decimal("expansion_per_k"),
        **sizes,
    )


def _as_printed(value: object, limits: LimitSet, unit: Unit) -> dict[str, str]:
    """The values as printed, each of which must be the exact figure that is judged by."""
    printed = _printed(value, limits.kind, "printed")
    for figure, name in zip(FigureNames._fields, names_for(limits.kind), strict=True):
        if name in printed and getattr(limits, figure) != to_mm(Decimal(printed[name]), unit):
            raise RowError(f"printed.{name} is {printed[name]} {unit}, and limits.{figure} is another length")
    return printed


def _printed(value: object, kind: Kind, place: str) -> dict[str, str]:
    known = {name for name in names_for(kind) if name is not None}
    if type(value) is not dict or not value.keys() <= known:
        raise RowError(f"{place} must be an object with names out of {', '.join(sorted(known))}")
    for name, printed in value.items():
        decimal_in(f"{place}.{name}", printed)
    return value


def _twin(members: Members, kind: Kind, unit: Unit) -> Twin | None:
    if members.raw("also") is None:
        return None
    twin = members.inner("also", _TWIN)
    other = twin.word("unit", Unit)
    if other is unit:
        raise RowError(f"also.unit is {other}, which printed_unit is already")
    return Twin(other, _printed(twin.raw("printed"), kind, "also.printed"))


def _warnings(members: Members) -> tuple[AnsweredWarning, ...]:
    return tuple(
        AnsweredWarning(one.text("code"), one.text("pointer", blank=True), one.text("detail"), one.text("reason"))
        for one in (
            Members(entry, _WARNING, f"warnings[{index}].") for index, entry in enumerate(members.several("warnings"))
        )
    )

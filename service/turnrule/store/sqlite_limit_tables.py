"""Which table holds what is kept of limits, column by column, in both directions."""

from __future__ import annotations

import dataclasses
import datetime
import json
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.content import content_digest
from turnrule.store.folding import fold
from turnrule.store.limit_records import (
    AnsweredWarning,
    FitsTo,
    KeptAnswer,
    LimitRevision,
    Mismatch,
    Rejection,
    Release,
    Source,
    StoreRules,
    Twin,
    Withdrawal,
)
from turnrule.store.reference_port import Idempotency
from turnrule.store.sqlite_rows import (
    Table,
    Value,
    columns,
    day,
    day_text,
    exact_number,
    exact_text,
    json_text,
    millimetres,
    moment,
    moment_text,
    tenth_nm,
)

RELEASES = Table(
    "releases", columns("number published_at published_by notes digest records by_one_person accepted withdrawn")
)
LIMIT_REVISIONS = Table(
    "limit_revisions",
    columns(
        """
        limits_id revision make make_key model model_key year_from year_to axle brake_option option_key kind
        nominal_tenth_nm machining_tenth_nm discard_tenth_nm lateral_runout_tenth_nm thickness_variation_tenth_nm
        out_of_round_tenth_nm taper_tenth_nm permission construction expansion_per_k printed_unit printed also
        document publisher section edition issued effective_from effective_to review_due entered_by entered_at
        note reason warnings digest import_id
        """
    ),
)
ACCEPTANCES = Table(
    "acceptances", columns("sequence limits_id revision entered_by entered_at verified_by verified_at pause_s")
)
MISMATCHES = Table("mismatches", columns("limits_id revision attempt entered_by entered_at fields entry"))
REJECTIONS = Table("rejections", columns("limits_id revision rejected_by rejected_at reason"))
WITHDRAWALS = Table("withdrawals", columns("sequence limits_id revision withdrawn_by withdrawn_at reason"))
STORE_RULES = Table("store_rules", columns("revision set_at set_by one_person_pause_s signed_packs_only trusted_keys"))
IMPORTS = Table("imports", columns("id started_at started_by touched finished"))
KEPT_ANSWERS = Table("kept_answers", columns("key_name value body_digest status content location"))
SEALED = (
    *(RELEASES, LIMIT_REVISIONS, ACCEPTANCES, MISMATCHES, REJECTIONS, WITHDRAWALS),
    *(STORE_RULES, KEPT_ANSWERS, IMPORTS),
)
"""Every table of limits whose rows are handed out, or say which rows are."""

REVISION_WIDTH = len(LIMIT_REVISIONS.columns) + 1
"""How many values a sealed revision has in a row that goes on with another table's."""


@dataclasses.dataclass(frozen=True, slots=True)
class Import:
    """Many drafts that are entered together; `touched` is when it last moved, in seconds since 1970."""

    number: int
    started_at: str
    started_by: str
    touched: int
    finished: bool


def import_values(begun: Import) -> Sequence[Value]:
    """An import as a row."""
    return (begun.number, begun.started_at, begun.started_by, begun.touched, int(begun.finished))


def import_of(row: Sequence[Any]) -> Import:
    """A row as an import."""
    number, started_at, started_by, touched, finished = row
    return Import(number, started_at, started_by, touched, bool(finished))


def release_values(release: Release) -> Sequence[Value]:
    """A release as a row."""
    return (
        *(release.number, moment_text(release.published_at), release.published_by, release.notes, release.digest),
        *(release.records, release.by_one_person, release.accepted, release.withdrawn),
    )


def release_of(row: Sequence[Any]) -> Release:
    """A row as a release."""
    number, published_at, *rest = row
    return Release(number, moment(published_at), *rest)


def revision_values(revision: LimitRevision, import_id: int | None = None) -> Sequence[Value]:
    """An entered revision as a row. Raises `StoreError` for what is not kept."""
    fits, limits, source = revision.fits, revision.limits, revision.source
    also = None if revision.also is None else {"unit": str(revision.also.unit), "printed": revision.also.printed}
    entered_at = None if revision.entered_at is None else moment_text(revision.entered_at)
    option = fits.brake_option
    return (
        *(revision.limits_id, revision.revision),
        *(fits.make, fold(fits.make), fits.model, fold(fits.model)),
        *(fits.year_from, fits.year_to, str(fits.axle), option, "" if option is None else fold(option)),
        *(str(limits.kind), tenth_nm(limits.nominal), tenth_nm(limits.machining), tenth_nm(limits.discard)),
        *(tenth_nm(limits.maximum_lateral_runout), tenth_nm(limits.maximum_thickness_variation)),
        *(tenth_nm(limits.maximum_out_of_round), tenth_nm(limits.maximum_taper)),
        *(str(limits.permission), None if limits.construction is None else str(limits.construction)),
        *(exact_text(limits.expansion_per_k), str(revision.printed_unit), json_text(revision.printed)),
        None if also is None else json_text(also),
        *(source.document, source.publisher, source.section, source.edition, day_text(source.issued)),
        *(day_text(revision.effective_from), day_text(revision.effective_to), day_text(revision.review_due)),
        *(revision.entered_by, entered_at, revision.note, revision.reason),
        json_text([dataclasses.asdict(warning) for warning in revision.warnings]),
        *(content_digest(revision), import_id),
    )


def limits_of(row: Sequence[Any]) -> LimitSet:
    """The figures of a row of revisions, from its column `kind` on to `expansion_per_k`."""
    kind, nominal, machining, discard, runout, variation, out_of_round, taper, permission, construction, expansion = row
    return LimitSet(
        kind=Kind(kind),
        nominal=millimetres(nominal),
        machining=millimetres(machining),
        discard=millimetres(discard),
        maximum_lateral_runout=millimetres(runout),
        maximum_thickness_variation=millimetres(variation),
        maximum_out_of_round=millimetres(out_of_round),
        maximum_taper=millimetres(taper),
        permission=Machining(permission),
        construction=None if construction is None else Construction(construction),
        expansion_per_k=exact_number(expansion),
    )


def revision_of(row: Sequence[Any], acceptance: Sequence[Any] | None = None) -> LimitRevision:
    """A row as a revision, verified where the row of its acceptance is given."""
    limits_id, number, make, _, model, _, year_from, year_to, axle, brake_option = row[:10]
    unit, printed, also, document, publisher, section, edition = row[22:29]
    issued, effective_from, effective_to, review_due, entered_by, entered_at, note, reason, warnings = row[29:38]
    return LimitRevision(
        limits_id=limits_id,
        revision=number,
        fits=FitsTo(make, model, year_from, year_to, Axle(axle), brake_option),
        limits=limits_of(row[11:22]),
        printed_unit=Unit(unit),
        printed=_printed(printed),
        source=Source(document, publisher, section, edition, day(issued)),
        effective_from=datetime.date.fromisoformat(effective_from),
        effective_to=day(effective_to),
        review_due=day(review_due),
        entered_by=entered_by,
        verified_by="" if acceptance is None else acceptance[5],
        note=note,
        also=_twin(also),
        reason=reason,
        warnings=tuple(AnsweredWarning(**warning) for warning in json.loads(warnings)) if warnings != "[]" else (),
        entered_at=moment(entered_at),
        verified_at=None if acceptance is None else moment(acceptance[6]),
    )


def _printed(text: str) -> dict[str, str]:
    """The values as printed; a copy of its own for each revision."""
    return dict(_parsed(text))


@lru_cache(maxsize=1024)
def _parsed(text: str) -> tuple[tuple[str, str], ...]:
    return tuple(json.loads(text).items())


def _twin(text: str | None) -> Twin | None:
    if text is None:
        return None
    document = json.loads(text)
    return Twin(Unit(document["unit"]), document["printed"])


def mismatch_of(row: Sequence[Any]) -> Mismatch:
    """A row as a second entry that did not match."""
    _, _, _, entered_by, entered_at, fields, entry = row
    return Mismatch(entered_by, moment(entered_at), tuple(json.loads(fields)), entry)


def mismatch_values(limits_id: str, revision: int, attempt: int, mismatch: Mismatch) -> Sequence[Value]:
    """A second entry that did not match as a row."""
    at, fields = moment_text(mismatch.entered_at), json_text(list(mismatch.fields))
    return (limits_id, revision, attempt, mismatch.entered_by, at, fields, mismatch.entry)


VEHICLE = """
INSERT OR IGNORE INTO vehicles (make_key, model_key, kind, make, model) SELECT ?1, ?2, ?3,
  ifnull((SELECT make FROM vehicles WHERE make_key = ?1 LIMIT 1), ?4),
  ifnull((SELECT model FROM vehicles WHERE make_key = ?1 AND model_key = ?2 LIMIT 1), ?5)"""
"""Keeps for what vehicle there is a record, a make and a model as they were written the first time."""


def vehicle_values(fits: FitsTo, kind: Kind) -> Sequence[Value]:
    """What `VEHICLE` keeps."""
    return (fold(fits.make), fold(fits.model), str(kind), fits.make, fits.model)


def rejection_of(row: Sequence[Any]) -> Rejection:
    """A row as a rejection."""
    _, _, rejected_by, rejected_at, reason = row
    return Rejection(rejected_by, moment(rejected_at), reason)


def rejection_values(limits_id: str, revision: int, rejection: Rejection) -> Sequence[Value]:
    """A rejection as a row."""
    return (limits_id, revision, rejection.rejected_by, moment_text(rejection.rejected_at), rejection.reason)


def withdrawal_of(row: Sequence[Any]) -> Withdrawal:
    """A row as a withdrawal."""
    sequence, limits_id, revision, withdrawn_by, withdrawn_at, reason = row
    return Withdrawal(limits_id, revision, withdrawn_by, moment(withdrawn_at), reason, sequence)


def withdrawal_values(sequence: int, withdrawal: Withdrawal) -> Sequence[Value]:
    """A withdrawal as a row."""
    at = moment_text(withdrawal.withdrawn_at)
    return (sequence, withdrawal.limits_id, withdrawal.revision, withdrawal.withdrawn_by, at, withdrawal.reason)


def rules_of(row: Sequence[Any]) -> StoreRules:
    """A row as the rules of the store."""
    _, _, _, pause, signed, keys = row
    return StoreRules(
        one_person_pause=None if pause is None else datetime.timedelta(seconds=pause),
        signed_packs_only=bool(signed),
        trusted_keys=tuple(json.loads(keys)),
    )


def rules_values(revision: int, rules: StoreRules, at: datetime.datetime, by: str) -> Sequence[Value]:
    """The rules of the store as a row."""
    pause = rules.one_person_pause
    seconds = None if pause is None else int(pause.total_seconds())
    keys = json_text(list(rules.trusted_keys))
    return (revision, moment_text(at), by, seconds, int(rules.signed_packs_only), keys)


def kept_values(idempotency: Idempotency, kept: KeptAnswer) -> Sequence[Value]:
    """A kept answer as a row."""
    key = (idempotency.key_name, idempotency.value, idempotency.body_digest)
    return (*key, kept.status, kept.content, kept.location)

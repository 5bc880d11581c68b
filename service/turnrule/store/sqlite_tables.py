"""Which table holds which record, column by column, in both directions."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from typing import Any

from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Ruling, Unit
from turnrule.store.folding import fold
from turnrule.store.port import (
    FitsTo,
    Key,
    LimitRevision,
    Miss,
    PolicyRevision,
    Release,
    Source,
    VerdictRecord,
)
from turnrule.store.sqlite_rows import (
    Table,
    Value,
    day,
    day_text,
    exact_number,
    exact_text,
    millimetres,
    moment,
    moment_text,
    tenth_nm,
)


def _columns(names: str) -> tuple[str, ...]:
    return tuple(names.split())


RELEASES = Table("releases", _columns("number published_at published_by notes digest records"))
LIMIT_REVISIONS = Table(
    "limit_revisions",
    _columns(
        """
        release limits_id revision make make_key model model_key year_from year_to axle brake_option kind
        nominal_tenth_nm machining_tenth_nm discard_tenth_nm lateral_runout_tenth_nm thickness_variation_tenth_nm
        out_of_round_tenth_nm taper_tenth_nm permission construction expansion_per_k printed_unit printed
        document publisher section edition issued effective_from effective_to review_due entered_by verified_by note
        """
    ),
)
POLICIES = Table("policies", _columns("name revision document written_at written_by"))
API_KEYS = Table("api_keys", _columns("name digest scopes site created_at revoked_at"))
VERDICTS = Table(
    "verdicts",
    _columns(
        """
        sequence id judged_at key_name site ruling kind make make_key model model_key year axle side vehicle
        odometer_km reference release policy_name policy_revision limits_id limits_revision engine digest
        request answer
        """
    ),
)
IDEMPOTENCY_KEYS = Table("idempotency_keys", _columns("key_name value body_digest sequence"))
MISSES = Table("misses", _columns("make make_key model model_key year axle kind brake_option count first_at last_at"))
SEALED = (RELEASES, LIMIT_REVISIONS, POLICIES, API_KEYS, VERDICTS, IDEMPOTENCY_KEYS, MISSES)
"""Every table whose rows are handed out."""


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _key(text: str | None) -> str | None:
    return None if text is None else fold(text)


def release_values(release: Release) -> Sequence[Value]:
    """A release as a row."""
    at = moment_text(release.published_at)
    return (release.number, at, release.published_by, release.notes, release.digest, release.records)


def release_of(row: Sequence[Any]) -> Release:
    """A row as a release."""
    number, published_at, published_by, notes, digest, records = row
    return Release(number, moment(published_at), published_by, notes, digest, records)


def limit_values(revision: LimitRevision) -> Sequence[Value]:
    """A limits revision as a row, but for its release, which comes first. Raises `StoreError` for what is not kept."""
    fits, limits, source = revision.fits, revision.limits, revision.source
    return (
        *(revision.limits_id, revision.revision),
        *(fits.make, fold(fits.make), fits.model, fold(fits.model)),
        *(fits.year_from, fits.year_to, str(fits.axle), fits.brake_option, str(limits.kind)),
        *(tenth_nm(size) for size in (limits.nominal, limits.machining, limits.discard)),
        *(tenth_nm(limits.maximum_lateral_runout), tenth_nm(limits.maximum_thickness_variation)),
        *(tenth_nm(limits.maximum_out_of_round), tenth_nm(limits.maximum_taper)),
        *(str(limits.permission), None if limits.construction is None else str(limits.construction)),
        *(exact_text(limits.expansion_per_k), str(revision.printed_unit), _json(revision.printed)),
        *(source.document, source.publisher, source.section, source.edition, day_text(source.issued)),
        *(day_text(revision.effective_from), day_text(revision.effective_to), day_text(revision.review_due)),
        *(revision.entered_by, revision.verified_by, revision.note),
    )


def limit_of(row: Sequence[Any]) -> LimitRevision:
    """A row as a limits revision."""
    _, limits_id, number, make, _, model, _, year_from, year_to, axle, brake_option, kind = row[:12]
    nominal, machining, discard, runout, variation, out_of_round, taper = map(millimetres, row[12:19])
    permission, construction, expansion, unit, printed, document, publisher, section, edition = row[19:28]
    issued, effective_from, effective_to, review_due, entered_by, verified_by, note = row[28:]
    return LimitRevision(
        limits_id=limits_id,
        revision=number,
        fits=FitsTo(make, model, year_from, year_to, Axle(axle), brake_option),
        limits=LimitSet(
            kind=Kind(kind),
            nominal=nominal,
            machining=machining,
            discard=discard,
            maximum_lateral_runout=runout,
            maximum_thickness_variation=variation,
            maximum_out_of_round=out_of_round,
            maximum_taper=taper,
            permission=Machining(permission),
            construction=None if construction is None else Construction(construction),
            expansion_per_k=exact_number(expansion),
        ),
        printed_unit=Unit(unit),
        printed=json.loads(printed),
        source=Source(document, publisher, section, edition, day(issued)),
        effective_from=datetime.date.fromisoformat(effective_from),
        effective_to=day(effective_to),
        review_due=day(review_due),
        entered_by=entered_by,
        verified_by=verified_by,
        note=note,
    )


def policy_values(policy: PolicyRevision) -> Sequence[Value]:
    """A policy's revision as a row."""
    return (policy.name, policy.revision, policy.document, moment_text(policy.written_at), policy.written_by)


def policy_of(row: Sequence[Any]) -> PolicyRevision:
    """A row as a policy's revision."""
    name, revision, document, written_at, written_by = row
    return PolicyRevision(name, revision, document, moment(written_at), written_by)


def key_values(key: Key) -> Sequence[Value]:
    """A key as a row."""
    revoked_at = None if key.revoked_at is None else moment_text(key.revoked_at)
    return (key.name, key.digest, _json(sorted(key.scopes)), key.site, moment_text(key.created_at), revoked_at)


def key_of(row: Sequence[Any]) -> Key:
    """A row as a key."""
    name, digest, scopes, site, created_at, revoked_at = row
    revoked = None if revoked_at is None else moment(revoked_at)
    return Key(name, digest, frozenset(json.loads(scopes)), site, moment(created_at), revoked)


def verdict_values(record: VerdictRecord) -> Sequence[Value]:
    """A verdict as a row, but for its sequence, which comes first. Raises `StoreError` for what is not kept."""
    return (
        *(record.id, moment_text(record.judged_at), record.key_name, record.site),
        *(str(record.ruling), str(record.kind), record.make, _key(record.make), record.model, _key(record.model)),
        *(record.year, None if record.axle is None else str(record.axle), record.side, record.vehicle),
        *(exact_text(record.odometer_km), record.reference, record.release),
        *(record.policy_name, record.policy_revision, record.limits_id, record.limits_revision),
        *(record.engine, record.digest, record.request, record.answer),
    )


def verdict_of(row: Sequence[Any]) -> VerdictRecord:
    """A row as a verdict."""
    sequence, id_, judged_at, key_name, site, ruling, kind, make, _, model, _, year, axle, side, vehicle = row[:15]
    odometer, reference, release, policy, policy_revision, limits_id, limits_revision = row[15:22]
    engine, digest, request, answer = row[22:]
    return VerdictRecord(
        id=id_,
        judged_at=moment(judged_at),
        key_name=key_name,
        site=site,
        ruling=Ruling(ruling),
        kind=Kind(kind),
        make=make,
        model=model,
        year=year,
        axle=None if axle is None else Axle(axle),
        side=side,
        vehicle=vehicle,
        odometer_km=exact_number(odometer),
        reference=reference,
        release=release,
        policy_name=policy,
        policy_revision=policy_revision,
        limits_id=limits_id,
        limits_revision=limits_revision,
        engine=engine,
        digest=digest,
        request=request,
        answer=answer,
        sequence=sequence,
    )


def miss_values(miss: Miss) -> Sequence[Value]:
    """A miss as a row."""
    made = (miss.make, fold(miss.make), miss.model, fold(miss.model), miss.year, str(miss.axle), str(miss.kind))
    return (*made, miss.brake_option, miss.count, moment_text(miss.first_at), moment_text(miss.last_at))


def miss_of(row: Sequence[Any]) -> Miss:
    """A row as a miss."""
    make, _, model, _, year, axle, kind, brake_option, count, first_at, last_at = row
    return Miss(make, model, year, Axle(axle), Kind(kind), brake_option, count, moment(first_at), moment(last_at))

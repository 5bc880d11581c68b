"""Which table holds which record, column by column, in both directions."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.folding import fold
from turnrule.store.port import AxleRecord, Key, LatheRevision, Miss, PolicyRevision, SiteRevision, VerdictRecord
from turnrule.store.sqlite_limit_tables import SEALED as LIMIT_TABLES
from turnrule.store.sqlite_rows import (
    Table,
    Value,
    columns,
    exact_number,
    exact_text,
    json_text,
    moment,
    moment_text,
)

POLICIES = Table("policies", columns("name revision document written_at written_by"))
LATHES = Table("lathes", columns("name revision document written_at written_by"))
SITES = Table("sites", columns("site revision policy written_at written_by"))
AXLE_VERDICTS = Table(
    "axle_verdicts",
    columns(
        """
        sequence id judged_at key_name site ruling kind vehicle reference left_id right_id digest request answer
        """
    ),
)
API_KEYS = Table("api_keys", columns("name digest scopes site created_at revoked_at"))
VERDICTS = Table(
    "verdicts",
    columns(
        """
        sequence id judged_at key_name site ruling kind make make_key model model_key year axle side vehicle
        odometer_km reference release policy_name policy_revision limits_id limits_revision engine digest
        request answer withdrawn lathe_name lathe_revision drawn axle_id
        """
    ),
)
IDEMPOTENCY_KEYS = Table("idempotency_keys", columns("key_name value body_digest sequence"))
MISSES = Table("misses", columns("make make_key model model_key year axle kind brake_option count first_at last_at"))
SEALED = (*LIMIT_TABLES, POLICIES, LATHES, SITES, AXLE_VERDICTS, API_KEYS, VERDICTS, IDEMPOTENCY_KEYS, MISSES)
"""Every table whose rows are handed out."""


def _key(text: str | None) -> str | None:
    return None if text is None else fold(text)


def policy_values(policy: PolicyRevision) -> Sequence[Value]:
    """A policy's revision as a row."""
    return (policy.name, policy.revision, policy.document, moment_text(policy.written_at), policy.written_by)


def policy_of(row: Sequence[Any]) -> PolicyRevision:
    """A row as a policy's revision."""
    name, revision, document, written_at, written_by = row
    return PolicyRevision(name, revision, document, moment(written_at), written_by)


def lathe_values(lathe: LatheRevision) -> Sequence[Value]:
    """A lathe's revision as a row."""
    return (lathe.name, lathe.revision, lathe.document, moment_text(lathe.written_at), lathe.written_by)


def lathe_of(row: Sequence[Any]) -> LatheRevision:
    """A row as a lathe's revision."""
    name, revision, document, written_at, written_by = row
    return LatheRevision(name, revision, document, moment(written_at), written_by)


def site_values(site: SiteRevision) -> Sequence[Value]:
    """A site's revision as a row."""
    return (site.site, site.revision, site.policy, moment_text(site.written_at), site.written_by)


def site_of(row: Sequence[Any]) -> SiteRevision:
    """A row as a site's revision."""
    name, revision, policy, written_at, written_by = row
    return SiteRevision(name, revision, policy, moment(written_at), written_by)


def axle_values(record: AxleRecord) -> Sequence[Value]:
    """An axle verdict as a row, but for its sequence, which comes first."""
    return (
        *(record.id, moment_text(record.judged_at), record.key_name, record.site, str(record.ruling)),
        *(str(record.kind), record.vehicle, record.reference, record.left_id, record.right_id),
        *(record.digest, record.request, record.answer),
    )


def axle_of(row: Sequence[Any]) -> AxleRecord:
    """A row as an axle verdict."""
    sequence, id_, judged_at, key_name, site, ruling, kind, *rest, request, answer = row
    vehicle, reference, left_id, right_id, digest = rest
    return AxleRecord(
        id=id_,
        judged_at=moment(judged_at),
        key_name=key_name,
        site=site,
        ruling=Ruling(ruling),
        kind=Kind(kind),
        vehicle=vehicle,
        reference=reference,
        left_id=left_id,
        right_id=right_id,
        digest=digest,
        request=request,
        answer=answer,
        sequence=sequence,
    )


def key_values(key: Key) -> Sequence[Value]:
    """A key as a row."""
    revoked_at = None if key.revoked_at is None else moment_text(key.revoked_at)
    return (key.name, key.digest, json_text(sorted(key.scopes)), key.site, moment_text(key.created_at), revoked_at)


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
        *(record.engine, record.digest, record.request, record.answer, record.withdrawn),
        *(record.lathe_name, record.lathe_revision, record.drawn, record.axle_id),
    )


def verdict_of(row: Sequence[Any]) -> VerdictRecord:
    """A row as a verdict."""
    sequence, id_, judged_at, key_name, site, ruling, kind, make, _, model, _, year, axle, side, vehicle = row[:15]
    odometer, reference, release, policy, policy_revision, limits_id, limits_revision = row[15:22]
    engine, digest, request, answer, withdrawn, lathe_name, lathe_revision, drawn, axle_id = row[22:]
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
        withdrawn=withdrawn,
        lathe_name=lathe_name,
        lathe_revision=lathe_revision,
        drawn=drawn,
        axle_id=axle_id,
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

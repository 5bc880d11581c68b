"""Which table holds which record, column by column, in both directions."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from turnrule.judging.words import Axle, Kind, Ruling
from turnrule.store.folding import fold
from turnrule.store.port import Key, Miss, PolicyRevision, VerdictRecord
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
API_KEYS = Table("api_keys", columns("name digest scopes site created_at revoked_at"))
VERDICTS = Table(
    "verdicts",
    columns(
        """
        sequence id judged_at key_name site ruling kind make make_key model model_key year axle side vehicle
        odometer_km reference release policy_name policy_revision limits_id limits_revision engine digest
        request answer withdrawn
        """
    ),
)
IDEMPOTENCY_KEYS = Table("idempotency_keys", columns("key_name value body_digest sequence"))
MISSES = Table("misses", columns("make make_key model model_key year axle kind brake_option count first_at last_at"))
SEALED = (*LIMIT_TABLES, POLICIES, API_KEYS, VERDICTS, IDEMPOTENCY_KEYS, MISSES)
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
    )


def verdict_of(row: Sequence[Any]) -> VerdictRecord:
    """A row as a verdict."""
    sequence, id_, judged_at, key_name, site, ruling, kind, make, _, model, _, year, axle, side, vehicle = row[:15]
    odometer, reference, release, policy, policy_revision, limits_id, limits_revision = row[15:22]
    engine, digest, request, answer, withdrawn = row[22:]
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

"""The port in plain lists and dictionaries, as short as it can be said: what a store is compared with."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from tests.store.contract.plain_limits import PlainLimits
from tests.store.contract.plain_questions import same
from turnrule.store.folding import fold
from turnrule.store.port import (
    Idempotency,
    IdempotencyConflictError,
    Key,
    Miss,
    NameTakenError,
    PolicyRevision,
    StoreError,
    VerdictQuery,
    VerdictRecord,
)


def _matches(record: VerdictRecord, query: VerdictQuery) -> bool:
    return (
        query.site in {None, record.site}
        and query.ruling in {None, record.ruling}
        and query.kind in {None, record.kind}
        and query.vehicle in {None, record.vehicle}
        and query.reference in {None, record.reference}
        and same(record.make, query.make)
        and same(record.model, query.model)
        and (query.since is None or record.judged_at >= query.since)
        and (query.until is None or record.judged_at < query.until)
        and query.limits_id in {None, record.limits_id}
        and query.limits_revision in {None, record.limits_revision}
        and query.axle in {None, record.axle}
        and query.side in {None, record.side}
        and query.axle_id in {None, record.axle_id}
    )


@dataclass
class PlainModel(PlainLimits):
    """Everything that a store holds."""

    key_rows: list[Key] = field(default_factory=list)
    policy_rows: list[PolicyRevision] = field(default_factory=list)
    verdict_rows: list[VerdictRecord] = field(default_factory=list)
    answered: dict[tuple[str, str], tuple[str, VerdictRecord]] = field(default_factory=dict)
    missed: dict[object, Miss] = field(default_factory=dict)

    def add_key(self, key: Key) -> None:
        """Keep a key."""
        if any(one.name == key.name or one.digest == key.digest for one in self.key_rows):
            raise NameTakenError
        self.key_rows.append(key)

    def revoke_key(self, name: str, at: datetime.datetime) -> bool:
        """Revoke a key."""
        for place, one in enumerate(self.key_rows):
            if one.name == name and one.revoked_at is None:
                self.key_rows[place] = replace(one, revoked_at=at)
                return True
        return False

    def keys(self) -> Sequence[Key]:
        """All keys."""
        return sorted(self.key_rows, key=lambda one: (one.created_at, one.name))

    def save_policy(self, policy: PolicyRevision) -> None:
        """Keep a policy's revision."""
        known = [one.revision for one in self.policy_rows if one.name == policy.name]
        if policy.revision <= max(known, default=0):
            raise (NameTakenError if policy.revision in known else StoreError)
        self.policy_rows.append(policy)

    def policies(self) -> Sequence[PolicyRevision]:
        """The newest of each policy."""
        newest = {one.name: one for one in self.policy_rows}
        return [newest[name] for name in sorted(newest)]

    def record_verdict(self, record: VerdictRecord, idempotency: Idempotency | None = None) -> VerdictRecord:
        """Keep a verdict."""
        if idempotency is not None and (found := self.idempotent(idempotency)) is not None:
            return found
        if any(one.id == record.id for one in self.verdict_rows):
            raise NameTakenError
        kept = replace(record, sequence=len(self.verdict_rows) + 1)
        self.verdict_rows.append(kept)
        if idempotency is not None:
            self.answered[idempotency.key_name, idempotency.value] = (idempotency.body_digest, kept)
        return kept

    def idempotent(self, idempotency: Idempotency) -> VerdictRecord | None:
        """What a key led to."""
        digest, found = self.answered.get((idempotency.key_name, idempotency.value), (None, None))
        if found is not None and digest != idempotency.body_digest:
            raise IdempotencyConflictError
        return found

    def verdicts(self, query: VerdictQuery, *, after: int = 0, limit: int = 100) -> Sequence[VerdictRecord]:
        """Verdicts in order."""
        return [one for one in self.verdict_rows if _matches(one, query) and one.sequence > after][:limit]

    def count_miss(self, miss: Miss) -> None:
        """Count a miss."""
        same = (fold(miss.make), fold(miss.model), miss.year, miss.axle, miss.kind, miss.brake_option or "")
        known = self.missed.get(same)
        first, last = (miss.first_at, miss.last_at) if known is None else (known.first_at, known.last_at)
        self.missed[same] = replace(
            known or miss,
            count=(known.count if known else 0) + 1,
            first_at=min(first, miss.first_at),
            last_at=max(last, miss.last_at),
        )

    def misses(self) -> Sequence[Miss]:
        """Misses, most wanted first."""
        return [miss for _, miss in sorted(self.missed.items(), key=lambda item: (-item[1].count, item[0]))]

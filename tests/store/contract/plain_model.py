"""The port in plain lists and dictionaries, as short as it can be said: what a store is compared with."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from turnrule.store.folding import fold
from turnrule.store.port import (
    Idempotency,
    IdempotencyConflictError,
    Key,
    LimitQuery,
    LimitRevision,
    Miss,
    NameTakenError,
    PolicyRevision,
    Release,
    StoreError,
    VerdictQuery,
    VerdictRecord,
)


def _same(text: str | None, asked: str | None) -> bool:
    return asked is None or (text is not None and fold(text) == fold(asked))


def _fits(row: LimitRevision, query: LimitQuery) -> bool:
    fits = row.fits
    return (
        _same(fits.make, query.make)
        and _same(fits.model, query.model)
        and query.axle in {None, fits.axle}
        and query.kind in {None, row.limits.kind}
        and query.brake_option in {None, fits.brake_option}
        and (query.year is None or fits.year_from <= query.year <= (fits.year_to or 9999))
        and (query.on is None or row.effective_from <= query.on < (row.effective_to or datetime.date.max))
    )


def _matches(record: VerdictRecord, query: VerdictQuery) -> bool:
    return (
        query.site in {None, record.site}
        and query.ruling in {None, record.ruling}
        and query.kind in {None, record.kind}
        and query.vehicle in {None, record.vehicle}
        and query.reference in {None, record.reference}
        and _same(record.make, query.make)
        and _same(record.model, query.model)
        and (query.since is None or record.judged_at >= query.since)
        and (query.until is None or record.judged_at < query.until)
    )


@dataclass
class PlainModel:
    """Everything that a store holds."""

    released: list[Release] = field(default_factory=list)
    revisions: list[tuple[int, LimitRevision]] = field(default_factory=list)
    key_rows: list[Key] = field(default_factory=list)
    policy_rows: list[PolicyRevision] = field(default_factory=list)
    verdict_rows: list[VerdictRecord] = field(default_factory=list)
    answered: dict[tuple[str, str], tuple[str, VerdictRecord]] = field(default_factory=dict)
    missed: dict[object, Miss] = field(default_factory=dict)

    def held(self, release: int | None) -> list[LimitRevision]:
        """The newest revision of each record in a release, by id."""
        if release is not None and not 1 <= release <= len(self.released):
            return []
        newest: dict[str, LimitRevision] = {}
        for number, row in self.revisions:
            if release is None or number <= release:
                newest[row.limits_id] = max(newest.get(row.limits_id, row), row, key=lambda one: one.revision)
        return [newest[limits_id] for limits_id in sorted(newest)]

    def publish(
        self,
        revisions: Iterable[LimitRevision],
        *,
        published_at: datetime.datetime,
        published_by: str,
        notes: str,
        digest: str,
    ) -> Release:
        """Publish, or raise and change nothing."""
        before = list(self.revisions)
        number = len(self.released) + 1
        for row in sorted(revisions, key=lambda one: (one.limits_id, one.revision)):
            known = [one.revision for _, one in self.revisions if one.limits_id == row.limits_id]
            if row.revision <= max(known, default=0):
                self.revisions = before
                raise (NameTakenError if row.revision in known else StoreError)
            self.revisions.append((number, row))
        records = len({row.limits_id for _, row in self.revisions})
        self.released.append(Release(number, published_at, published_by, notes, digest, records))
        return self.released[-1]

    def limits(self, query: LimitQuery, *, after: str = "", limit: int = 100) -> Sequence[LimitRevision]:
        """What governs."""
        return [row for row in self.held(query.release) if _fits(row, query) and row.limits_id > after][:limit]

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

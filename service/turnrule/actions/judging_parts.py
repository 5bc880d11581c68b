"""Judge one part and keep the verdict: nothing is answered that is not stored.

The limits are looked up, the engine judges, the record is committed, and only then is there an answer to send.
"""

from __future__ import annotations

import datetime
import hashlib
from collections import defaultdict
from dataclasses import dataclass, replace

from turnrule.actions.answers import Answer, Basis, answer_of
from turnrule.actions.desk import Desk
from turnrule.actions.finding_limits import NOT_FOUND, FoundLimits, look_up, not_found
from turnrule.actions.plausible import size_faults
from turnrule.actions.policies import policy_for
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import ReadRequest
from turnrule.judging import ENGINE
from turnrule.judging.faults import Fault, PartError, faults_of
from turnrule.judging.judge import judge
from turnrule.judging.limits import Record
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Caution, Verdict
from turnrule.judging.words import Level
from turnrule.store.port import Idempotency, Key, Source, VerdictRecord

_LOUDEST_FIRST = (Level.DANGER, Level.WARNING, Level.NOTICE)


@dataclass(frozen=True, slots=True)
class Sent:
    """A request as it came: the key that it came under, its exact bytes, its idempotency key if it had one."""

    key: Key
    body: bytes
    idempotency_key: str | None = None

    @property
    def idempotency(self) -> Idempotency | None:
        """The idempotency key within the API key, with the digest of the body."""
        if self.idempotency_key is None:
            return None
        return Idempotency(self.key.name, self.idempotency_key, hashlib.sha256(self.body).hexdigest())


@dataclass(frozen=True, slots=True)
class Judged:
    """The stored verdict; `replayed` where an idempotency key led to one that was stored before."""

    record: VerdictRecord
    replayed: bool


@dataclass(frozen=True, slots=True)
class Reached:
    """A verdict that is not stored yet, with what it was reached from.

    `missed` where the part names an application that the store does not hold. `withdrawn` is the number of the last
    withdrawal that counted.
    """

    verdict: Verdict
    basis: Basis
    source: Source | None
    limits_id: str | None
    limits_revision: int | None
    missed: bool
    withdrawn: int


def earlier(desk: Desk, sent: Sent) -> Judged | None:
    """What this idempotency key led to before. Raises `IdempotencyConflictError` where the body was another."""
    idempotency = sent.idempotency
    record = desk.store.idempotent(idempotency) if idempotency is not None else None
    return Judged(record, replayed=True) if record is not None else None


def judge_part(desk: Desk, request: ReadRequest, sent: Sent) -> Judged:
    """Judge a part and store the verdict with everything that it was judged from.

    Raises `PartError` and `RefusedError` for what cannot be judged, `StoreError` where it cannot be stored.
    """
    judged_at = desk.clock()
    try:
        reached = reach(desk, request, judged_at)
    except RefusedError as refusal:
        if refusal.code == NOT_FOUND:
            _count_miss(desk, request.part, judged_at)
        raise
    if reached.missed:
        _count_miss(desk, request.part, judged_at)
    verdict_id = desk.make_id(judged_at)
    answer = answer_of(reached.verdict, request.part, reached.source, reached.basis, id=verdict_id, judged_at=judged_at)
    record = desk.store.record_verdict(_record(request, sent, reached, answer, verdict_id, judged_at), sent.idempotency)
    return Judged(record, replayed=record.id != verdict_id)


def reach(
    desk: Desk,
    request: ReadRequest,
    at: datetime.datetime,
    *,
    policy: Policy | None = None,
    withdrawn: int | None = None,
) -> Reached:
    """The verdict on a part as of the moment `at`; nothing is written. Raises as `judge_part` does.

    `policy` is the one that the request names, unless given; `withdrawn` is the number of the last withdrawal that
    counts, unless given every one up to now.
    """
    policy = policy or policy_for(desk, request.policy)
    release = _release(desk, request.release)
    counted = desk.store.last_withdrawal() if withdrawn is None else withdrawn
    found = _limits(desk, request, release, at, counted)
    withdrawal = found.withdrawal if found is not None else None
    row = found.revision if found is not None and withdrawal is None else None
    record = None
    if row is not None:
        record = Record(row.limits_id, row.revision, row.limits, row.source.citation, row.review_due, row.by_one_person)
    slips = tuple(size_faults(request.part, row.limits if row is not None else None, request.caller))
    if slips:
        raise PartError(slips)
    verdict = judge(
        request.part,
        record=record,
        caller=request.caller,
        policy=policy,
        catalogue=desk.pack.catalogue,
        on=at.date(),
        withdrawn=None if withdrawal is None else f"{withdrawal.limits_id}: {withdrawal.reason}",
    )
    if found is not None and found.assumed_option is not None:
        verdict = _with_caution(desk, verdict, "brake_option_assumed", found.assumed_option)
    return Reached(
        verdict,
        Basis(release, policy.name, policy.revision, desk.pack.version, desk.pack.digest, ENGINE),
        row.source if row is not None else None,
        row.limits_id if row is not None else None,
        row.revision if row is not None else None,
        missed=found is None and request.part.application is not None,
        withdrawn=counted,
    )


def further_faults(desk: Desk, partial: ReadRequest) -> tuple[Fault, ...]:
    """What the catalogue and the policy have to say to what could be read of a faulty request."""
    policy = policy_for(desk, partial.policy)
    return faults_of(partial.part, caller=partial.caller, policy=policy, catalogue=desk.pack.catalogue)


def _release(desk: Desk, number: int | None) -> int | None:
    """The release to judge under: the one named, or the newest; None while there is none."""
    release = desk.store.release(number)
    if release is not None:
        return release.number
    if number is None:
        return None
    raise refused("release_not_found", "/release", f"there is no release {number}; leave it out for the newest")


def _limits(
    desk: Desk, request: ReadRequest, release: int | None, at: datetime.datetime, withdrawn: int
) -> FoundLimits | None:
    """The record for the part, where it names an application; the caller's limits serve where there is none."""
    application, kind = request.part.application, request.part.kind
    if application is None:
        return None
    found = look_up(desk, application, kind, release=release, on=at.date(), withdrawn=withdrawn)
    if found is not None or request.caller is not None:
        return found
    raise not_found(desk, application, kind, release=release, on=at.date())


def _count_miss(desk: Desk, part: Part, at: datetime.datetime) -> None:
    """Count what was asked for and not found."""
    asked = part.application
    if asked is not None:
        desk.store.count_miss(asked.make, asked.model, asked.year, asked.axle, part.kind, asked.brake_option, at)


def _with_caution(desk: Desk, verdict: Verdict, code: str, text: str) -> Verdict:
    """The verdict with one more caution of the catalogue, in its place by loudness."""
    entry = desk.pack.catalogue.cautions[code]
    words: defaultdict[str, str] = defaultdict(lambda: text)
    caution = Caution(code, entry.level, entry.text.format_map(words))
    cautions = sorted((*verdict.cautions, caution), key=lambda one: _LOUDEST_FIRST.index(one.level))
    return replace(verdict, cautions=tuple(cautions))


def _record(
    request: ReadRequest, sent: Sent, reached: Reached, answer: Answer, verdict_id: str, judged_at: datetime.datetime
) -> VerdictRecord:
    part = request.part
    application = part.application
    return VerdictRecord(
        id=verdict_id,
        judged_at=judged_at,
        key_name=sent.key.name,
        site=sent.key.site,
        ruling=reached.verdict.ruling,
        kind=part.kind,
        make=application.make if application is not None else None,
        model=application.model if application is not None else None,
        year=application.year if application is not None else None,
        axle=application.axle if application is not None else None,
        side=part.side.value if part.side is not None else None,
        vehicle=request.vehicle,
        odometer_km=part.odometer_km,
        reference=request.reference,
        release=reached.basis.release,
        policy_name=reached.basis.policy_name,
        policy_revision=reached.basis.policy_revision,
        limits_id=reached.limits_id,
        limits_revision=reached.limits_revision,
        engine=reached.basis.engine,
        digest=answer.digest,
        request=sent.body,
        answer=answer.content,
        withdrawn=reached.withdrawn,
    )

"""Judge one part and keep the verdict: nothing is answered that is not stored.

The limits are looked up, the engine judges, the record is committed, and only then is there an answer to send.
"""

from __future__ import annotations

import datetime
import hashlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from turnrule.actions.answers import Answer, Basis, answer_of
from turnrule.actions.desk import Desk
from turnrule.actions.drawing_history import as_kept, with_drawn, with_history
from turnrule.actions.finding_limits import NOT_FOUND, FoundLimits, look_up, not_found
from turnrule.actions.finished_parts import before_machining
from turnrule.actions.planning import AtTheLathe, at_the_lathe, dimension_faults, named_lathe
from turnrule.actions.plausible import size_faults
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import ReadRequest
from turnrule.actions.sites import policy_for
from turnrule.judging import ENGINE
from turnrule.judging.faults import Fault, PartError, faults_of
from turnrule.judging.judge import judge
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.limits import Record
from turnrule.judging.parts import EarlierReading, Part
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Caution, Verdict
from turnrule.judging.words import Level
from turnrule.store.limit_records import LimitRevision
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
    nominal: Decimal | None = None
    """The size of the new part (mm) by the record that was found."""
    work: AtTheLathe = field(default_factory=AtTheLathe)
    drawn: tuple[EarlierReading, ...] | None = None
    """The earlier readings that were drawn from stored verdicts; None where that was not asked for."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What a part is judged by: the policy, the release, and what was found for it in the store, if anything.

    `withdrawn` is the number of the last withdrawal that counted.
    """

    policy: Policy
    release: int | None
    found: FoundLimits | None
    withdrawn: int
    lathe: LatheProfile | None = None

    @property
    def row(self) -> LimitRevision | None:
        """The record for the part; None where there is none that may be used."""
        return self.found.revision if self.found is not None and self.found.withdrawal is None else None

    @property
    def record(self) -> Record | None:
        """The same, as the engine needs it."""
        row = self.row
        if row is None:
            return None
        return Record(row.limits_id, row.revision, row.limits, row.source.citation, row.review_due, row.by_one_person)

    @property
    def withdrawal(self) -> str | None:
        """Why the record that was found must not be used."""
        withdrawal = self.found.withdrawal if self.found is not None else None
        return None if withdrawal is None else f"{withdrawal.limits_id}: {withdrawal.reason}"


def earlier(desk: Desk, sent: Sent) -> Judged | None:
    """What this idempotency key led to before. Raises `IdempotencyConflictError` where the body was another."""
    idempotency = sent.idempotency
    record = desk.store.idempotent(idempotency) if idempotency is not None else None
    return Judged(record, replayed=True) if record is not None else None


def judge_part(desk: Desk, request: ReadRequest, sent: Sent) -> Judged:
    """Judge a part and store the verdict with everything that it was judged from.

    Raises `PartError` and `RefusedError` for what cannot be judged, `StoreError` where it cannot be stored.
    """
    made = judged_part(desk, request, sent)
    record = desk.store.record_verdict(made, sent.idempotency)
    return Judged(record, replayed=record.id != made.id)


def judged_part(desk: Desk, request: ReadRequest, sent: Sent) -> VerdictRecord:
    """Judge a part, and count it where it was not found; the verdict is not stored yet. Raises as `judge_part` does."""
    judged_at = desk.clock()
    try:
        reached = reach(desk.of(sent.key.site), request, judged_at)
    except RefusedError as refusal:
        if refusal.code == NOT_FOUND:
            count_miss(desk, request.part, judged_at)
        raise
    if reached.missed:
        count_miss(desk, request.part, judged_at)
    verdict_id = desk.make_id(judged_at)
    answer = answer_to(request, reached, verdict_id, judged_at)
    return verdict_record(request, sent, reached, answer, verdict_id, judged_at)


def answer_to(request: ReadRequest, reached: Reached, verdict_id: str, judged_at: datetime.datetime) -> Answer:
    """The answer that tells a verdict."""
    return answer_of(
        reached.verdict,
        request.part,
        reached.source,
        reached.basis,
        id=verdict_id,
        judged_at=judged_at,
        work=reached.work,
    )


def reach(
    desk: Desk,
    request: ReadRequest,
    at: datetime.datetime,
    *,
    policy: Policy | None = None,
    withdrawn: int | None = None,
    drawn: bytes | None = None,
    lathe: LatheProfile | None = None,
) -> Reached:
    """The verdict on a part as of the moment `at`; nothing is written. Raises as `judge_part` does.

    `policy` is the one that the request names, unless given; `withdrawn` is the number of the last withdrawal that
    counts, unless given every one up to now. `drawn` are the stored readings that were kept with a verdict on the
    request; where it asks for them and none are given, they are drawn now, as whoever is at the desk may see them.
    `lathe` is the revision that passes are planned with, unless given that which the request names, or its newest.
    """
    ground = ground_for(desk, request, at, policy=policy, withdrawn=withdrawn, lathe=lathe)
    return reach_from(desk, request, at, ground, drawn=drawn)


def reach_from(
    desk: Desk, request: ReadRequest, at: datetime.datetime, ground: Ground, *, drawn: bytes | None = None
) -> Reached:
    """The verdict on a part from what it is judged by; `drawn` as for `reach`.

    Raises `PartError` for what cannot be judged.
    """
    policy, row = ground.policy, ground.row
    request = with_history(desk, with_drawn(request, drawn))
    if ground.lathe is not None:
        request = replace(request, part=replace(request.part, lathe=ground.lathe.kind))
    before, unfit = before_machining(desk, request)
    if slips := (*unfit, *slips_in(request, ground), *dimension_faults(request)):
        raise PartError(slips)
    verdict = judge(
        replace(request.part, before=before),
        record=ground.record,
        caller=request.caller,
        policy=policy,
        catalogue=desk.pack.catalogue,
        on=at.date(),
        withdrawn=ground.withdrawal,
    )
    if ground.found is not None and ground.found.assumed_option is not None:
        verdict = replace(verdict, cautions=with_assumed_option(desk, verdict.cautions, ground.found.assumed_option))
    return Reached(
        verdict,
        Basis(ground.release, policy.name, policy.revision, desk.pack.version, desk.pack.digest, ENGINE),
        row.source if row is not None else None,
        row.limits_id if row is not None else None,
        row.revision if row is not None else None,
        missed=ground.found is None and request.part.application is not None,
        withdrawn=ground.withdrawn,
        nominal=row.limits.nominal if row is not None else None,
        drawn=request.part.drawn,
        work=at_the_lathe(desk.pack.catalogue, request, verdict, ground.record, ground.lathe),
    )


def ground_for(
    desk: Desk,
    request: ReadRequest,
    at: datetime.datetime,
    *,
    policy: Policy | None = None,
    withdrawn: int | None = None,
    lathe: LatheProfile | None = None,
) -> Ground:
    """What a part is judged by as of the moment `at`; nothing is written. Raises as `reach` does."""
    policy = policy or policy_for(desk, request.policy)
    release = release_number(desk, request.release)
    counted = desk.store.last_withdrawal() if withdrawn is None else withdrawn
    lathe = lathe or named_lathe(desk, request)
    return Ground(policy, release, _limits(desk, request, release, at, counted), counted, lathe)


def slips_in(request: ReadRequest, ground: Ground) -> tuple[Fault, ...]:
    """The sizes that no part of the record, or of the caller's limits, can have."""
    row = ground.row
    return tuple(size_faults(request.part, row.limits if row is not None else None, request.caller))


def further_faults(desk: Desk, partial: ReadRequest) -> tuple[Fault, ...]:
    """What the catalogue and the policy have to say to what could be read of a faulty request."""
    policy = policy_for(desk, partial.policy)
    return faults_of(partial.part, caller=partial.caller, policy=policy, catalogue=desk.pack.catalogue)


def release_number(desk: Desk, number: int | None) -> int | None:
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


def count_miss(desk: Desk, part: Part, at: datetime.datetime) -> None:
    """Count what was asked for and not found."""
    asked = part.application
    if asked is not None:
        desk.store.count_miss(asked.make, asked.model, asked.year, asked.axle, part.kind, asked.brake_option, at)


def with_assumed_option(desk: Desk, cautions: Sequence[Caution], option: str) -> tuple[Caution, ...]:
    """Cautions with that of an assumed brake option among them, in its place by loudness."""
    code = "brake_option_assumed"
    entry = desk.pack.catalogue.cautions[code]
    words: defaultdict[str, str] = defaultdict(lambda: option)
    caution = Caution(code, entry.level, entry.text.format_map(words))
    return tuple(sorted((*cautions, caution), key=lambda one: _LOUDEST_FIRST.index(one.level)))


def verdict_record(
    request: ReadRequest, sent: Sent, reached: Reached, answer: Answer, verdict_id: str, judged_at: datetime.datetime
) -> VerdictRecord:
    """A verdict with everything that it was judged from, as it is kept."""
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
        lathe_name=reached.work.profile.name if reached.work.profile is not None else None,
        lathe_revision=reached.work.profile.revision if reached.work.profile is not None else None,
        drawn=as_kept(reached.drawn),
    )

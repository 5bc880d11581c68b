"""What a release changes in the verdicts that are stored: the call-back list after a correction.

Each verdict that the release can have touched is judged again: as of its own day, under the policy revision that it
was judged under, from the limits of the release and with the withdrawals that the release counts. Nothing is written,
and memory does not grow with the number of verdicts.

A judgement depends on its arguments alone: where the same revision of the same record would be found, under the same
engine and pack, the verdict is the same, and is not judged again.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache

from turnrule.actions.answers import document_of
from turnrule.actions.desk import Desk
from turnrule.actions.finding_limits import FoundLimits, look_up
from turnrule.actions.impact_advice import Advice, advice, advice_where_lost
from turnrule.actions.impact_lines import (
    Answer,
    ChangedCheck,
    Concerned,
    Obstacle,
    Standing,
    by_limits,
    changed_checks,
    concerned,
    differing,
    standing,
)
from turnrule.actions.judging_parts import Reached, reach
from turnrule.actions.numbers import canonical, digest_of, read_exact, write_exact
from turnrule.actions.planning import recorded_lathe
from turnrule.actions.policies import recorded_policy
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import ReadRequest
from turnrule.judging import ENGINE
from turnrule.judging.faults import PartError
from turnrule.judging.parts import Application
from turnrule.judging.policy import Policy
from turnrule.judging.words import Kind
from turnrule.store.port import Release, VerdictRecord

PAGE = 100
"""So many verdicts are taken from the store at a time."""

LOOK_UPS = 4096
"""So many look-ups are remembered: the parts of one vehicle come again and again."""

TELL_EVERY = 10 * PAGE
"""After so many verdicts, those of other sites included, a walk tells how far it is: whoever waits sees it go on."""


class Differ(StrEnum):
    """What counts as coming out differently."""

    VERDICT = "verdict"
    """The verdict, or whether the cut that was asked for is allowed."""

    ANYTHING = "anything"
    """Any field of the answer: a figure, a limit, its source, a caution."""


@dataclass(frozen=True, slots=True)
class ImpactLine:
    """A stored verdict that comes out differently; `after` is None where `obstacle` keeps it from being judged."""

    verdict: Concerned
    before: Standing
    after: Standing | None
    checks: tuple[ChangedCheck, ...]
    differs: tuple[str, ...]
    obstacle: Obstacle | None
    advice: Advice


@dataclass(frozen=True, slots=True)
class ImpactSoFar:
    """How far a walk is: everything up to the sequence `after` was compared."""

    after: int
    compared: int


@dataclass(frozen=True, slots=True)
class ImpactDone:
    """The end of a walk: how many verdicts were compared since it began, how many of them come out differently.

    `lost` of those cannot be judged any more. Whatever is recorded later has a sequence above `after`.
    """

    after: int
    compared: int
    changed: int
    lost: int


@dataclass(slots=True)
class _Tally:
    after: int
    compared: int = 0
    changed: int = 0
    lost: int = 0


@dataclass(frozen=True, slots=True)
class _Walk:
    """What every comparison of one walk shares."""

    desk: Desk
    read: Callable[[bytes], ReadRequest]
    release: Release
    differ: Differ
    found: Callable[[Application, Kind, datetime.date], FoundLimits | None]
    pack: bytes
    """How an answer that was given under this pack names it."""
    policies: dict[tuple[str, int], Policy] = field(default_factory=dict)


def _walk(desk: Desk, read: Callable[[bytes], ReadRequest], release: Release, differ: Differ) -> _Walk:
    @lru_cache(maxsize=LOOK_UPS)
    def found(application: Application, kind: Kind, on: datetime.date) -> FoundLimits | None:
        return look_up(desk, application, kind, release=release.number, on=on, withdrawn=release.withdrawn)

    pack = write_exact({"pack": {"version": desk.pack.version, "digest": desk.pack.digest}})[1:-1]
    return _Walk(desk, read, release, differ, found, pack)


def impact(
    desk: Desk,
    read: Callable[[bytes], ReadRequest],
    release: int,
    since: int,
    *,
    after: int = 0,
    differ: Differ = Differ.VERDICT,
    site: str | None = None,
) -> Iterator[ImpactLine | ImpactSoFar | ImpactDone]:
    """The stored verdicts that come out differently under a release, of those that its changes since another touch.

    In the order of their sequence, after one of them; the last thing told is `ImpactDone`. A verdict that cannot be
    judged any more is told as well. Left out are verdicts judged under this release or a later one, and those of
    other sites where `site` is given. `read` takes the bytes of a request and raises `PartError` where they cannot be
    read any more. Raises `RefusedError` where there is no such release, `StoreError`.
    """
    found = desk.store.release(release)
    if found is None:
        raise refused("release_not_found", "/release", f"there is no release {release}")
    walk, tally = _walk(desk, read, found, differ), _Tally(after)
    passed = 0
    while page := desk.store.touched_verdicts(since, release, after=tally.after, limit=PAGE):
        for record in page:
            tally.after = record.sequence
            if site is not None and record.site != site:
                continue
            tally.compared += 1
            line = _compared(walk, record)
            if line is not None:
                tally.changed += 1
                tally.lost += line.obstacle is not None
                yield line
        passed += len(page)
        if passed % TELL_EVERY == 0:
            yield ImpactSoFar(tally.after, tally.compared)
    yield ImpactDone(tally.after, tally.compared, tally.changed, tally.lost)


def comparing(
    desk: Desk, read: Callable[[bytes], ReadRequest], release: Release
) -> Callable[[VerdictRecord], ImpactLine | None]:
    """Compares one stored verdict after another with what the release makes of it, as `impact` does.

    None where it comes out as it did, or was judged under this release or a later one.
    """
    walk = _walk(desk, read, release, Differ.VERDICT)

    def compared(record: VerdictRecord) -> ImpactLine | None:
        return None if (record.release or 0) >= release.number else _compared(walk, record)

    return compared


def _compared(walk: _Walk, record: VerdictRecord) -> ImpactLine | None:
    """The line of a verdict; None where it comes out as it did."""
    request = None
    try:
        request = replace(walk.read(record.request), release=walk.release.number)
        policy = _policy(walk, record)
        if _same_limits(walk, record, request):
            return None
        counted, drawn = walk.release.withdrawn, record.drawn
        lathe = recorded_lathe(walk.desk, record)
        at = record.judged_at
        reached = reach(walk.desk, request, at, policy=policy, withdrawn=counted, drawn=drawn, lathe=lathe)
    except RefusedError as error:
        return _lost(record, request, Obstacle(error.code, str(error)))
    except PartError as error:
        return _lost(record, request, Obstacle(error.code, str(error)))
    if not _may_differ(walk, record, request, reached):
        return None
    before, after = answer_stored(record), answer_now(request, reached)
    differs = differing(before, after)
    if walk.differ is Differ.ANYTHING and not by_limits(differs):
        return None
    then, now = standing(before), standing(after)
    about = concerned(record, request.part.application, before)
    checks = tuple(changed_checks(before, after))
    return ImpactLine(about, then, now, checks, differs, None, advice(then, now))


def _policy(walk: _Walk, record: VerdictRecord) -> Policy:
    """The policy revision that a verdict was judged under. Raises `RefusedError` where it cannot be had any more."""
    key = record.policy_name, record.policy_revision
    policy = walk.policies.get(key)
    if policy is None:
        policy = walk.policies[key] = recorded_policy(walk.desk, *key)
    return policy


def _same_limits(walk: _Walk, record: VerdictRecord, request: ReadRequest) -> bool:
    """True where the release gives the revision that the verdict rests on, and all else that it depends on is the same.

    Raises `RefusedError` where the release gives no record, or more than one.
    """
    application = request.part.application
    if application is None or record.limits_id is None or record.engine != ENGINE or walk.pack not in record.answer:
        return False
    found = walk.found(application, request.part.kind, record.judged_at.date())
    if found is None or found.withdrawal is not None:
        return False
    return (found.revision.limits_id, found.revision.revision) == (record.limits_id, record.limits_revision)


def _may_differ(walk: _Walk, record: VerdictRecord, request: ReadRequest, reached: Reached) -> bool:
    """False where it is plain, before an answer is written or read, that nothing that counts differs."""
    if walk.differ is Differ.ANYTHING:
        # The digest covers the release as well: under the number of the first judgement, only the rest can differ.
        basis = replace(reached.basis, release=record.release)
        document = document_of(reached.verdict, request.part, reached.source, basis, reached.work)
        return digest_of(canonical(document)) != record.digest
    if reached.verdict.ruling is not record.ruling:
        return True
    cut = reached.verdict.cut
    return cut is not None and cut.asked and cut.allowed != standing(answer_stored(record)).cut_allowed


def answer_stored(record: VerdictRecord) -> Answer:
    """The answer that was sent."""
    answer: Answer = read_exact(record.answer)
    return answer


def answer_now(request: ReadRequest, reached: Reached) -> Answer:
    """The answer that would be sent now."""
    document = document_of(reached.verdict, request.part, reached.source, reached.basis, reached.work)
    answer: Answer = read_exact(write_exact(document))
    return answer


def _lost(record: VerdictRecord, request: ReadRequest | None, obstacle: Obstacle) -> ImpactLine:
    before = answer_stored(record)
    then = standing(before)
    about = concerned(record, request.part.application if request is not None else None, before)
    return ImpactLine(about, then, None, (), (), obstacle, advice_where_lost(then, obstacle))

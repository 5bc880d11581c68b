"""A stored verdict judged again: under what it was judged under, to the byte; or under what else is asked for.

Nothing is written. What a verdict depends on is named by its record: the request, the release and the withdrawals that
counted, the policy's revision, the engine and the pack. Where engine or pack have changed since, that is said, and what
comes out now is told all the same.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from turnrule.actions.desk import Desk
from turnrule.actions.impact import answer_stored
from turnrule.actions.impact_lines import Answer, ChangedCheck, Obstacle, Standing, changed_checks, differing, standing
from turnrule.actions.judging_again import ground_again
from turnrule.actions.judging_parts import Ground, answer_to, ground_for, reach_from
from turnrule.actions.numbers import read_exact
from turnrule.actions.planning import recorded_lathe
from turnrule.actions.policies import read_policy, recorded_policy
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import ReadRequest
from turnrule.judging import ENGINE
from turnrule.judging.faults import PartError
from turnrule.judging.policy import Policy
from turnrule.store.port import VerdictRecord


class Withdrawals(StrEnum):
    """Which withdrawals count when a verdict is judged again."""

    AS_RECORDED = "as_recorded"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Under:
    """What a verdict is judged again under; None is as it was recorded."""

    release: int | None = None
    policy: str | None = None
    policy_revision: int | None = None
    withdrawals: Withdrawals = Withdrawals.AS_RECORDED

    @property
    def is_as_recorded(self) -> bool:
        """True where nothing else is asked for."""
        return self == Under()


@dataclass(frozen=True, slots=True)
class Versions:
    """What a verdict rests on beside its request."""

    release: int | None
    policy: str
    policy_revision: int
    pack_version: str
    pack_digest: str
    engine: str
    withdrawals: int


@dataclass(frozen=True, slots=True)
class Replay:
    """A verdict judged again. `answer` is None where `obstacle` keeps it from being judged.

    `identical` where the bytes are those that were sent. `checks` and `differs` are what came out otherwise; `deciding`
    names the checks that decided before and decide now, where these are not the same or come out differently.
    """

    record: VerdictRecord
    recorded: Versions
    now: Versions
    before: Standing
    after: Standing | None
    answer: bytes | None
    checks: tuple[ChangedCheck, ...] = ()
    differs: tuple[str, ...] = ()
    deciding: tuple[str, ...] = ()
    obstacle: Obstacle | None = None

    @property
    def identical(self) -> bool:
        """True where the same bytes came out."""
        return self.answer == self.record.answer

    @property
    def same_versions(self) -> bool:
        """True where it was judged under all that it was judged under before."""
        return self.recorded == self.now


def replay(
    desk: Desk, record: VerdictRecord, read: Callable[[bytes], ReadRequest], under: Under | None = None
) -> Replay:
    """Judge a stored verdict again as of its own day. `read` raises `PartError` where its request cannot be read.

    Raises `RefusedError` where what is asked for in `under` is not there, `StoreError`.
    """
    asked = under or Under()
    before = answer_stored(record)
    recorded = _recorded(record, before)
    policy = _policy(desk, record, asked)
    now = replace(
        recorded,
        release=recorded.release if asked.release is None else asked.release,
        policy=policy.name,
        policy_revision=policy.revision,
        pack_version=desk.pack.version,
        pack_digest=desk.pack.digest,
        engine=ENGINE,
        withdrawals=record.withdrawn if asked.withdrawals is Withdrawals.AS_RECORDED else desk.store.last_withdrawal(),
    )
    if asked.release is not None and desk.store.release(asked.release) is None:
        raise refused("release_not_found", "/release", f"there is no release {asked.release}")
    then = standing(before)
    try:
        request = read(record.request)
        ground = _ground(desk, record, request, policy, now)
        reached = reach_from(desk, request, record.judged_at, ground, drawn=record.drawn)
    except (PartError, RefusedError) as error:
        return Replay(record, recorded, now, then, None, None, obstacle=Obstacle(error.code, str(error)))
    answer = answer_to(request, reached, record.id, record.judged_at).content
    if answer == record.answer:
        return Replay(record, recorded, now, then, then, answer)
    after: Answer = read_exact(answer)
    checks = tuple(changed_checks(before, after))
    return Replay(
        record,
        recorded,
        now,
        then,
        standing(after),
        answer,
        checks=checks,
        differs=differing(before, after),
        deciding=_deciding(before, after),
    )


def _ground(desk: Desk, record: VerdictRecord, request: ReadRequest, policy: Policy, now: Versions) -> Ground:
    """What the part is judged by: as it was recorded, but for what was asked for."""
    if (now.release, now.withdrawals) == (record.release, record.withdrawn):
        return ground_again(desk, record, request, policy)
    pinned = replace(request, release=now.release)
    lathe = recorded_lathe(desk, record)
    return ground_for(desk, pinned, record.judged_at, policy=policy, withdrawn=now.withdrawals, lathe=lathe)


def _policy(desk: Desk, record: VerdictRecord, asked: Under) -> Policy:
    """The revision that is asked for, or the recorded one. Raises `RefusedError` where there is none."""
    if asked.policy is None and asked.policy_revision is None:
        return recorded_policy(desk, record.policy_name, record.policy_revision)
    name = asked.policy or record.policy_name
    view = read_policy(desk, name, asked.policy_revision)
    if view is None:
        which = f"there is no policy {name!r}" if asked.policy_revision is None else f"{name!r} has no such revision"
        raise refused("policy_not_found", "/policy", which)
    return view.effective


def _recorded(record: VerdictRecord, answer: Answer) -> Versions:
    pack = answer["pack"]
    return Versions(
        record.release,
        record.policy_name,
        record.policy_revision,
        pack["version"],
        pack["digest"],
        record.engine,
        record.withdrawn,
    )


def _deciding(before: Answer, after: Answer) -> tuple[str, ...]:
    """The checks behind a change of the verdict: what decided before, and what decides now."""
    if before["governing"] == after["governing"] and before["verdict"] == after["verdict"]:
        return ()
    named = [answer["governing"]["check"] for answer in (before, after) if answer["governing"] is not None]
    return tuple(dict.fromkeys(named))

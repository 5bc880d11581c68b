"""Withdraw limits: a record that must not be used any more, at once; or a draft that is given up."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.actions.reading_records import Course, course_of
from turnrule.actions.refusals import RefusedError, refused
from turnrule.store.errors import NotOpenError
from turnrule.store.limit_records import EntryState, Rejection, Withdrawal
from turnrule.store.port import Key, VerdictQuery
from turnrule.store.reference_port import Once


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """What was withdrawn, or given up where `rejected`.

    `verdicts` counts the stored verdicts that rest on the record, as far as the key may see them.
    """

    limits_id: str
    revision: int
    by: str
    at: datetime.datetime
    reason: str
    rejected: bool
    verdicts: int


def withdraw_limits(
    desk: Desk, limits_id: str, revision: int | None, reason: str, key: Key, *, once: Once[Withdrawn] | None = None
) -> Withdrawn:
    """Withdraw a record up to its newest accepted revision, or give up its open draft.

    Raises `RefusedError` where there is nothing to withdraw, or `revision` is neither of the two.
    """
    chosen = _chosen(course_of(desk, limits_id), revision)
    rests = desk.store.count_verdicts(VerdictQuery(site=key.site, limits_id=limits_id))
    withdrawn = Withdrawn(
        limits_id, chosen.revision, key.name, desk.clock(), reason, rejected=chosen.is_draft, verdicts=rests
    )
    try:
        if withdrawn.rejected:
            rejection = Rejection(key.name, withdrawn.at, reason)
            desk.store.reject(limits_id, rejection, once=_kept(once, withdrawn))
        else:
            withdrawal = Withdrawal(limits_id, withdrawn.revision, key.name, withdrawn.at, reason)
            desk.store.withdraw(withdrawal, once=_kept(once, withdrawn))
    except NotOpenError:
        raise _nothing("somebody else has withdrawn it in between") from None
    return withdrawn


def _kept(once: Once[Withdrawn] | None, withdrawn: Withdrawn) -> Once[object] | None:
    return None if once is None else Once(once.idempotency, lambda _: once.answer(withdrawn))


@dataclass(frozen=True, slots=True)
class _Chosen:
    revision: int
    is_draft: bool


def _chosen(course: Course, revision: int | None) -> _Chosen:
    """The revision that is withdrawn, or the draft that is given up."""
    draft, accepted = course.open_draft, course.accepted
    if draft is not None and (revision == draft.revision.revision or (revision is None and accepted is None)):
        return _Chosen(draft.revision.revision, is_draft=True)
    if accepted is None:
        raise _nothing("no revision of it was ever accepted")
    number = accepted.revision.revision
    if revision not in {None, number}:
        detail = f"revision {number} is the newest that was accepted, and is withdrawn with all before it"
        raise refused("stale_revision", "/revision", detail)
    if accepted.state is EntryState.WITHDRAWN:
        also = "" if draft is None else f"; to give up the draft, name its revision {draft.revision.revision}"
        raise _nothing(f"it is withdrawn already{also}")
    return _Chosen(number, is_draft=False)


def _nothing(why: str) -> RefusedError:
    return refused("nothing_to_withdraw", "", f"there is nothing to withdraw: {why}")

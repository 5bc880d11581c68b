"""Enter limits: the first of two entries, held against everything that can be known of it, and kept as a draft."""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from turnrule.actions.desk import Desk
from turnrule.actions.entry_checks import Remark, Surroundings, around, check_entry
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import LimitsEntry, WarningAnswer
from turnrule.judging.faults import Fault
from turnrule.store.errors import DraftOpenError, NameTakenError, OverlapError, StaleRevisionError
from turnrule.store.folding import fold
from turnrule.store.limit_records import AnsweredWarning, LimitRevision
from turnrule.store.port import Key
from turnrule.store.reference_port import Once

_NOT_PLAIN = re.compile(r"[^a-z0-9]+")
_LONGEST_STEM = 73
_CHANCE = 6
_TRIES = 7
"""Two ids of one make and model are the same once in a billion times; so often over, something else is wrong."""


class WarningsError(RefusedError):
    """Warnings that nobody has answered hold an entry up; `remarks` are all of them."""

    def __init__(self, remarks: Iterable[Remark]) -> None:
        self.remarks = tuple(remarks)
        super().__init__("warnings_unanswered", map(_as_fault, self.remarks))


def enter_limits(desk: Desk, entry: LimitsEntry, key: Key, *, once: Once[LimitRevision] | None = None) -> LimitRevision:
    """Keep an entry as a draft, which waits for the second entry of somebody else.

    Raises `RefusedError` with every fault, `WarningsError` where only warnings are in the way.
    """
    at = desk.clock()
    draft = prepared(desk, entry, key.name, at, around(desk.store, at.date()))
    corrects = entry.corrects.revision if entry.corrects is not None else None
    named = entry.corrects is not None or entry.limits_id is not None
    for others in range(_TRIES, -1, -1):
        try:
            return desk.store.enter(draft, corrects=corrects, once=once)
        except StaleRevisionError:
            raise _stale(entry) from None
        except (NameTakenError, DraftOpenError) as error:
            if isinstance(error, DraftOpenError) and named:
                raise _draft_open(draft.limits_id) from None
            if named or not others:
                raise
            draft = replace(draft, limits_id=_new_id(desk, entry, at))
        except OverlapError as error:
            raise RefusedError("invalid_request", [_overlap(error)]) from None
    raise AssertionError  # pragma: no cover - the last try returns or raises


def _stale(entry: LimitsEntry) -> RefusedError:
    named = "" if entry.corrects is None else f"{entry.corrects.limits_id}, revision {entry.corrects.revision}"
    return refused(
        "stale_revision",
        "/corrects",
        f"{named} is not the newest accepted revision of a record; read it again, and correct what holds now",
    )


def _draft_open(limits_id: str) -> RefusedError:
    detail = f"a correction of {limits_id} is under way already; have it verified and released, or give it up first"
    return refused("draft_open", "/corrects", detail)


def _overlap(error: OverlapError) -> Fault:
    detail = f"the record {error.limits_id} is for some of the same vehicles on some of the same days; correct that one"
    return Fault("/application", "overlap", detail)


def prepared(
    desk: Desk, entry: LimitsEntry, key_name: str, at: datetime.datetime, around: Surroundings
) -> LimitRevision:
    """The draft that an entry makes, once it has passed every check; nothing is stored. Raises as `enter_limits` does.

    A refusal names the unanswered warnings as well, so that all of it can be mended at once.
    """
    remarks = check_entry(entry, around)
    warnings = [remark for remark in remarks if not remark.refused]
    faults = [_as_fault(remark) for remark in remarks if remark.refused]
    faults += _answers_to_nothing(entry.answers, warnings)
    unanswered = _unanswered(entry.answers, warnings)
    if faults:
        raise RefusedError("invalid_request", [*faults, *map(_as_fault, unanswered)])
    if unanswered:
        raise WarningsError(unanswered)
    limits_id = entry.limits_id or (
        entry.corrects.limits_id if entry.corrects is not None else _new_id(desk, entry, at)
    )
    return entry.as_revision(
        limits_id, entered_by=key_name, entered_at=at, warnings=tuple(_answered(entry.answers, warnings))
    )


def _as_fault(remark: Remark) -> Fault:
    return Fault(remark.pointer, remark.code, remark.detail)


def _answers_to_nothing(answers: Sequence[WarningAnswer], warnings: Sequence[Remark]) -> Iterator[Fault]:
    """A fault for each answer to a warning that was not raised, and for the second answer to one that was."""
    raised = {(remark.code, remark.pointer) for remark in warnings}
    seen: Counter[tuple[str, str]] = Counter()
    for index, answer in enumerate(answers):
        named = answer.code, answer.pointer
        seen[named] += 1
        if named not in raised:
            detail = f"no warning {answer.code} was raised at {answer.pointer or 'the whole'}; answer only what was"
        elif seen[named] > 1:
            detail = f"the warning {answer.code} at {answer.pointer or 'the whole'} is answered twice"
        else:
            continue
        yield Fault(f"/answered_warnings/{index}", "warning_not_raised", detail)


def _unanswered(answers: Sequence[WarningAnswer], warnings: Sequence[Remark]) -> list[Remark]:
    answered = {(answer.code, answer.pointer) for answer in answers}
    return [remark for remark in warnings if (remark.code, remark.pointer) not in answered]


def _answered(answers: Sequence[WarningAnswer], warnings: Sequence[Remark]) -> Iterator[AnsweredWarning]:
    reasons = {(answer.code, answer.pointer): answer.reason for answer in answers}
    for remark in warnings:
        reason = reasons[remark.code, remark.pointer]
        yield AnsweredWarning(remark.code, remark.pointer, remark.detail, reason)


def _new_id(desk: Desk, entry: LimitsEntry, at: datetime.datetime) -> str:
    """Make and model, then six characters of chance: years, axle and option stay unknown until the second entry."""
    named = fold(f"{entry.fits.make} {entry.fits.model}")
    stem = _NOT_PLAIN.sub("-", named)[:_LONGEST_STEM].strip("-") or "limits"
    return f"{stem}-{desk.make_id(at)[-_CHANCE:]}"

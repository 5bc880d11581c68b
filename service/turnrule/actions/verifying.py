"""Verify limits: the second entry, made from the document by somebody who has not seen the first.

Equal, the draft is verified. Else the entry is kept, and only the names of the fields that differ are told. After
two such entries somebody who made none of them settles it: whichever entry theirs equals is verified.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace

from turnrule.actions.answers import moment
from turnrule.actions.desk import Desk
from turnrule.actions.entry_checks import around, check_entry
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import Corrects, LimitFigures, LimitsEntry, SecondEntry
from turnrule.actions.second_entries import as_entered, differing, kept_entry
from turnrule.judging.faults import Fault
from turnrule.store.errors import IndependenceError, NotOpenError, OverlapError
from turnrule.store.limit_records import (
    AnsweredWarning,
    Differed,
    EntryState,
    LimitRevision,
    Mismatch,
    OpenDraft,
    Overruled,
    Settlement,
    Verified,
)
from turnrule.store.port import Key
from turnrule.store.reference_port import Once

Outcome = tuple[OpenDraft, Settlement, LimitRevision | None]


@dataclass(frozen=True, slots=True)
class Settled:
    """What a second entry came to: the draft as it was before, and the revision that is verified now, if any.

    `differing` are JSON Pointers to the fields that differ from the draft; empty where something is verified.
    """

    draft: OpenDraft
    verified: LimitRevision | None
    differing: tuple[str, ...]

    @property
    def is_disputed(self) -> bool:
        """True where a third person is needed from now on."""
        after = (*self.draft.mismatches, *[_NOBODYS] * bool(self.differing))
        return OpenDraft(self.draft.revision, after).state is EntryState.DISPUTED


_NOBODYS = Mismatch("", datetime.datetime.min.replace(tzinfo=datetime.UTC), (), b"")


class _MovedError(Exception):
    """The draft was not as it had been when it was looked at."""


def verify_limits(
    desk: Desk, limits_id: str, second: SecondEntry, key: Key, *, once: Once[Settled] | None = None
) -> Settled:
    """Hold a second entry against the open draft of a record, and keep what comes of it.

    Raises `RefusedError` where there is no open draft, or this key is not the one to make the entry.
    """
    at = desk.clock()
    kept = _kept(once)
    while True:  # again only where somebody else has settled something about this draft in between
        seen = desk.store.open_draft(limits_id)
        if seen is None:
            raise _nothing_to_verify(limits_id)
        _require_person(seen, key, desk.store.rules().one_person_pause, at)
        settlement = _settlement(desk, seen, second, key, at)
        try:
            return _settled(desk.store.settle(limits_id, _unless_moved(seen, settlement), once=kept))
        except _MovedError:
            continue
        except NotOpenError:
            raise _nothing_to_verify(limits_id) from None
        except IndependenceError:
            raise _second_person_needed() from None
        except OverlapError as error:
            detail = f"the record {error.limits_id} is for some of the same vehicles on some of the same days"
            raise refused_body(Fault("/application", "overlap", detail)) from None


def _kept(once: Once[Settled] | None) -> Once[Outcome] | None:
    return None if once is None else Once(once.idempotency, lambda outcome: once.answer(_settled(outcome)))


def _unless_moved(seen: OpenDraft, settlement: Settlement) -> Callable[[OpenDraft], Settlement]:
    def decide(draft: OpenDraft) -> Settlement:
        if draft != seen:
            raise _MovedError
        return settlement

    return decide


def _settled(outcome: Outcome) -> Settled:
    draft, settlement, verified = outcome
    fields = settlement.mismatch.fields if isinstance(settlement, Differed) else ()
    return Settled(draft, verified, fields)


def _nothing_to_verify(limits_id: str) -> RefusedError:
    return refused("nothing_to_verify", "", f"no draft of {limits_id} waits for a second entry")


def _second_person_needed() -> RefusedError:
    detail = "the second entry is made by somebody else than the first, under a key of their own"
    return refused("second_person_needed", "", detail)


def refused_body(*faults: Fault) -> RefusedError:
    """A refusal of what a body says."""
    return RefusedError("invalid_request", faults)


def _require_person(draft: OpenDraft, key: Key, pause: datetime.timedelta | None, at: datetime.datetime) -> None:
    """Raise `RefusedError` where this key is not the one to make the next entry; the store sees to the same again."""
    first = draft.revision
    if draft.state is EntryState.DISPUTED and key.name in {first.entered_by, *_authors(draft)}:
        detail = "the entries differ, and somebody who made none of them has to settle it from the document"
        raise refused("third_person_needed", "", detail)
    if key.name != first.entered_by:
        return
    if pause is None or first.entered_at is None:
        raise _second_person_needed()
    if at < first.entered_at + pause:
        until = moment(first.entered_at + pause)
        detail = f"the pause between two entries of one person lasts until {until}; enter it again then"
        raise refused("pause_not_over", "", detail)


def _authors(draft: OpenDraft) -> set[str]:
    return {mismatch.entered_by for mismatch in draft.mismatches}


def _settlement(desk: Desk, draft: OpenDraft, second: SecondEntry, key: Key, at: datetime.datetime) -> Settlement:
    fields = differing(second, draft.revision)
    if not fields:
        return Verified(key.name, at)
    if draft.state is EntryState.DISPUTED:
        for mismatch in draft.mismatches:
            entered = as_entered(mismatch, draft.revision)
            if not differing(second, entered):
                return _overruling(desk, entered, key, at)
    return Differed(Mismatch(key.name, at, fields, kept_entry(second)))


def _overruling(desk: Desk, entered: LimitRevision, key: Key, at: datetime.datetime) -> Overruled:
    """An earlier second entry that a third person has entered as well, held against the checks of a first entry."""
    both = f"{entered.entered_by} and {key.name} have entered the same from the document"
    remarks = check_entry(_as_entry(entered), around(desk.store, at.date()))
    if faults := [Fault(remark.pointer, remark.code, remark.detail) for remark in remarks if remark.refused]:
        raise refused_body(*faults)
    warnings = tuple(AnsweredWarning(one.code, one.pointer, one.detail, f"{both}.") for one in remarks)
    return Overruled(replace(entered, warnings=warnings), key.name, at, f"Overruled: {both}, and it is not this.")


def _as_entry(entered: LimitRevision) -> LimitsEntry:
    first = entered.revision == 1
    return LimitsEntry(
        figures=LimitFigures(entered.limits, entered.printed_unit, entered.printed, entered.review_due, entered.also),
        fits=entered.fits,
        source=entered.source,
        effective_from=entered.effective_from,
        effective_to=entered.effective_to,
        corrects=None if first else Corrects(entered.limits_id, entered.revision - 1),
        limits_id=entered.limits_id,
        reason=entered.reason,
    )

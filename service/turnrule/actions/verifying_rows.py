"""Verify limits from a file: each row is a second entry, held against the open draft that it is for.

The whole file is read first, and nothing is compared where a row of it cannot be read: a slip of the file must not
become a mismatch of the record. Then each row is settled by itself, as an entry that comes through the API is.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from turnrule.actions.desk import Desk
from turnrule.actions.file_rows import Place, Row, RowFault
from turnrule.actions.importing import Tell
from turnrule.actions.matching_drafts import DraftFinder
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import SecondEntry
from turnrule.actions.row_clashes import Clashes
from turnrule.actions.row_spool import Spool
from turnrule.actions.second_entries import kept_entry
from turnrule.actions.verifying import verify_limits
from turnrule.judging.faults import Fault
from turnrule.store.limit_records import OpenDraft
from turnrule.store.port import Key


class Outcome(StrEnum):
    """What a second entry came to."""

    VERIFIED = "verified"
    DIFFERS = "differs"
    NO_DRAFT = "no_draft"
    SEVERAL_DRAFTS = "several_drafts"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class RowOutcome:
    """What one row came to; `columns` are those in which it differs from the draft, never a value of either."""

    row: int
    file: str
    outcome: Outcome
    limits_id: str = ""
    columns: tuple[str, ...] = ()
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """What came of a file: how many of its rows were read, had faults, and came to each outcome.

    `matched` rows are for one open draft; in a dry run none of them was compared, and nothing was kept.
    """

    rows: int
    faults: int
    matched: int
    outcomes: Mapping[Outcome, int]

    @property
    def all_verified(self) -> bool:
        """True where every row was verified."""
        return not self.faults and self.outcomes.get(Outcome.VERIFIED, 0) == self.rows


@dataclass(frozen=True, slots=True)
class _Matched:
    """A second entry, and the record whose draft it is for."""

    place: Place
    limits_id: str
    second: SecondEntry


@dataclass(slots=True)
class _Verification:
    """One file on its way through."""

    desk: Desk
    key: Key
    tell: Tell
    report: Callable[[RowOutcome], None]
    spool: Spool[_Matched]
    clashes: Clashes
    rows: int = 0
    faults: int = 0
    outcomes: Counter[Outcome] = field(default_factory=Counter)


def verify_entries(
    desk: Desk,
    rows: Iterable[Row[SecondEntry]],
    key: Key,
    *,
    tell: Tell,
    report: Callable[[RowOutcome], None],
    dry_run: bool = False,
    settling: Callable[[int, int], None] = lambda _done, _of: None,
) -> Compared:
    """Read every row and find its draft; where none has a fault, settle one after another.

    `tell` is told each fault, `report` what each row came to, `settling` how many of how many are settled. Raises
    `StoreError`; the rows that were reported before it are settled.
    """
    with contextlib.closing(Spool[_Matched]()) as spool, contextlib.closing(Clashes()) as clashes:
        work = _Verification(desk, key, tell, report, spool, clashes)
        finder = DraftFinder(desk.store)
        for row in rows:
            _take(work, row, finder)
        _tell_clashes(work)
        if not work.faults and not dry_run:
            for count, matched in enumerate(spool, 1):
                _settle(work, matched)
                settling(count, spool.count)
        return Compared(work.rows, work.faults, spool.count, dict(work.outcomes))


def _tell(work: _Verification, fault: RowFault) -> None:
    work.faults += 1
    work.tell(fault)


def _report(work: _Verification, outcome: RowOutcome) -> None:
    work.outcomes[outcome.outcome] += 1
    work.report(outcome)


def _take(work: _Verification, row: Row[SecondEntry], finder: DraftFinder) -> None:
    place = row.place
    work.rows += place.number > 0
    for fault in row.faults:
        _tell(work, fault)
    if row.entry is None:
        return
    found = finder.found(row.entry, row.limits_id)
    if len(found) == 1:
        limits_id = found[0].revision.limits_id
        work.clashes.add_id(place, limits_id)
        work.spool.add(_Matched(place, limits_id, row.entry))
    elif found:
        remedy = "more than one open draft is for these vehicles; name the one that is meant in limits_id"
        _report(work, RowOutcome(place.number, place.file, Outcome.SEVERAL_DRAFTS, remedy=remedy))
    else:
        remedy = "no open draft is for this; look at make, model, kind, axle, option and first year again"
        _report(work, RowOutcome(place.number, place.file, Outcome.NO_DRAFT, row.limits_id or "", remedy=remedy))


def _tell_clashes(work: _Verification) -> None:
    for clash in work.clashes.found():
        other = f"row {clash.other}" + (f" ({clash.other_file})" if clash.other_file else "")
        remedy = f"{other} is a second entry of the same draft; keep the one that was read from the document"
        _tell(work, RowFault(clash.row, "", clash.same_id or "", "doubled_entry", remedy, file=clash.file))


def _settle(work: _Verification, matched: _Matched) -> None:
    """Settle one row, and report what it came to."""
    place, limits_id = matched.place, matched.limits_id
    draft = work.desk.store.open_draft(limits_id)
    if draft is not None and (fields := _as_before(draft, matched.second, work.key)):
        remedy = "the same as your entry before, and not counted again; read the document once more"
        _report(work, _differs(matched, fields, remedy))
        return
    try:
        settled = verify_limits(work.desk, limits_id, matched.second, work.key)
    except RefusedError as error:
        gone = error.code == "nothing_to_verify"
        outcome = Outcome.NO_DRAFT if gone else Outcome.REFUSED
        _report(work, RowOutcome(place.number, place.file, outcome, limits_id, remedy=str(error)))
        return
    if settled.verified is not None:
        _report(work, RowOutcome(place.number, place.file, Outcome.VERIFIED, limits_id))
    else:
        third = "somebody who made none of the entries has to settle it from the document"
        again = "read the document once more, and verify this row again"
        _report(work, _differs(matched, settled.differing, third if settled.is_disputed else again))


def _differs(matched: _Matched, fields: Iterable[str], remedy: str) -> RowOutcome:
    place = matched.place
    columns = tuple(place.told(Fault(field, "", "")).column or field for field in fields)
    return RowOutcome(place.number, place.file, Outcome.DIFFERS, matched.limits_id, columns, remedy)


def _as_before(draft: OpenDraft, second: SecondEntry, key: Key) -> tuple[str, ...]:
    """The fields in which the same entry by the same person differed before; none where it is a new one."""
    entry = kept_entry(second)
    for mismatch in draft.mismatches:
        if mismatch.entered_by == key.name and mismatch.entry == entry:
            return mismatch.fields
    return ()

"""Import limits: every row of a file as a draft like any other, all of them or none.

A row meets the same checks as an entry that comes through the API, and is held against the other rows of its file.
Nothing is stored before the last row has passed.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from turnrule.actions.desk import Desk
from turnrule.actions.entering import WarningsError, prepared
from turnrule.actions.entry_checks import Remark, around, check_entry
from turnrule.actions.file_rows import OpenAnswer, Place, Row, RowFault
from turnrule.actions.reading_records import is_known
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import LimitsEntry
from turnrule.actions.row_clashes import Clash, Clashes
from turnrule.actions.row_spool import Spool
from turnrule.actions.standing import standing_faults
from turnrule.actions.warning_answers import Reasons
from turnrule.judging.faults import Fault
from turnrule.store.limit_records import LimitRevision
from turnrule.store.port import Key

Tell = Callable[[RowFault], None]


@dataclass(frozen=True, slots=True)
class Imported:
    """What came of a file: its rows, the drafts that were kept, and what stood in the way.

    No draft is kept where there are faults or unanswered warnings, or in a dry run. `accepted` counts by code the
    warnings that a reason for the whole file has answered, `answered` those that rows have answered themselves;
    `idle` counts the rows' reasons for warnings that were not raised: they are not kept.
    """

    rows: int
    drafts: int
    faults: int
    warnings: int
    answered: int
    idle: int
    accepted: Mapping[str, int]

    @property
    def passed(self) -> bool:
        """True where nothing stood in the way."""
        return not self.faults and not self.warnings


def import_entries(
    desk: Desk,
    rows: Iterable[Row[LimitsEntry]],
    key: Key,
    *,
    accepted: Mapping[str, str],
    tell: Tell,
    dry_run: bool = False,
    storing: Callable[[int, int], None] = lambda _done, _of: None,
) -> Imported:
    """Check every row, and keep the drafts of all of them where none has a fault or an unanswered warning.

    `accepted` gives a reason for all warnings of a code; `tell` is told each fault and unanswered warning as it is
    found, `storing` how many drafts of how many are on their way into the store. Raises `StoreError` where somebody
    else got in between.
    """
    with contextlib.closing(_Import(desk, key, accepted, tell)) as work:
        for row in rows:
            work.take(row)
        return work.finished(storing, dry_run=dry_run)


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A draft that has passed, the row that it came from, and the revision that it corrects if any."""

    row: int
    draft: LimitRevision
    corrects: int | None


class _Import:
    """One file on its way in."""

    def __init__(self, desk: Desk, key: Key, accepted: Mapping[str, str], tell: Tell) -> None:
        self._desk = desk
        self._at = desk.clock()
        self._key = key
        self._reasons = Reasons(accepted)
        self._tell = tell
        self._around = around(desk.store, self._at.date())
        self._spool = Spool[_Waiting]()
        self._clashes = Clashes()
        self._rows = self._faults = self._warnings = 0
        self._id_column = "limits_id"

    def close(self) -> None:
        """Let go of what was put aside."""
        self._spool.close()
        self._clashes.close()

    def _told(self, fault: RowFault) -> None:
        if fault.is_warning:
            self._warnings += 1
        else:
            self._faults += 1
        self._tell(fault)

    def take(self, row: Row[LimitsEntry]) -> None:
        """Check one row, and put its draft aside."""
        self._rows += row.place.number > 0
        for told in row.faults:
            self._told(told)
        if row.entry is None:
            return
        entry, answers = _parted(row, row.entry)
        standing = list(standing_faults(self._desk, entry, row.limits_id))
        for fault in standing:
            self._told(row.place.told(fault))
        draft = self._passed(row.place, entry, answers)
        if draft is not None and not standing:
            self._put_aside(row.place, draft, entry)

    def _put_aside(self, place: Place, draft: LimitRevision, entry: LimitsEntry) -> None:
        is_named = entry.corrects is not None or entry.limits_id is not None
        while not is_named and is_known(self._desk, draft.limits_id):
            draft = self._renamed(draft)
        if is_named:
            self._id_column = place.told(Fault("/limits_id", "", "")).column
        self._clashes.add(place, draft, is_named=is_named)
        if not self._faults and not self._warnings:  # else nothing will be stored
            corrects = None if entry.corrects is None else entry.corrects.revision
            self._spool.add(_Waiting(place.number, draft, corrects))

    def _renamed(self, draft: LimitRevision) -> LimitRevision:
        """The draft of a new record under another id, made of the same words and of chance."""
        stem, _, chance = draft.limits_id.rpartition("-")
        return replace(draft, limits_id=f"{stem}-{self._desk.make_id(self._at)[-len(chance) :]}")

    def _passed(self, place: Place, entry: LimitsEntry, answers: Sequence[OpenAnswer]) -> LimitRevision | None:
        """The row's draft; None where it was told why there is none."""
        try:
            draft = self._prepared(entry)
        except WarningsError as error:
            given = self._reasons.given(error.remarks, answers)
            if len(given) == len(error.remarks):
                return self._prepared(replace(entry, answers=given))
            answered = {(answer.code, answer.pointer) for answer in given}
            self._tell_warnings(place, (one for one in error.remarks if (one.code, one.pointer) not in answered))
            return None
        except RefusedError as error:
            self._tell_refusal(place, entry, answers, error.faults)
            return None
        self._reasons.given((), answers)
        return draft

    def _prepared(self, entry: LimitsEntry) -> LimitRevision:
        return prepared(self._desk, entry, self._key.name, self._at, self._around)

    def _tell_warnings(self, place: Place, remarks: Iterable[Remark]) -> None:
        for remark in remarks:
            fault = Fault(remark.pointer, remark.code, remark.detail)
            self._told(place.told(fault, is_warning=True))

    def _tell_refusal(
        self, place: Place, entry: LimitsEntry, answers: Sequence[OpenAnswer], faults: Iterable[Fault]
    ) -> None:
        """What a row is refused for, and beside it the warnings that nobody has answered."""
        remarks = [remark for remark in check_entry(entry, self._around) if not remark.refused]
        answered = {(answer.code, answer.pointer) for answer in Reasons(self._reasons.accepted).given(remarks, answers)}
        warnings = {(remark.code, remark.pointer) for remark in remarks}
        for fault in faults:
            if (fault.code, fault.pointer) not in warnings:
                self._told(place.told(fault))
        self._tell_warnings(place, (one for one in remarks if (one.code, one.pointer) not in answered))

    def finished(self, storing: Callable[[int, int], None], *, dry_run: bool) -> Imported:
        """Hold the rows against each other, and store the drafts where all is well."""
        again = set(self._rows_to_rename())
        drafts = 0
        if not self._faults and not self._warnings and not dry_run and self._spool.count:
            drafts = self._desk.store.enter_many(self._drafts(again, storing), at=self._at, by=self._key.name)
        reasons = self._reasons
        return Imported(
            rows=self._rows,
            drafts=drafts,
            faults=self._faults,
            warnings=self._warnings,
            answered=reasons.by_rows,
            idle=reasons.idle,
            accepted=dict(reasons.used),
        )

    def _rows_to_rename(self) -> Iterator[int]:
        """Tell the rows that clash; the numbers of those that only have the same chance in their new ids."""
        for clash in self._clashes.found():
            if not clash.is_named:
                yield clash.row
            else:
                self._told(_clash_fault(clash, self._id_column))

    def _drafts(
        self, again: set[int], storing: Callable[[int, int], None]
    ) -> Iterator[tuple[LimitRevision, int | None]]:
        for count, waiting in enumerate(self._spool, 1):
            draft = self._renamed(waiting.draft) if waiting.row in again else waiting.draft
            yield draft, waiting.corrects
            storing(count, self._spool.count)


def _parted(row: Row[LimitsEntry], entry: LimitsEntry) -> tuple[LimitsEntry, tuple[OpenAnswer, ...]]:
    """The entry under the id that its row names, and its answers to warnings apart from it.

    An answer to a warning that is not raised here does not stand in the way: a file that was exported elsewhere
    brings the answers that were needed there.
    """
    own = tuple(OpenAnswer(answer.code, answer.pointer, answer.reason) for answer in entry.answers)
    limits_id = row.limits_id if entry.corrects is None else None
    return replace(entry, answers=(), limits_id=limits_id), (*row.answers, *own)


def _clash_fault(clash: Clash, id_column: str) -> RowFault:
    other = f"row {clash.other}" + (f" ({clash.other_file})" if clash.other_file else "")
    if clash.same_id is not None:
        remedy = f"{other} has the same id; each record stands in a file once"
        return RowFault(clash.row, id_column, clash.same_id, "doubled_id", remedy, file=clash.file)
    remedy = f"{other} is for some of the same vehicles on some of the same days; keep one of them"
    return RowFault(clash.row, "", "", "overlap", remedy, file=clash.file)

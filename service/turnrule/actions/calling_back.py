"""The fleet's call-back list: every axle of every vehicle about which something has to be done, most urgent first.

What counts is the newest verdict on each part (a side of an axle of a vehicle): whatever was said of it before, the
newest one took its place. A part is listed where that verdict rests on limits that were withdrawn since, says
`replace` or `inconclusive`, or comes out differently under the newest release.

Memory does not grow with the number of verdicts or vehicles: they are put in order in passing files.
"""

from __future__ import annotations

import datetime
import itertools
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from turnrule.actions.call_back_lines import (
    CallBack,
    CallBackDone,
    CallBackSoFar,
    CalledPart,
    Reason,
    Urgency,
)
from turnrule.actions.desk import Desk
from turnrule.actions.impact import ImpactLine, comparing
from turnrule.actions.impact_advice import Action
from turnrule.actions.report_scope import Scope, Told, nothing_told, walk
from turnrule.actions.requests import ReadRequest
from turnrule.actions.sorted_rows import SortedRows
from turnrule.actions.withdrawn_limits import WithdrawnLimits
from turnrule.judging.words import Ruling
from turnrule.store.limit_records import Release, Withdrawal
from turnrule.store.port import VerdictQuery, VerdictRecord

TELL_EVERY = 1000
"""After so many verdicts, and so many axles, the walk tells that it goes on."""


Step = CallBack | CallBackSoFar | CallBackDone


class _Known(NamedTuple):
    vehicle: str
    axle: str
    kind: str
    side: str
    sequence: int


def list_call_backs(
    desk: Desk, scope: Scope, read: Callable[[bytes], ReadRequest], told: Told = nothing_told
) -> Iterator[Step]:
    """The call-back list of a scope; the last thing told is `CallBackDone`.

    The newest verdict on a part is the newest one that whoever asks may see; the list is about it where the scope
    covers it. `read` takes the bytes of a request, as for `impact`. Raises `StoreError`.
    """
    release = desk.store.release()
    look = _look(desk, read, release)
    parts = looked_at = 0
    counted: Counter[Urgency] = Counter()
    with SortedRows[_Known](key=tuple) as rows, SortedRows[CallBack](key=_order) as entries:
        for record in walk(desk, scope.parts, told):
            looked_at += 1
            if looked_at % TELL_EVERY == 0:
                yield CallBackSoFar(looked_at)
            if record.vehicle is not None and record.axle is not None:
                rows.add(_Known(record.vehicle, record.axle, record.kind, record.side or "", record.sequence))
        for number, mine in enumerate(_newest(desk, scope, rows), 1):
            parts += len(mine)
            entry = _entry(mine, look)
            if entry is not None:
                entries.add(entry)
            if number % TELL_EVERY == 0:
                yield CallBackSoFar(looked_at)
        for entry in entries:
            counted[entry.first.urgency] += 1
            yield entry
    yield CallBackDone(None if release is None else release.number, parts, {one: counted[one] for one in Urgency})


def _newest(desk: Desk, scope: Scope, rows: Iterable[_Known]) -> Iterator[list[VerdictRecord]]:
    """Axle by axle the newest verdicts on its parts, of those that the scope covers."""
    for _, axle in itertools.groupby(rows, key=lambda row: row[:3]):
        newest = [list(part)[-1] for _, part in itertools.groupby(axle, key=lambda row: row.side)]
        yield [record for row in newest if scope.covers(record := _record(desk, row))]


def _order(entry: CallBack) -> tuple[int, datetime.datetime, str, str, str]:
    """Most urgent first; of these what has waited longest."""
    return entry.first.urgency.rank, entry.first.judged_at, entry.vehicle, entry.axle, entry.kind


def _record(desk: Desk, row: _Known) -> VerdictRecord:
    (found,) = desk.store.verdicts(_by_vehicle(row), after=row.sequence - 1, limit=1)
    return found


def _by_vehicle(row: _Known) -> VerdictQuery:
    return VerdictQuery(vehicle=row.vehicle)


@dataclass(frozen=True, slots=True)
class _Look:
    """What each newest verdict is held against: the withdrawals, and the newest release with those that it counts."""

    withdrawn: WithdrawnLimits
    compared: Callable[[VerdictRecord], ImpactLine | None] | None
    counted: int


def _look(desk: Desk, read: Callable[[bytes], ReadRequest], release: Release | None) -> _Look:
    if release is None:
        return _Look(WithdrawnLimits(desk), None, 0)
    return _Look(WithdrawnLimits(desk), comparing(desk, read, release), release.withdrawn)


def _entry(records: Sequence[VerdictRecord], look: _Look) -> CallBack | None:
    parts = tuple(part for record in records if (part := _part(record, look)) is not None)
    if not parts:
        return None
    one = records[0]
    if one.vehicle is None or one.axle is None:  # pragma: no cover - only parts with both are put in order
        raise AssertionError(one.id)
    return CallBack(one.vehicle, one.axle, one.kind, parts)


def _part(record: VerdictRecord, look: _Look) -> CalledPart | None:
    """A part as it stands on the list; None where nothing has to be done about it."""
    gone = look.withdrawn.of(record)
    change = look.compared(record) if look.compared is not None else None
    reasons = []
    if gone is not None:
        reasons.append(Reason.WITHDRAWN)
    if record.ruling in _BY_RULING:
        reasons.append(_BY_RULING[record.ruling][0])
    if change is not None:
        reasons.append(Reason.CHANGED)
    if not reasons:
        return None
    urgency, sentence = _what_to_do(record, gone, change, settled=gone is not None and gone.sequence <= look.counted)
    now = None if change is None or change.after is None else change.after.ruling
    return CalledPart(
        side=record.side,
        verdict_id=record.id,
        judged_at=record.judged_at,
        site=record.site,
        reference=record.reference,
        ruling=record.ruling,
        now=None if now is record.ruling else now,
        reasons=tuple(reasons),
        urgency=urgency,
        what_to_do=sentence,
    )


_BY_RULING = {
    Ruling.REPLACE: (Reason.REPLACE, Urgency.REPLACE, "Have the part replaced before the vehicle is used."),
    Ruling.INCONCLUSIVE: (
        Reason.INCONCLUSIVE,
        Urgency.SETTLE,
        "Keep the part out of use until it is settled: take what its verdict misses, and have it judged again.",
    ),
}
_URGENCIES = {
    Action.CALL_BACK: Urgency.CALL_BACK,
    Action.CHECK: Urgency.CHECK,
    Action.NOTHING_LOST: Urgency.NOTHING_LOST,
}


def _what_to_do(
    record: VerdictRecord, gone: Withdrawal | None, change: ImpactLine | None, *, settled: bool
) -> tuple[Urgency, str]:
    """How urgent a part is, and what to do about it in one sentence.

    `settled` where the newest release counts the withdrawal: then what comes out the same under it stands on limits
    that hold.
    """
    held_back = record.ruling in _BY_RULING
    asked = None if change is None else _URGENCIES[change.advice.action]
    if gone is not None and not settled and not held_back and asked is not Urgency.CALL_BACK:
        told = f"the part was passed by limits that were withdrawn since ({gone.limits_id})"
        return Urgency.CALL_BACK, f"Call the vehicle back: {told}; have it judged again."
    if change is not None and asked is not None:
        # What was held back stays held back until it is judged again, whatever the release says of it.
        lost_nothing = held_back and asked is Urgency.NOTHING_LOST
        return Urgency.SETTLE if lost_nothing else asked, change.advice.sentence
    if held_back and gone is not None and not settled:
        told = f"it was held back by limits that were withdrawn since ({gone.limits_id})"
        return Urgency.SETTLE, f"Keep the part out of use, and have it judged again: {told}."
    if held_back:
        _, urgency, sentence = _BY_RULING[record.ruling]
        return urgency, sentence
    sentence = "Have the part judged again at the next visit: its limits were withdrawn, and it comes out the same."
    return Urgency.CHECK, sentence

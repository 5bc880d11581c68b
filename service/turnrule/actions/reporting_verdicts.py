"""Verdicts counted, and how far the parts were from their limits, group by group.

Memory grows with the number of groups, which is bounded, and not with that of the verdicts: their margins are put in
order in passing files, and the quartiles are picked while they come by in that order. So each is exact.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from turnrule.actions.desk import Desk
from turnrule.actions.margins import Picking, Spread
from turnrule.actions.numbers import read_exact
from turnrule.actions.refusals import refused
from turnrule.actions.report_scope import Scope, Told, nothing_told, walk
from turnrule.actions.sorted_rows import SortedRows
from turnrule.judging.lengths import to_mm
from turnrule.judging.words import Ruling, Unit
from turnrule.store.folding import fold
from turnrule.store.port import VerdictRecord

MOST_GROUPS = 5000
"""A report has no more groups than these: each stays in memory while the report is made."""

MARGINS = ("to_machining_limit", "to_discard_limit")


class By(StrEnum):
    """What verdicts are put into groups by."""

    SITE = "site"
    VEHICLE = "vehicle"
    AXLE = "axle"
    MONTH = "month"
    MAKE = "make"
    POLICY = "policy"
    KIND = "kind"


_NAMED: Mapping[By, Callable[[VerdictRecord], str | None]] = {
    By.SITE: lambda record: record.site,
    By.VEHICLE: lambda record: record.vehicle,
    By.AXLE: lambda record: record.axle,
    By.MONTH: lambda record: f"{record.judged_at:%Y-%m}",
    By.MAKE: lambda record: record.make,
    By.POLICY: lambda record: record.policy_name,
    By.KIND: lambda record: record.kind,
}
"""The group of a verdict; None where the verdict does not say. Months are those of UTC."""


@dataclass(frozen=True, slots=True)
class Group:
    """So many verdicts, how they came out, and how their margins spread.

    `names` says which group it is, in the order of what the report is grouped by; None is what a verdict did not say.
    """

    names: tuple[str | None, ...]
    verdicts: int
    rulings: Mapping[Ruling, int]
    margins: Mapping[str, Spread]


@dataclass(frozen=True, slots=True)
class VerdictReport:
    """The groups in the order of their names, what no verdict says last, if any were asked for; and all together."""

    by: tuple[By, ...]
    groups: Sequence[Group]
    total: Group


@dataclass(slots=True)
class _Counted:
    names: tuple[str | None, ...]
    number: int
    rulings: Counter[Ruling] = field(default_factory=Counter)
    known: list[int] = field(default_factory=lambda: [0] * len(MARGINS))

    def count(self, record: VerdictRecord, margins: Sequence[Decimal | None]) -> None:
        self.rulings[record.ruling] += 1
        for place, margin in enumerate(margins):
            self.known[place] += margin is not None

    def group(self, spreads: Sequence[Spread]) -> Group:
        rulings = {ruling: self.rulings[ruling] for ruling in Ruling}
        return Group(self.names, self.rulings.total(), rulings, dict(zip(MARGINS, spreads, strict=True)))


_Row = tuple[int, Decimal, int]
"""Which of the margins, the margin in mm, and the number of its group."""


def report_verdicts(desk: Desk, scope: Scope, by: Sequence[By] = (), told: Told = nothing_told) -> VerdictReport:
    """Count the verdicts of a scope, in groups by one or two things or all together.

    Margins count as they were answered, those of inches in exact millimetres. Raises `RefusedError` with
    `too_many_groups`, `StoreError`.
    """
    total = _Counted((), -1)
    counted: dict[tuple[str | None, ...], _Counted] = {}
    with SortedRows[_Row](key=lambda row: row[:2]) as rows:
        for record in walk(desk, scope.query, told):
            if not scope.covers(record):
                continue
            mine = _group_of(counted, record, by)
            margins = margins_of(record)
            mine.count(record, margins)
            total.count(record, margins)
            for place, margin in enumerate(margins):
                if margin is not None:
                    rows.add((place, margin, mine.number))
        return _picked(tuple(by), list(counted.values()), total, rows)


def _group_of(counted: dict[tuple[str | None, ...], _Counted], record: VerdictRecord, by: Sequence[By]) -> _Counted:
    """The group of a verdict, begun where it is the first; makes that are spelled alike are one, as spelled first."""
    names = tuple(_NAMED[one](record) for one in by)
    key = tuple(
        fold(name) if one is By.MAKE and name is not None else name for one, name in zip(by, names, strict=True)
    )
    found = counted.get(key)
    if found is None:
        if len(counted) >= MOST_GROUPS:
            told = " and ".join(by)
            detail = (
                f"there are more than {MOST_GROUPS} groups by {told}; ask for fewer verdicts (by site, make, since and "
                "until, for instance), or group them by less"
            )
            raise refused("too_many_groups", "/by", detail)
        found = counted[key] = _Counted(names, len(counted))
    return found


def margins_of(record: VerdictRecord) -> tuple[Decimal | None, ...]:
    """The margins of a verdict in mm, as they were answered; None where there is none."""
    answer = read_exact(record.answer)
    told, unit = answer["margins"], Unit(answer["unit"])
    return tuple(None if told[name] is None else to_mm(told[name], unit) for name in MARGINS)


def _picked(by: tuple[By, ...], counted: Sequence[_Counted], total: _Counted, rows: SortedRows[_Row]) -> VerdictReport:
    """The report, its figures picked out of the margins in their order."""
    places = range(len(MARGINS))
    picking = [[Picking(one.known[place]) for place in places] for one in counted]
    whole = [Picking(total.known[place]) for place in places]
    for place, margin, number in rows:
        picking[number][place].pass_by(margin)
        whole[place].pass_by(margin)
    groups = [one.group([found.spread() for found in mine]) for one, mine in zip(counted, picking, strict=True)]
    groups.sort(key=lambda group: [(name is None, name or "") for name in group.names])
    return VerdictReport(by, groups if by else (), total.group([found.spread() for found in whole]))

"""Which verdicts a report is about, and the walk through them: a page of the store at a time."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.judging.words import Axle, Kind
from turnrule.store.folding import fold
from turnrule.store.port import VerdictQuery, VerdictRecord

PAGE = 100
"""So many verdicts are taken from the store at a time."""

Told = Callable[[int, int], None]
"""Hears how many verdicts of how many were looked at."""


@dataclass(frozen=True, slots=True)
class Scope:
    """What a report is asked for; None is any. `since` is included and `until` is not.

    `bound` is the site that whoever asks is bound to: no other site's verdicts are looked at, whatever is asked.
    Makes and models match without regard to case and spacing.
    """

    site: str | None = None
    vehicle: str | None = None
    make: str | None = None
    model: str | None = None
    axle: Axle | None = None
    kind: Kind | None = None
    since: datetime.datetime | None = None
    until: datetime.datetime | None = None
    bound: str | None = None

    @property
    def query(self) -> VerdictQuery:
        """The verdicts that the report is about, less those that `covers` leaves out."""
        return VerdictQuery(
            site=self.site if self.bound is None else self.bound,
            kind=self.kind,
            make=self.make,
            model=self.model,
            vehicle=self.vehicle,
            axle=self.axle,
            since=self.since,
            until=self.until,
        )

    @property
    def parts(self) -> VerdictQuery:
        """Every verdict on the vehicles, axles and kinds of part that the report may be about.

        What one verdict means hangs on those before and after it on the same part, wherever and whenever they were.
        """
        return VerdictQuery(site=self.bound, kind=self.kind, vehicle=self.vehicle, axle=self.axle)

    def covers(self, record: VerdictRecord) -> bool:
        """True for a verdict that the report is about."""
        return all(
            (
                self.bound in {None, record.site},
                self.site in {None, record.site},
                self.vehicle in {None, record.vehicle},
                self.axle in {None, record.axle},
                self.kind in {None, record.kind},
                _same(self.make, record.make),
                _same(self.model, record.model),
                self.since is None or record.judged_at >= self.since,
                self.until is None or record.judged_at < self.until,
            )
        )


def _same(asked: str | None, name: str | None) -> bool:
    return asked is None or (name is not None and fold(asked) == fold(name))


def nothing_told(_done: int, _of: int) -> None:
    """Where nobody wants to hear how far it is."""


def walk(desk: Desk, query: VerdictQuery, told: Told = nothing_told) -> Iterator[VerdictRecord]:
    """The verdicts of a query in the order of recording, up to the last one there is when the walk gets there."""
    of = desk.store.count_verdicts(query) if told is not nothing_told else 0
    done = after = 0
    while page := desk.store.verdicts(query, after=after, limit=PAGE):
        yield from page
        after = page[-1].sequence
        done += len(page)
        told(min(done, of), of)

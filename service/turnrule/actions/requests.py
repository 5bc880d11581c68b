"""What callers ask and enter, read into exact values: nothing here is text that still has to be understood.

Lengths in mm, distances in km. The rooms that read JSON, files or forms build these; the actions take them.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Part
from turnrule.judging.words import Unit
from turnrule.store.port import FitsTo, LimitRevision, Source


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """One part to be judged, with the limits that the caller gives and the policy and release to judge under.

    `release` None is the newest. `reference` is the caller's own job number, `vehicle` the caller's name for it.
    """

    part: Part
    caller: LimitSet | None = None
    policy: str = "default"
    release: int | None = None
    reference: str | None = None
    vehicle: str | None = None


@dataclass(frozen=True, slots=True)
class LimitFigures:
    """The figures of a limits body: exact millimetres, and each value as it was printed, in the printed unit."""

    limits: LimitSet
    printed_unit: Unit
    printed: dict[str, str]
    review_due: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class LimitsEntry:
    """A whole limits body: the figures, the vehicles that they are for, the document that they were read from."""

    figures: LimitFigures
    fits: FitsTo
    source: Source
    effective_from: datetime.date
    effective_to: datetime.date | None = None
    note: str | None = None

    def as_revision(self, limits_id: str, revision: int, *, entered_by: str, verified_by: str) -> LimitRevision:
        """This entry as a revision of a record."""
        return LimitRevision(
            limits_id=limits_id,
            revision=revision,
            fits=self.fits,
            limits=self.figures.limits,
            printed_unit=self.figures.printed_unit,
            printed=self.figures.printed,
            source=self.source,
            effective_from=self.effective_from,
            effective_to=self.effective_to,
            review_due=self.figures.review_due,
            entered_by=entered_by,
            verified_by=verified_by,
            note=self.note,
        )

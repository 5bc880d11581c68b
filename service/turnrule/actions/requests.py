"""What callers ask and enter, read into exact values: nothing here is text that still has to be understood.

Lengths in mm, distances in km. The rooms that read JSON, files or forms build these; the actions take them.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Part
from turnrule.judging.words import Unit
from turnrule.store.limit_records import AnsweredWarning, FitsTo, LimitRevision, Source, Twin


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
class WarningAnswer:
    """Why a warning does not hold the entry up: the warning by its code and place, and the reason in words."""

    code: str
    pointer: str
    reason: str


@dataclass(frozen=True, slots=True)
class Corrects:
    """The accepted revision that an entry takes the place of."""

    limits_id: str
    revision: int


@dataclass(frozen=True, slots=True)
class LimitFigures:
    """The figures of a limits body: exact millimetres, and each value as it was printed, in the printed unit.

    `also` holds those that the document prints in the other unit as well.
    """

    limits: LimitSet
    printed_unit: Unit
    printed: dict[str, str]
    review_due: datetime.date | None = None
    also: Twin | None = None


@dataclass(frozen=True, slots=True)
class LimitsEntry:
    """A whole limits body: the figures, the vehicles that they are for, the document that they were read from.

    `corrects` with its `reason` where a newer revision of a record is entered. `limits_id` is the id that an imported
    file gives a new record; None where the service gives it one. `answers` are to the warnings of the entry checks.
    """

    figures: LimitFigures
    fits: FitsTo
    source: Source
    effective_from: datetime.date
    effective_to: datetime.date | None = None
    note: str | None = None
    corrects: Corrects | None = None
    limits_id: str | None = None
    reason: str | None = None
    answers: tuple[WarningAnswer, ...] = ()

    def as_revision(
        self,
        limits_id: str,
        *,
        entered_by: str,
        entered_at: datetime.datetime | None,
        warnings: tuple[AnsweredWarning, ...] = (),
    ) -> LimitRevision:
        """This entry as a draft: the first revision of a record, or the next one after what it corrects."""
        return LimitRevision(
            limits_id=limits_id,
            revision=1 if self.corrects is None else self.corrects.revision + 1,
            fits=self.fits,
            limits=self.figures.limits,
            printed_unit=self.figures.printed_unit,
            printed=self.figures.printed,
            source=self.source,
            effective_from=self.effective_from,
            effective_to=self.effective_to,
            review_due=self.figures.review_due,
            entered_by=entered_by,
            note=self.note,
            also=self.figures.also,
            reason=self.reason,
            warnings=warnings,
            entered_at=entered_at,
        )


@dataclass(frozen=True, slots=True)
class SecondEntry:
    """The same limits entered again from the document; what was not entered is None and is not compared.

    Of `source` only document and edition are compared; the rest of it is "" where it was left out.
    """

    figures: LimitFigures
    fits: FitsTo
    source: Source | None = None
    effective_from: datetime.date | None = None
    effective_to: datetime.date | None = None

"""What callers ask and enter, read into exact values: nothing here is text that still has to be understood.

Lengths in mm, distances in km. The rooms that read JSON, files or forms build these; the actions take them.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.faults import Fault
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Part
from turnrule.judging.words import Side, Unit
from turnrule.store.limit_records import AnsweredWarning, FitsTo, LimitRevision, Source, Twin


@dataclass(frozen=True, slots=True)
class AskedLathe:
    """A lathe by the name of its profile; the newest revision where none is named."""

    name: str
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class Dimensions:
    """Dimensions of a part beside its size, in mm: a rotor's friction ring, or a drum's wall and swept width."""

    outer_diameter: Decimal | None = None
    inner_diameter: Decimal | None = None
    width: Decimal | None = None
    air_gap: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """One part to be judged, with the limits that the caller gives and the policy and release to judge under.

    `policy` None is that of the caller's site, or the default; `release` None is the newest.
    `reference` is the caller's own job number, `vehicle` the caller's name for it.
    `stored_history` asks for the earlier readings of the same part that stored verdicts hold.
    """

    part: Part
    caller: LimitSet | None = None
    policy: str | None = None
    release: int | None = None
    reference: str | None = None
    vehicle: str | None = None
    lathe: AskedLathe | None = None
    """The lathe that passes are planned for; that of `part` is only a kind."""
    dimensions: Dimensions | None = None
    wanted_roughness: Decimal | None = None
    """Ra in mm."""
    stored_history: bool = False
    before: str | None = None
    """The id of the verdict before machining, for a part that was machined."""


@dataclass(frozen=True, slots=True)
class ReadSide:
    """One side of an axle: the request that it makes together with what is given beside the sides.

    `body` is that request as a document of its own, in bytes that do not hang on how it was written. `beside` names the
    fields that were given, or belong, beside the sides. `new_size` (mm) is that of the part that would take its place.
    """

    request: ReadRequest
    body: bytes
    beside: frozenset[str]
    new_size: Decimal | None = None


@dataclass(frozen=True, slots=True)
class ReadAxle:
    """The sides of an axle that were measured, one at least; of one kind, vehicle, policy and release."""

    sides: Mapping[Side, ReadSide]

    @property
    def shared(self) -> ReadRequest:
        """A request to look up what both sides share: kind, application, policy, release, vehicle, reference."""
        return next(iter(self.sides.values())).request


def placed(faults: Iterable[Fault], side: Side, beside: frozenset[str]) -> list[Fault]:
    """Faults of the request that a side makes, with pointers into the body of the axle as it was sent."""
    return [
        fault
        if fault.pointer.partition("/")[2].partition("/")[0] in beside
        else Fault(f"/{side.value}{fault.pointer}", fault.code, fault.detail)
        for fault in faults
    ]


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

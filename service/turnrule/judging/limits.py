"""The limits of one part: what a record holds, and which candidate governs each limit.

The strictest candidate governs; the others are kept with their origin, for the trace.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.words import Construction, Kind, Machining, Origin, Sense


@dataclass(frozen=True, slots=True)
class LimitSet:
    """The figures of one limits record, or of a caller's own `limits`; all lengths in mm.

    For a rotor `nominal`, `machining` and `discard` are thicknesses and `machining` and `discard` are least
    values; for a drum they are diameters and greatest values. What the document does not give is None.
    """

    kind: Kind
    nominal: Decimal | None = None
    machining: Decimal | None = None
    discard: Decimal | None = None
    maximum_lateral_runout: Decimal | None = None
    maximum_thickness_variation: Decimal | None = None
    maximum_out_of_round: Decimal | None = None
    maximum_taper: Decimal | None = None
    permission: Machining = Machining.NOT_STATED
    construction: Construction | None = None
    expansion_per_k: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """A released limits record as the engine needs it: its figures, where they stand, until when they hold.

    `by_one_person` where one person made both its entries.
    """

    limits_id: str
    revision: int
    limits: LimitSet
    source: str
    review_due: datetime.date | None = None
    by_one_person: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """One value that a limit might take, where it comes from and what says so."""

    value: Decimal
    origin: Origin
    source: str


@dataclass(frozen=True, slots=True)
class Governing:
    """The candidate that governs, with the ones that it overrules."""

    value: Decimal
    origin: Origin
    source: str
    sense: Sense
    others: tuple[Candidate, ...] = ()

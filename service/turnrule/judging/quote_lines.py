"""A quote as it is held against what is known: its lines, the parts, the stated total.

Lengths in mm, distances in km; prices are exact decimals in a currency of the caller's, which is never converted.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.lengths import EXACT
from turnrule.judging.parts import Application, AskedCut, Part
from turnrule.judging.quote_words import Operation, Outdated
from turnrule.judging.verdict import Verdict
from turnrule.judging.words import Axle, Kind, LatheKind, Side, Unit


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part sits and what it is; None is not said."""

    axle: Axle | None = None
    side: Side | None = None
    kind: Kind | None = None

    def fits(self, other: Place) -> bool:
        """True where the two may be the same place: nothing that both say differs."""
        pairs = ((self.axle, other.axle), (self.side, other.side), (self.kind, other.kind))
        return all(mine is None or theirs is None or mine is theirs for mine, theirs in pairs)

    def covers(self, other: Place) -> bool:
        """True where the other is this place for all that this one says: what it does not say of itself is no match."""
        pairs = ((self.axle, other.axle), (self.side, other.side), (self.kind, other.kind))
        return all(mine is None or mine is theirs for mine, theirs in pairs)

    def filled(self, other: Place) -> Place:
        """This place, with what it does not say taken from the other."""
        return Place(self.axle or other.axle, self.side or other.side, self.kind or other.kind)


@dataclass(frozen=True, slots=True)
class Charge:
    """What is asked for a piece of work: `price` of the part or the job, `labour`; None is not given, 0 is nothing.

    `discount` is taken off both.
    """

    price: Decimal | None = None
    labour: Decimal | None = None
    discount: Decimal | None = None

    @property
    def is_priced(self) -> bool:
        """True where a price or labour is given."""
        return self.price is not None or self.labour is not None

    @property
    def amount(self) -> Decimal | None:
        """What the line adds to the quote; None where it says nothing of money."""
        if not self.is_priced and self.discount is None:
            return None
        nothing = Decimal(0)
        whole = EXACT.add(self.price or nothing, self.labour or nothing)
        return EXACT.subtract(whole, self.discount or nothing)


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line. It names a part, or says the axle, kind and sides that it is about; `other` may say neither."""

    operation: Operation
    part: str | None = None
    axle: Axle | None = None
    sides: tuple[Side, ...] = ()
    kind: Kind | None = None
    cut: AskedCut | None = None
    lathe: LatheKind | None = None
    charge: Charge = Charge()
    currency: str | None = None


@dataclass(frozen=True, slots=True)
class KnownPart:
    """A part that the quote may be about, with its verdict where there is one.

    `told` is the place as the quote's parts say it. `new_size` is that of a new part, `new_distance_km` how far one is
    expected to last, `other_way` what the way that the quote does not take would cost.
    """

    name: str | None
    told: Place = Place()
    part: Part | None = None
    verdict: Verdict | None = None
    verdict_id: str | None = None
    outdated: Outdated | None = None
    new_size: Decimal | None = None
    new_distance_km: Decimal | None = None
    other_way: Charge | None = None

    @property
    def read(self) -> Place:
        """The place that its readings were taken at."""
        if self.part is None:
            return Place()
        axle = self.part.application.axle if self.part.application is not None else None
        return Place(axle, self.part.side, self.part.kind)

    @property
    def place(self) -> Place:
        """Where it sits, by what is told of it, else by its readings."""
        return self.told.filled(self.read)

    @property
    def application(self) -> Application | None:
        """The vehicle that its readings were taken on."""
        return self.part.application if self.part is not None else None


@dataclass(frozen=True, slots=True)
class Quote:
    """A whole quote; `unit` is the one that people are told lengths in."""

    unit: Unit
    lines: tuple[QuoteLine, ...]
    parts: tuple[KnownPart, ...] = ()
    total: Decimal | None = None
    currency: str | None = None

"""Which parts each line is about: what is known and what nobody measured stand side by side, each with its work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

from turnrule.judging.quote_lines import KnownPart, Place, Quote, QuoteLine
from turnrule.judging.quote_words import Operation
from turnrule.judging.words import Ruling, Side


class Work(IntEnum):
    """What becomes of a part, from least to most."""

    NONE = 0
    MACHINED = 1
    REPLACED = 2


@dataclass(frozen=True, slots=True)
class Target:
    """A part with the lines about it, by their place in the quote; `number` is its own among all parts.

    A part that the quote's parts do not hold has a number beyond theirs.
    """

    number: int
    known: KnownPart
    place: Place
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """A quote laid out part by part."""

    quote: Quote
    targets: tuple[Target, ...]

    def having(self, target: Target, operation: Operation) -> tuple[int, ...]:
        """The lines that do this to a part."""
        return tuple(index for index in target.lines if self.quote.lines[index].operation is operation)

    def quoted(self, target: Target) -> Work:
        """The most that the quote does to a part."""
        if self.having(target, Operation.REPLACE):
            return Work.REPLACED
        return Work.MACHINED if self.having(target, Operation.MACHINE) else Work.NONE

    def expected(self, target: Target) -> Work:
        """What becomes of a part by the quote or by its own verdict, whichever is more."""
        return max(self.quoted(target), asked_by(target))

    def partners(self, target: Target) -> tuple[Target, ...]:
        """The parts of the same axle and kind on the other side."""
        place = target.place
        if place.side is None or place.axle is None or place.kind is None:
            return ()
        other = Place(place.axle, Side.RIGHT if place.side is Side.LEFT else Side.LEFT, place.kind)
        return tuple(one for one in self.targets if one.place == other)

    def share(self, index: int) -> int:
        """How many parts a line is about; its price is for all of them."""
        return sum(index in target.lines for target in self.targets)


def asked_by(target: Target) -> Work:
    """What a part's own verdict asks for."""
    verdict = target.known.verdict
    if verdict is None:
        return Work.NONE
    return {Ruling.REPLACE: Work.REPLACED, Ruling.MACHINE: Work.MACHINED}.get(verdict.ruling, Work.NONE)


def laid_out(quote: Quote) -> Laid:
    """The quote part by part; a line about a part that is not held makes one that nothing is known of."""
    parts = [(known, known.place) for known in quote.parts]
    about: list[list[int]] = [[] for _ in parts]
    for index, line in enumerate(quote.lines):
        for number in _meant(line, parts):
            if number == len(about):
                about.append([])
            about[number].append(index)
    targets = [
        Target(number, known, place, tuple(lines))
        for number, ((known, place), lines) in enumerate(zip(parts, about, strict=True))
    ]
    return Laid(quote, tuple(targets))


def _meant(line: QuoteLine, parts: list[tuple[KnownPart, Place]]) -> Sequence[int]:
    """The numbers of the parts that a line is about, each once; a part that is not there is added.

    A line that names no part is about those whose place is known to be the one that it says.
    """
    if line.part is not None:
        return [number for number, (known, _) in enumerate(parts) if known.name == line.part]
    if line.axle is None and line.kind is None and not line.sides:
        return []
    meant: list[int] = []
    for side in line.sides or (None,):
        wanted = Place(line.axle, side, line.kind)
        found = [number for number, (_, place) in enumerate(parts) if wanted.covers(place)]
        if not found:
            parts.append((KnownPart(None, wanted), wanted))
            found = [len(parts) - 1]
        meant += found
    return list(dict.fromkeys(meant))

"""What the call-back list tells: axles of vehicles, their parts, why each is listed and how urgent it is."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from turnrule.judging.words import Axle, Kind, Ruling


class Urgency(StrEnum):
    """What an entry of the list asks for, most urgent first."""

    CALL_BACK = "call_back"
    REPLACE = "replace"
    SETTLE = "settle"
    CHECK = "check"
    NOTHING_LOST = "nothing_lost"

    @property
    def rank(self) -> int:
        """0 for the most urgent."""
        return list(Urgency).index(self)


class Reason(StrEnum):
    """Why a part is on the list."""

    WITHDRAWN = "limits_withdrawn"
    REPLACE = "replace"
    INCONCLUSIVE = "inconclusive"
    CHANGED = "comes_out_differently"


@dataclass(frozen=True, slots=True)
class CalledPart:
    """One part on the list, by its newest verdict."""

    side: str | None
    verdict_id: str
    judged_at: datetime.datetime
    site: str | None
    reference: str | None
    ruling: Ruling
    now: Ruling | None
    """What it comes out as under the newest release, where that is something else; None for the same."""

    reasons: tuple[Reason, ...]
    urgency: Urgency
    what_to_do: str


@dataclass(frozen=True, slots=True)
class CallBack:
    """One axle of one vehicle: its parts on the list, and what the most urgent of them asks for."""

    vehicle: str
    axle: Axle
    kind: Kind
    parts: tuple[CalledPart, ...]

    @property
    def first(self) -> CalledPart:
        """The most urgent part."""
        return min(self.parts, key=lambda part: part.urgency.rank)


@dataclass(frozen=True, slots=True)
class CallBackSoFar:
    """How many verdicts were looked at."""

    verdicts: int


@dataclass(frozen=True, slots=True)
class CallBackDone:
    """The end: the release that was compared with, how many parts there are, how many entries of each urgency."""

    release: int | None
    parts: int
    urgencies: Mapping[Urgency, int]

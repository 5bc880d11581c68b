"""One stored verdict beside the same part judged again under a release: how it stood, how it stands, what differs.

Both sides are read from answers in the contract's names, so that a figure is compared as it was sent.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from turnrule.judging.parts import Application
from turnrule.judging.words import Kind, Ruling
from turnrule.store.port import VerdictRecord

Answer = Mapping[str, Any]
"""An answer as it was sent, every number an exact decimal."""

_BY_ITSELF = frozenset({"id", "judged_at", "digest", "release"})
"""What differs from one judgement to the next whatever the limits say."""

_OF_PROGRAM = frozenset({"pack", "engine"})
"""What another version of the program changes, and no release of limits."""


@dataclass(frozen=True, slots=True)
class Deciding:
    """The check that decides a verdict, with its limit in `unit`."""

    check: str
    limit: Decimal | None
    unit: str | None
    origin: str | None


@dataclass(frozen=True, slots=True)
class Standing:
    """How a part stands under one release.

    `cut_allowed` answers for the cut that the caller asked for; None where none was, or where it cannot be told.
    `most_total_cut` is the metal that may still come off, in the unit of the request; None where none may.
    """

    ruling: Ruling
    release: int | None
    limits_id: str | None
    limits_revision: int | None
    governing: Deciding | None
    cut_allowed: bool | None
    most_total_cut: Decimal | None


@dataclass(frozen=True, slots=True)
class ChangedCheck:
    """A check that comes out differently; None where it was not made."""

    check: str
    quantity: str | None
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Why a part cannot be judged any more."""

    code: str
    detail: str


@dataclass(frozen=True, slots=True)
class Concerned:
    """The stored verdict that a line is about; `unit` is that of its request."""

    sequence: int
    id: str
    judged_at: datetime.datetime
    site: str | None
    vehicle: str | None
    reference: str | None
    kind: Kind
    application: Application | None
    side: str | None
    unit: str


def concerned(record: VerdictRecord, application: Application | None, answer: Answer) -> Concerned:
    """The verdict that a line is about; `application` is the request's own, where it could be read."""
    return Concerned(
        sequence=record.sequence,
        id=record.id,
        judged_at=record.judged_at,
        site=record.site,
        vehicle=record.vehicle,
        reference=record.reference,
        kind=record.kind,
        application=application or _recorded_application(record),
        side=record.side,
        unit=answer["unit"],
    )


def _recorded_application(record: VerdictRecord) -> Application | None:
    """What the record says of the application; it does not repeat the brake option."""
    make, model, year, axle = record.make, record.model, record.year, record.axle
    if make is None or model is None or year is None or axle is None:
        return None
    return Application(make, model, year, axle)


def standing(answer: Answer) -> Standing:
    """How a part stands by an answer."""
    limits, cut, governing = answer["limits"], answer["cut"], answer["governing"]
    return Standing(
        ruling=Ruling(answer["verdict"]),
        release=_whole(answer["release"]),
        limits_id=limits["limits_id"],
        limits_revision=_whole(limits["revision"]),
        governing=None if governing is None else Deciding(**governing),
        cut_allowed=cut["allowed"] if cut is not None and cut["asked"] else None,
        most_total_cut=answer["room"]["most_total_cut"],
    )


def _whole(number: Decimal | None) -> int | None:
    return None if number is None else int(number)


def differing(before: Answer, after: Answer) -> tuple[str, ...]:
    """The fields of an answer that are not what they were, those of another engine or pack included."""
    names = (before.keys() | after.keys()) - _BY_ITSELF
    return tuple(sorted(name for name in names if before.get(name) != after.get(name)))


def by_limits(differs: tuple[str, ...]) -> bool:
    """True where more differs than the names of the engine and the pack."""
    return not _OF_PROGRAM.issuperset(differs)


def changed_checks(before: Answer, after: Answer) -> Iterator[ChangedCheck]:
    """The checks that come out differently, in the order of the answer; the same check may be made more than once."""
    then, now = _outcomes(before), _outcomes(after)
    for key in now | then:
        if now.get(key) != then.get(key):
            check, quantity, _ = key
            yield ChangedCheck(check, quantity, then.get(key), now.get(key))


def _outcomes(answer: Answer) -> dict[tuple[str, str | None, int], str]:
    """The outcome of each check, by its name, its quantity and which of those that are alike it is."""
    seen: Counter[tuple[str, str | None]] = Counter()
    outcomes = {}
    for check in answer["checks"]:
        name = check["check"], check["quantity"]
        outcomes[*name, seen[name]] = check["outcome"]
        seen[name] += 1
    return outcomes

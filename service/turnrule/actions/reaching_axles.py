"""Judge the two sides of an axle, each as a part by itself, and then together; nothing is written.

Both are judged as of one moment, under one policy revision, one release, one count of withdrawals and, where they name
the same lathe, one revision of it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from turnrule.actions.answers import Basis
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Reached, reach, release_number
from turnrule.actions.plausible import new_size_faults
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import AskedLathe, ReadAxle, ReadSide, placed
from turnrule.actions.sites import policy_for
from turnrule.judging.axle import AxleVerdict, judge_axle
from turnrule.judging.axle_sides import AxleSide
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.policy import Policy
from turnrule.judging.words import Side


class NewSizeFrom(StrEnum):
    """Where the size of a new part comes from."""

    NEW_PART = "new_part"
    REFERENCE = "reference"
    CALLER = "caller"


@dataclass(frozen=True, slots=True)
class NewPart:
    """The size (mm) of the part that would take a side's place, and what says so."""

    size: Decimal
    origin: NewSizeFrom


@dataclass(frozen=True, slots=True)
class SideReached:
    """The verdict on one side by itself, and the new part that would take its place, where its size is known."""

    read: ReadSide
    reached: Reached
    new_part: NewPart | None

    def as_side(self) -> AxleSide:
        """The side as the judgement of the pair needs it."""
        new_size = self.new_part.size if self.new_part is not None else None
        part = self.read.request.part
        kind = self.reached.work.kind or part.lathe  # that of a profile is known only now
        return AxleSide(replace(part, lathe=kind), self.reached.verdict, new_size)


@dataclass(frozen=True, slots=True)
class AxleReached:
    """An axle that was judged and is not stored yet: its sides by themselves, and what comes of the pair."""

    sides: Mapping[Side, SideReached]
    axle: AxleVerdict

    @property
    def basis(self) -> Basis:
        """What both sides were judged under."""
        return next(iter(self.sides.values())).reached.basis

    @property
    def missed(self) -> bool:
        """True where the store holds no limits for the application that the axle names."""
        return any(one.reached.missed for one in self.sides.values())


def reach_axle(desk: Desk, request: ReadAxle, at: datetime.datetime) -> AxleReached:
    """The judgement of an axle as of the moment `at`.

    Raises `PartError` and `RefusedError` with the faults of both sides, their pointers into the axle's body.
    """
    policy = policy_for(desk, request.shared.policy)
    release, withdrawn = release_number(desk, request.shared.release), desk.store.last_withdrawal()
    sides = _each(desk, request, at, policy, release, withdrawn)
    if len({one.reached.basis.release for one in sides.values()}) > 1:
        return reach_axle(desk, request, at)  # the first release of all came between the two; now it is there for both
    left, right = (sides[side].as_side() if side in sides else None for side in Side)
    return AxleReached(sides, judge_axle(left, right, policy))


def _each(
    desk: Desk, request: ReadAxle, at: datetime.datetime, policy: Policy, release: int | None, withdrawn: int
) -> dict[Side, SideReached]:
    """Both sides by themselves; a lathe that both name is one revision. Raises with the faults of both."""
    reached: dict[Side, SideReached] = {}
    lathes: dict[AskedLathe | None, LatheProfile | None] = {}
    faults: list[Fault] = []
    codes: list[str] = []
    for side, one in request.sides.items():
        under = replace(one.request, release=release)
        try:
            lathe = lathes.get(under.lathe)
            found = reach(desk, under, at, policy=policy, withdrawn=withdrawn, lathe=lathe)
        except PartError as error:
            faults += placed(error.faults, side, one.beside)
        except RefusedError as refusal:
            faults += placed(refusal.faults, side, one.beside)
            codes.append(refusal.code)
        else:
            lathes[under.lathe] = found.work.profile
            reached[side] = SideReached(one, found, new_part_of(one, found))
            faults += placed(_slips_of_new_part(one, found), side, one.beside)
    each_once = {(fault.pointer, fault.code): fault for fault in faults}.values()
    if codes:
        raise RefusedError(codes[0], each_once)
    if each_once:
        raise PartError(tuple(each_once))
    return reached


def _slips_of_new_part(read: ReadSide, reached: Reached) -> list[Fault]:
    """What speaks against the size of the new part that the request gives, if it gives one."""
    if read.new_size is None:
        return []
    discard = reached.verdict.limits.discard
    limit = discard.value if discard is not None else None
    return list(new_size_faults(read.new_size, read.request.part, reached.nominal, limit))


def new_part_of(read: ReadSide, reached: Reached) -> NewPart | None:
    """The part that would take a side's place: of the size that the request gives, else the nominal one, if known."""
    caller = read.request.caller
    sizes = (
        (read.new_size, NewSizeFrom.NEW_PART),
        (reached.nominal, NewSizeFrom.REFERENCE),
        (caller.nominal if caller is not None else None, NewSizeFrom.CALLER),
    )
    return next((NewPart(size, origin) for size, origin in sizes if size is not None), None)

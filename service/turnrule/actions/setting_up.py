"""Check a set-up: limits are found as a verdict finds them, the engine works the readings out; nothing is stored."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Ground, ground_for, slips_in, with_assumed_option
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadRequest
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.lathe_words import Given
from turnrule.judging.setup_check import SetupCheck, check_setup
from turnrule.judging.setup_request import PassDepths, SetupRequest
from turnrule.judging.setup_summary import setup_cautions, summary_of_setup
from turnrule.judging.verdict import Caution


@dataclass(frozen=True, slots=True)
class ReadSetup:
    """A check to be made, with what the limits are found by.

    `places` are the pointers of the part's sizes, where they were not sent as its thickness or diameter.
    """

    setup: SetupRequest
    request: ReadRequest
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CheckedSetup:
    """What a check came to, and what it was made under."""

    check: SetupCheck
    summary: str
    cautions: tuple[Caution, ...]
    ground: Ground
    at: datetime.datetime


def check_mounted(desk: Desk, read: ReadSetup, at: datetime.datetime) -> CheckedSetup:
    """What the readings tell as of the moment `at`.

    Raises `PartError` with every fault of the request, and `RefusedError` for limits, policies, releases or lathes that
    are not there.
    """
    ground = ground_for(desk, read.request, at)
    slips = slips_in(read.request, ground)
    try:
        check = check_setup(
            _on_lathe(read.setup, ground.lathe),
            record=ground.record,
            caller=read.request.caller,
            policy=ground.policy,
            catalogue=desk.pack.catalogue,
            on=at.date(),
            withdrawn=ground.withdrawal,
        )
    except PartError as error:
        raise PartError(tuple(_placed([*slips, *error.faults], read))) from None
    if slips:
        raise PartError(tuple(_placed(slips, read)))
    cautions = setup_cautions(check)
    if ground.found is not None and ground.found.assumed_option is not None:
        cautions = with_assumed_option(desk, cautions, ground.found.assumed_option)
    return CheckedSetup(check, summary_of_setup(check), cautions, ground, at)


def _on_lathe(setup: SetupRequest, lathe: LatheProfile | None) -> SetupRequest:
    """The check with what the lathe's own figures say, where the request does not."""
    if lathe is None:
        return setup
    depths = setup.depths or PassDepths(lathe.least_depth, lathe.greatest_depth, Given.LATHE)
    return replace(setup, part=replace(setup.part, lathe=lathe.kind), depths=depths)


def further_setup_faults(desk: Desk, partial: ReadSetup, at: datetime.datetime) -> tuple[Fault, ...]:
    """What store, policy and engine have to say to what could be read of a faulty request."""
    try:
        check_mounted(desk, partial, at)
    except (PartError, RefusedError) as error:
        return error.faults
    return ()


def _placed(faults: Iterable[Fault], read: ReadSetup) -> Iterator[Fault]:
    """Faults of sizes, where these were sent elsewhere than as the part's thickness or diameter."""
    own = "/thickness/" if read.request.part.kind.is_rotor else "/diameter/"
    for fault in faults:
        if read.places and fault.pointer.startswith(own):
            yield replace(fault, pointer=read.places[int(fault.pointer.removeprefix(own))])
        else:
            yield fault

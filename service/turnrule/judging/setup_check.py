"""The check of a set-up: the one door from what was read at the lathe to whose the wobble is and what to do."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal, localcontext

from turnrule.judging.affording import Affording, affording_of, least_left, mounted_right
from turnrule.judging.case import Case, prepare
from turnrule.judging.catalogue import Catalogue
from turnrule.judging.drum_form import DrumForm
from turnrule.judging.faults import Fault, PartError, faults_of
from turnrule.judging.index_positions import MatchMounting
from turnrule.judging.lathe_words import Given, Mounted
from turnrule.judging.lengths import EXACT
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.mounting import MountCheck
from turnrule.judging.planes import Planes
from turnrule.judging.policy import Policy
from turnrule.judging.scratch import Passes, count_passes, faults_of_depths, passes_to_expect
from turnrule.judging.separation import Doubt
from turnrule.judging.setup_blocks import Blocks
from turnrule.judging.setup_request import Chosen, PassDepths, SetupRequest
from turnrule.judging.trace import total_indicator_reading
from turnrule.judging.uncertainty import of_instrument

MOUNT_FIGURE = "greatest_mount_runout"
ANGLE_FIGURE = "angle_on_part_uncertainty"
COVERED_FIGURE = "covered_part_uncertainty"
LEAST_PASS_FIGURE, GREATEST_PASS_FIGURE = "finish_cut_least", "finish_cut_greatest"
"""The practice figures that stand where the request is silent; angles and covered parts in degrees."""

_TURN = Decimal(360)


@dataclass(frozen=True, slots=True)
class FiguresUsed:
    """What the check goes by: the U of a reading (mm), an angle (degrees), a covered fraction; limit and depths."""

    reading: Decimal
    angle: Chosen
    covered: Chosen
    mount_limit: Chosen
    depths: PassDepths

    @property
    def doubt(self) -> Doubt:
        """The uncertainties together."""
        return Doubt(self.reading, self.angle.value, self.covered.value)


@dataclass(frozen=True, slots=True)
class SetupCheck:
    """What was told, block by block; None for a block that was not asked for.

    `turned` is how far the part was turned at each reading, `passes` are those still to expect after it, and `runouts`
    the whole TIR of each trace (None: a scratch). `needed` is the thickness that must be left of a rotor, `limited`
    whether the request says which limits hold.
    """

    case: Case
    used: FiguresUsed
    mounting: MountCheck | None
    turned: tuple[Decimal, ...]
    passes: tuple[Passes, ...]
    runouts: tuple[Decimal | None, ...]
    hub: MatchMounting | None
    faces: Planes | None
    tracks: DrumForm | None
    affording: Affording | None
    needed: Decimal | None
    limited: bool

    @property
    def ready(self) -> bool | None:
        """True where all that was asked is told and nothing stands against it; None where something is open."""
        answers = [answer for told in (self._mounted, self._afforded, self._geometry) for answer in told()]
        if False in answers:
            return False
        return None if None in answers else True

    def _mounted(self) -> tuple[bool | None, ...]:
        answers = {Mounted.RIGHT: True, Mounted.AGAIN: False, Mounted.CANNOT_TELL: None}
        return () if self.mounting is None else (answers[self.mounting.mounted],)

    def _afforded(self) -> tuple[bool | None, ...]:
        return () if self.affording is None else (self.affording.affordable,)

    def _geometry(self) -> tuple[bool | None, ...]:
        told: list[bool | None] = []
        if self.hub is not None:
            told.append(None if self.hub.best is None else True)
        if self.faces is not None:
            told.append(_cuttable(self.faces, limited=self.limited))
        if self.tracks is not None:
            told.append(None if self.tracks.least_finished is None else True)
        return tuple(told)


def _cuttable(planes: Planes, *, limited: bool) -> bool | None:
    """Whether the least cut leaves enough, or is known at all where nothing says how much is enough."""
    if planes.unequal is None or planes.closes is False:
        return None
    return planes.unequal.allowed if limited else True


def check_setup(
    setup: SetupRequest,
    *,
    record: Record | None,
    caller: LimitSet | None,
    policy: Policy,
    catalogue: Catalogue,
    on: datetime.date,
    withdrawn: str | None = None,
) -> SetupCheck:
    """What the readings at the lathe tell as of the day `on`, for a part under these limits.

    The same arguments give an equal answer, always and anywhere. Raises `PartError` with every fault of the request.
    """
    used = _figures(setup, policy, catalogue)
    faults = [*_faults(setup, used), *_part_faults(setup, record, caller, policy, catalogue)]
    work = Blocks(setup, used.doubt, used.mount_limit.value, faults)
    mounting = work.mounting()
    case = None
    if not faults:
        with localcontext(EXACT):
            case = prepare(
                mounted_right(setup.part, mounting),
                record=record,
                caller=caller,
                policy=policy,
                catalogue=catalogue,
                on=on,
                withdrawn=withdrawn,
            )
    return _checked(work, used, case, mounting)


def _checked(work: Blocks, used: FiguresUsed, case: Case | None, mounting: MountCheck | None) -> SetupCheck:
    """The rest of the blocks. Raises `PartError` with the faults of all of them."""
    setup = work.setup
    with localcontext(EXACT):
        needed = None if case is None or not setup.part.kind.is_rotor else least_left(case)
    hub, faces, tracks = work.hub(), work.faces(needed), work.tracks()
    if case is None or work.faults:
        raise PartError(tuple(work.faults))
    affording = None
    if mounting is not None and (_has_limits(setup, case) or setup.part.cut is not None or setup.part.readings.track):
        with localcontext(EXACT):
            affording = affording_of(case, mounting)
    passes = tuple(_passes(mounting, setup.readings, used.depths)) if mounting is not None else ()
    runouts = tuple(total_indicator_reading(r.trace) if r.trace else None for r in setup.readings)
    limited = _has_limits(setup, case)
    turned = tuple(reading.turned for reading in setup.readings)
    return SetupCheck(case, used, mounting, turned, passes, runouts, hub, faces, tracks, affording, needed, limited)


def _has_limits(setup: SetupRequest, case: Case) -> bool:
    """True where the request says which limits hold, whether or not they are known."""
    origins = case.origins
    said = (setup.part.marking, setup.part.application, origins.record, origins.caller)
    return any(one is not None for one in said)


def _figures(setup: SetupRequest, policy: Policy, catalogue: Catalogue) -> FiguresUsed:
    """What the request says, and good practice where it is silent."""

    def chosen(stated: Decimal | None, figure: str, divisor: Decimal = Decimal(1)) -> Chosen:
        if stated is not None:
            return Chosen(stated, Given.REQUEST)
        return Chosen(catalogue.practice[figure].value / divisor, Given.PRACTICE)

    least, greatest = (catalogue.practice[figure].value for figure in (LEAST_PASS_FIGURE, GREATEST_PASS_FIGURE))
    with localcontext(EXACT):
        reading = of_instrument(setup.part.instrument, policy.instrument).expanded
    return FiguresUsed(
        reading=reading,
        angle=chosen(setup.angle_uncertainty, ANGLE_FIGURE),
        covered=chosen(setup.covered_uncertainty, COVERED_FIGURE, _TURN),
        mount_limit=chosen(setup.mount_limit, MOUNT_FIGURE),
        depths=setup.depths or PassDepths(least, greatest, Given.PRACTICE),
    )


def _faults(setup: SetupRequest, used: FiguresUsed) -> list[Fault]:
    """The faults that belong to no block, or to a block only as a whole."""
    found = list(faults_of_depths(used.depths.least, used.depths.greatest, "/passes"))
    if setup.hub is not None and (setup.hub.studs is None) is not bool(setup.hub.turns):
        detail = "give either the count of studs or the turns that the part can be mounted at, one of the two"
        found.append(Fault("/hub", "studs_or_turns", detail))
    if not (setup.readings or setup.hub or setup.faces or setup.tracks):
        blocks = "faces" if setup.part.kind.is_rotor else "tracks"
        detail = f"nothing was read: give readings, hub or {blocks}, one of them at least"
        found.append(Fault("", "nothing_read", detail))
    return found


def _part_faults(
    setup: SetupRequest, record: Record | None, caller: LimitSet | None, policy: Policy, catalogue: Catalogue
) -> list[Fault]:
    """The faults that a verdict on the part would have, but that limits may be wanting here."""
    found = faults_of(setup.part, caller=caller, policy=policy, catalogue=catalogue, record=record)
    return [fault for fault in found if (fault.pointer, fault.code) != ("/application", "missing")]


def _passes(mounting: MountCheck, readings: tuple[MountReading, ...], depths: PassDepths) -> list[Passes]:
    """The passes still to expect after each reading: by the scratch, or until the whole of the trace is true."""
    found = []
    for seen, reading in zip(mounting.seen, readings, strict=True):
        if seen.scratch is None:
            found.append(count_passes(total_indicator_reading(reading.trace), depths.least, depths.greatest))
        else:
            found.append(passes_to_expect(seen.scratch, depths.least, depths.greatest))
    return found

"""The blocks of a check at the lathe, each worked out by itself, their faults told in the names of the request."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from turnrule.judging.drum_form import DrumForm, form_of
from turnrule.judging.faults import Fault
from turnrule.judging.index_positions import MatchMounting, match_mounting, stud_positions
from turnrule.judging.lathe_faults import LatheDataError
from turnrule.judging.mounting import MountCheck, check_mounting
from turnrule.judging.planes import Planes, planes_of
from turnrule.judging.separation import Doubt
from turnrule.judging.setup_request import Hub, SetupRequest

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Blocks:
    """The blocks of a request, each worked out by itself; their faults are gathered under the request's names."""

    setup: SetupRequest
    doubt: Doubt
    mount_limit: Decimal
    faults: list[Fault]

    def mounting(self) -> MountCheck | None:
        """Whether the part is mounted right."""
        if not self.setup.readings:
            return None
        return self._told(lambda: check_mounting(self.setup.readings, self.doubt, self.mount_limit), _named)

    def hub(self) -> MatchMounting | None:
        """Where on the hub the part runs truest."""
        hub = self.setup.hub
        return None if hub is None else self._told(lambda: _matched(hub, self.doubt), _in_hub)

    def faces(self, needed: Decimal | None) -> Planes | None:
        """Where the tools must go."""
        faces = self.setup.faces
        if faces is None:
            return None
        whole = replace(faces, grooves=self.setup.part.readings.grooves)
        return self._told(lambda: planes_of(whole, least_left=needed), _in_faces)

    def tracks(self) -> DrumForm | None:
        """What form the drum has."""
        setup = self.setup
        if not setup.tracks:
            return None
        groove = max(setup.part.readings.grooves.values(), default=Decimal(0))
        return self._told(lambda: form_of(setup.tracks, runout=setup.track_runout, groove=groove), _in_tracks)

    def _told(self, work: Callable[[], T], name: Callable[[str], str]) -> T | None:
        try:
            return work()
        except LatheDataError as error:
            told = [Fault(name(fault.pointer), fault.code, fault.detail) for fault in error.faults]
            self.faults.extend(fault for fault in told if fault not in self.faults)
            return None


def _matched(hub: Hub, doubt: Doubt) -> MatchMounting:
    """The hub told apart from the part; without positions where what they are is a fault already."""
    turns = hub.turns or (Decimal(0),) if hub.studs is None else stud_positions(hub.studs)
    return match_mounting(hub.readings, turns, doubt, hub.now)


def _named(pointer: str) -> str:
    """A pointer of the engine in the request's names."""
    for own, name in (
        ("/fraction", "/covered"),
        ("/uncertainty/angle", "/angle_uncertainty"),
        ("/uncertainty/covered", "/covered_uncertainty"),
        ("/limit", "/mount_limit"),
    ):
        if pointer.endswith(own):
            return pointer.removesuffix(own) + name
    return pointer


def _in_hub(pointer: str) -> str:
    if pointer.startswith("/uncertainty"):
        return _named(pointer)
    return f"/hub{pointer}".replace("/hub/positions", "/hub/turns")


def _in_faces(pointer: str) -> str:
    return pointer if pointer.startswith("/groove_depth") else f"/faces{pointer}"


def _in_tracks(pointer: str) -> str:
    return "/setup_runout" if pointer == "/runout" else pointer

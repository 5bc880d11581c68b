"""Lathes: a shop's own figures for each, found by name; written as revisions that never change."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact, write_exact
from turnrule.actions.refusals import RefusedError, refused
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.lathe_profile import LatheProfile, Setting, Span, Steps, faults_of_profile
from turnrule.judging.lengths import EXACT, to_mm
from turnrule.judging.words import LatheKind, Unit
from turnrule.store.port import Key, LatheRevision

M_PER_MIN, FT_PER_MIN = "m/min", "ft/min"
METRES_PER_FOOT = Decimal("0.3048")
"""One foot, exactly (NIST SP 811, appendix B)."""

_POINTERS = {
    "/least_surface_speed": "/surface_speed/least",
    "/greatest_surface_speed": "/surface_speed/greatest",
}
"""Fields of a profile that the contract names otherwise."""

_SO_MANY_NAMES = 12


@dataclass(frozen=True, slots=True)
class LatheView:
    """One revision of a lathe: as it was written, and as passes are planned with it."""

    document: Mapping[str, Any]
    profile: LatheProfile
    written_at: datetime.datetime
    written_by: str

    @property
    def name(self) -> str:
        """The lathe's name."""
        return self.profile.name

    @property
    def revision(self) -> int:
        """The revision, from 1."""
        return self.profile.revision


def lathe_for(desk: Desk, name: str, revision: int | None = None, pointer: str = "/lathe/profile") -> LatheProfile:
    """The figures of a lathe, newest or of one revision. Raises `RefusedError` naming the nearest where there is none.

    `pointer` is where the name stands in the request; a revision stands beside it.
    """
    stored = desk.store.lathe(name, revision)
    if stored is not None:
        return _view(stored).profile
    if revision is not None and (newest := desk.store.lathe(name)) is not None:
        detail = f"the lathe {name!r} has no revision {revision}; its newest is {newest.revision}"
        raise refused("lathe_not_found", f"{pointer.rpartition('/')[0]}/revision", detail)
    raise _not_found(desk, name, pointer)


def _not_found(desk: Desk, name: str, pointer: str) -> RefusedError:
    names = sorted(lathe.name for lathe in desk.store.lathes())
    near = difflib.get_close_matches(name, names, n=1) or names[:_SO_MANY_NAMES]
    known = f"there is {', '.join(near)}" if near else "none was written here yet; write it with PUT /v1/lathes/{name}"
    return refused("lathe_not_found", pointer, f"there is no lathe {name!r}; {known}")


def read_lathe(desk: Desk, name: str, revision: int | None = None) -> LatheView | None:
    """One revision of a lathe, or its newest; None where there is none."""
    stored = desk.store.lathe(name, revision)
    return None if stored is None else _view(stored)


def list_lathes(desk: Desk, *, after: str = "", limit: int = 50) -> Sequence[LatheView]:
    """The newest revision of each lathe, by name after one of them."""
    found = sorted((lathe for lathe in desk.store.lathes() if lathe.name > after), key=lambda lathe: lathe.name)
    return [_view(lathe) for lathe in found[:limit]]


def lathe_revisions(desk: Desk, name: str, *, after: int = 0, limit: int = 50) -> Sequence[LatheView] | None:
    """The revisions of a lathe in rising order; None where there is no such lathe."""
    newest = desk.store.lathe(name)
    if newest is None:
        return None
    numbers = range(after + 1, min(after + limit, newest.revision) + 1)
    return [view for number in numbers if (view := read_lathe(desk, name, number)) is not None]


def write_lathe(
    desk: Desk, name: str, document: Mapping[str, object], key: Key, *, over: LatheView | None
) -> LatheView:
    """Write the revision of a lathe that comes after `over`, or its first where that is None.

    `document` has the shape of the contract. Raises `PartError` with every fault of the figures, `NameTakenError` where
    somebody else wrote that revision first.
    """
    if faults := lathe_faults(document):
        raise PartError(faults)
    revision = over.revision + 1 if over is not None else 1
    stored = LatheRevision(name, revision, write_exact(document), desk.clock(), key.name)
    desk.store.save_lathe(stored)
    return _view(stored)


def lathe_faults(document: Mapping[str, Any]) -> tuple[Fault, ...]:
    """What the figures of a body show together, with pointers into the body; each once."""
    # Compared in the body's own units, so that a detail shows the figures as they were written.
    surface = {**document["surface_speed"], "unit": M_PER_MIN}
    found = faults_of_profile(profile_of("", 0, {**document, "unit": Unit.MM, "surface_speed": surface}))
    told = (Fault(_POINTERS.get(fault.pointer, fault.pointer), fault.code, fault.detail) for fault in found)
    return tuple(dict.fromkeys(told))


def _view(stored: LatheRevision) -> LatheView:
    document = read_exact(stored.document)
    profile = profile_of(stored.name, stored.revision, document)
    return LatheView(document, profile, stored.written_at, stored.written_by)


def profile_of(name: str, revision: int, document: Mapping[str, Any]) -> LatheProfile:
    """The figures of a body of the contract's shape, in mm and m a minute, exactly."""
    unit, surface = Unit(document["unit"]), document["surface_speed"]
    return LatheProfile(
        name=name,
        revision=revision,
        kind=LatheKind(document["kind"]),
        least_depth=to_mm(document["least_depth"], unit),
        greatest_depth=to_mm(document["greatest_depth"], unit),
        finishing_depth=to_mm(document["finishing_depth"], unit),
        roughing_feed=to_mm(document["roughing_feed"], unit),
        finishing_feeds=_setting(document["finishing_feeds"], unit),
        speeds=_setting(document["speeds"], Unit.MM),
        nose_radius=to_mm(document["nose_radius"], unit),
        least_surface_speed=_metres(surface["least"], surface["unit"]),
        greatest_surface_speed=_metres(surface["greatest"], surface["unit"]),
        both_faces_at_once=document["both_faces_at_once"],
    )


def _setting(given: Any, unit: Unit) -> Setting:  # noqa: ANN401 - a list of steps, or an object with both ends
    if isinstance(given, Mapping):
        return Span(to_mm(given["least"], unit), to_mm(given["greatest"], unit))
    return Steps(tuple(to_mm(value, unit) for value in given))


def _metres(speed: Decimal, unit: str) -> Decimal:
    return speed if unit == M_PER_MIN else EXACT.multiply(speed, METRES_PER_FOOT)

"""What the readings come to: sizes, form, grooves, the runout to be trued and the clean-up size, in pm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.judging.agreement.exact import TICK, scaled, up
from tests.judging.agreement.told import REFERENCE, Told

HUNDRED_PM = TICK["mm"]
FAR_FROM_REFERENCE = 20 * 10**6


@dataclass(frozen=True, slots=True)
class Figures:
    """`contact` is the size at the tool's first contact with every face, `reach` what each face then needs to clean."""

    least: int | None
    greatest: int | None
    points: int | None
    variation: int | None
    taper: int | None
    runout: int | None
    to_true: int | None
    clean_up: int | None
    contact: int | None
    reach: dict[str, int]
    grooves: dict[str, int]
    groove: int | None
    cautions: frozenset[str]

    def deciding(self, sign: int) -> int | None:
        """The size that the strength checks look at: least of a rotor, greatest of a drum."""
        return self.least if sign > 0 else self.greatest


@dataclass(frozen=True, slots=True)
class Planes:
    """Clean-up size, size at first contact, and what each face then needs to clean up."""

    clean_up: int | None
    contact: int | None
    reach: dict[str, int]


def _range(values: Sequence[int]) -> int:
    return max(values) - min(values)


def _taper(told: Told) -> int | None:
    """|mean(outer) - mean(inner)| rounded up to 0.0000001 mm."""
    if not told.track or not told.inner:
        return None
    n, m = len(told.track), len(told.inner)
    return up(-(-abs(sum(told.track) * m - sum(told.inner) * n) // (n * m)), HUNDRED_PM)


def on_vehicle(told: Told, permission: str) -> bool:
    """Whether the on-vehicle rules serve: so it is said, or nothing is and the record allows no other lathe."""
    lathe = told.request.get("lathe")
    return lathe == "on_vehicle" or (lathe is None and permission == "on_vehicle_only")


def _to_true(told: Told, runout: int | None, *, vehicle: bool) -> tuple[int, str | None]:
    """The runout to be trued, and the caution that its origin calls for."""
    if told.rotor and vehicle:
        return (runout, None) if runout is not None else (0, "setup_runout_unknown")
    if told.setup is not None:
        return told.setup, None
    if told.rotor and runout is not None:
        on_lathe = told.request.get("runout_read_on") == "lathe"
        return runout, None if on_lathe else "runout_may_include_hub"
    return 0, "setup_runout_unknown"


def _traced(told: Told, *, bench: bool) -> Planes:
    """The planes from a trace at the track's own angles.

    A set-up that wobbles by more than the trace shows costs that much more before both faces clean up, and each face
    then has to be cut that much deeper. The size at first contact is not raised by it: that is the safe side.
    """
    trace = told.trace
    inboard = [o - t for o, t in zip(trace, told.track, strict=True)]
    highest, lowest = max(inboard), min(inboard)
    if told.inner and len(told.inner) == len(trace):
        inner = [o - t for o, t in zip(trace, told.inner, strict=True)]
        highest, lowest = max(highest, *inner), min(lowest, *inner)
    elif told.inner:
        highest = max(highest, max(trace) - min(told.inner))
    excess = max(0, told.setup - _range(trace)) if bench and told.setup is not None else 0
    return Planes(
        clean_up=min(trace) - highest - excess,
        contact=max(trace) - lowest,
        reach={"outboard": _range(trace) + excess, "inboard": highest - lowest + excess},
    )


def _planes(told: Told, to_true: int, *, bench: bool) -> Planes:
    """Clean-up size, size at first contact, and what each face must then lose to clean up."""
    sizes = (*told.track, *told.inner)
    reach = dict.fromkeys(told.faces, to_true)
    if not told.track:
        return Planes(None, None, reach)
    if not told.rotor:
        clean_up = max(sizes) + to_true
        return Planes(clean_up, clean_up - 2 * to_true, reach)
    if len(told.trace) == len(told.track):
        return _traced(told, bench=bench)
    return Planes(min(sizes) - to_true, min(sizes) + to_true, reach)


def _grooves(told: Told) -> dict[str, int]:
    """The deepest groove of each face: as read, or the depth of a finding on it (on every face where none is named)."""
    deepest = dict(told.grooves)
    for seen in told.seen:
        if seen.depth is not None:
            for face in (seen.face,) if seen.face else told.faces:
                deepest[face] = max(seen.depth, deepest.get(face, 0))
    return deepest


def figures_of(told: Told, permission: str) -> Figures:
    """Every figure of the readings, with the cautions that making them calls for."""
    vehicle = on_vehicle(told, permission)
    traced = _range(told.trace) if told.trace else None
    runout = max((read for read in (told.runout, traced) if read is not None), default=None)
    to_true, caution = _to_true(told, runout, vehicle=vehicle)
    planes = _planes(told, to_true, bench=not vehicle)
    tracks = [track for track in (told.track, told.inner) if track]
    sizes = (*told.track, *told.inner)
    grooves = _grooves(told)
    cautions = {caution} if caution else set()
    warmth = told.request.get("part_temperature_c")
    if warmth is not None and abs(scaled(warmth, 6) - REFERENCE) > FAR_FROM_REFERENCE:
        cautions.add("part_not_at_reference_temperature")
    return Figures(
        least=min(sizes, default=None),
        greatest=max(sizes, default=None),
        points=min(map(len, tracks), default=None),
        variation=max(map(_range, tracks), default=None),
        taper=_taper(told),
        runout=runout,
        to_true=None if caution == "setup_runout_unknown" else to_true,
        clean_up=planes.clean_up,
        contact=planes.contact,
        reach=planes.reach,
        grooves=grooves,
        groove=max(grooves.values(), default=None),
        cautions=frozenset(cautions),
    )

"""The blocks of a check of a set-up as JSON: the mount, the hub, both faces, a drum's tracks.

Bounds and uncertainties are rounded outwards, what has to come off is rounded up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from enum import StrEnum
from typing import TypeVar

from turnrule.actions.answers import Json, depths_document
from turnrule.actions.numbers import Lengths, number
from turnrule.judging.drum_form import DrumForm, TrackForm
from turnrule.judging.index_positions import IndexPosition, MatchMounting
from turnrule.judging.mount_readings import Seen
from turnrule.judging.mounting import MountCheck
from turnrule.judging.part_form import OwnForm
from turnrule.judging.planes import CutPlan, FaceCut, Planes
from turnrule.judging.scratch import Passes, ScratchReading
from turnrule.judging.setup_check import SetupCheck
from turnrule.judging.setup_sentences import EXPECTED, LOOK_AT, MISSING, NOTES
from turnrule.judging.vectors import Wobble
from turnrule.judging.words import Face

Word = TypeVar("Word", bound=StrEnum)


def said(words: Iterable[Word], sentences: Mapping[Word, str]) -> list[Json]:
    """Codes, each with its sentence."""
    return [{"code": word, "text": sentences[word]} for word in words]


def readings_document(check: SetupCheck, told: MountCheck, length: Lengths) -> Json:
    """Whether the part is mounted right, and whose the wobble is."""
    rows = zip(check.turned, told.seen, check.passes, check.runouts, strict=True)
    return {
        "mounted": told.mounted,
        "limit": length(told.limit, ROUND_FLOOR),
        "mount": _doubtful(told.mount, told.mount_uncertainty, length),
        "part": _doubtful(told.part, told.part_uncertainty, length),
        "each_at_least": length(told.each_at_least, ROUND_FLOOR),
        "each_at_most": length(told.each_at_most, ROUND_CEILING),
        "metal_cost": length(told.metal_cost, ROUND_CEILING),
        "misfit": length(told.misfit),
        "form": _form(told.form, length),
        "each": [
            {"turned": number(turned), **_seen(seen, passes, whole, length)} for turned, seen, passes, whole in rows
        ],
        "look_at": said(told.look_at, LOOK_AT),
        "missing": said(told.missing, MISSING),
        "notes": said(told.notes, NOTES),
    }


def _wobble(wobble: Wobble | None, length: Lengths) -> Json | None:
    return None if wobble is None else {"runout": length(wobble.runout), "angle": number(wobble.angle)}


def _doubtful(wobble: Wobble | None, uncertainty: Decimal | None, length: Lengths) -> Json | None:
    """A wobble that was told apart, with its U."""
    if wobble is None:
        return None
    return {
        "runout": length(wobble.runout),
        "angle": number(wobble.angle),
        "uncertainty": length(uncertainty, ROUND_CEILING),
    }


def _form(form: OwnForm | None, length: Lengths) -> Json | None:
    if form is None:
        return None
    return {
        "runout": length(form.runout),
        "residual": length(form.residual),
        "mixed_harmonics": list(form.mixed_harmonics),
        "trace": [length(reading) for reading in form.trace],
    }


def _seen(seen: Seen, passes: Passes, whole: Decimal | None, length: Lengths) -> Json:
    """One reading by itself."""
    scratch = seen.scratch
    return {
        "wobble": _wobble(seen.wobble, length),
        "runout": length(whole),
        "residual": length(seen.residual),
        "scratch": None if scratch is None else _scratch(scratch, length),
        "passes": {
            "least": passes.least,
            "most": passes.most,
            "expected": None if passes.expected is None else said([passes.expected], EXPECTED)[0],
        },
    }


def _scratch(scratch: ScratchReading, length: Lengths) -> Json:
    return {
        "covered": number(scratch.covered),
        "centre": number(scratch.centre),
        "runout": length(scratch.runout),
        "at_least": length(scratch.at_least, ROUND_FLOOR),
        "at_most": length(scratch.at_most, ROUND_CEILING),
        "to_go": length(scratch.to_go, ROUND_CEILING),
        "to_go_at_most": length(scratch.to_go_at_most, ROUND_CEILING),
        "notes": said(scratch.notes, NOTES),
    }


def hub_document(told: MatchMounting, length: Lengths) -> Json:
    """Hub and part apart, and where the part runs truest."""
    return {
        "part": _doubtful(told.rotor, told.rotor_uncertainty, length),
        "hub": _doubtful(told.hub, told.hub_uncertainty, length),
        "misfit": length(told.misfit),
        "form": _form(told.form, length),
        "now": _position(told.now, length),
        "best": _position(told.best, length),
        "turn_by": number(told.turn_by),
        "gain": length(told.gain, ROUND_FLOOR),
        "positions": [_position(position, length) for position in told.positions],
        "missing": said(told.missing, MISSING),
        "notes": said(told.notes, NOTES),
    }


def _position(position: IndexPosition | None, length: Lengths) -> Json | None:
    if position is None:
        return None
    return {
        "turned": number(position.turned),
        "remaining": length(position.remaining),
        "wobble": _wobble(position.wobble, length),
        "whole": length(position.whole),
    }


def faces_document(told: Planes, needed: Decimal | None, length: Lengths) -> Json:
    """Where the tools must go, what each face loses, and the least cuts."""
    return {
        "clean_up_thickness": length(told.clean_up, ROUND_FLOOR),
        "thickness_needed": length(needed, ROUND_CEILING),
        "outboard": _face(told.faces.get(Face.OUTBOARD), length),
        "inboard": _face(told.faces.get(Face.INBOARD), length),
        "least_unequal": _plan(told.unequal, length),
        "least_equal": _plan(told.equal_from_thinnest, length),
        "least_equal_from_first_contact": _plan(told.equal_from_contact, length),
        "closure": length(told.closure, ROUND_CEILING),
        "closes": told.closes,
        "missing": said(told.missing, MISSING),
        "notes": said(told.notes, NOTES),
    }


def _face(face: FaceCut | None, length: Lengths) -> Json | None:
    if face is None:
        return None
    return {
        "plane": length(face.plane),
        "from_first_contact": length(face.from_first_contact, ROUND_CEILING),
        "from_thinnest_point": length(face.from_thinnest_point, ROUND_CEILING),
        "metal": [length(metal, ROUND_CEILING) for metal in face.metal],
    }


def _plan(plan: CutPlan | None, length: Lengths) -> Json | None:
    if plan is None:
        return None
    return {
        "from_first_contact": depths_document(plan.from_first_contact, length),
        "from_thinnest_point": depths_document(plan.from_thinnest_point, length),
        "total": length(plan.total, ROUND_CEILING),
        "thickness_left": length(plan.thickness_left, ROUND_FLOOR),
        "allowed": plan.allowed,
    }


def tracks_document(told: DrumForm, length: Lengths) -> Json:
    """The form of a drum, and the least diameter that cleans it up."""
    return {
        "each": [_track(track, length) for track in told.tracks],
        "bell_mouth": length(told.bell_mouth, ROUND_CEILING),
        "taper": length(told.taper, ROUND_CEILING),
        "slope": number(told.slope),
        "barrel": length(told.barrel),
        "least_finished_diameter": length(told.least_finished, ROUND_CEILING),
        "missing": said(told.missing, MISSING),
        "notes": said(told.notes, NOTES),
    }


def _track(track: TrackForm, length: Lengths) -> Json:
    return {
        "mean_diameter": length(track.mean),
        "out_of_round": length(track.out_of_round, ROUND_CEILING),
        "runout": length(track.runout, ROUND_CEILING),
        "eccentricity": _wobble(track.eccentricity, length),
        "residual": length(track.residual),
    }

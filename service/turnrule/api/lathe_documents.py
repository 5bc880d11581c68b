"""Lathes as the JSON documents that are sent: as they were written, and in millimetres."""

from __future__ import annotations

from turnrule.actions.answers import Json, moment
from turnrule.actions.lathes import M_PER_MIN, LatheView
from turnrule.judging.lathe_profile import LatheProfile, Setting, Steps


def lathe_document(view: LatheView) -> Json:
    """One revision of a lathe."""
    return {
        "name": view.name,
        "revision": view.revision,
        "kind": view.profile.kind,
        "document": dict(view.document),
        "in_mm": _in_mm(view.profile),
        "written_at": moment(view.written_at),
        "written_by": view.written_by,
    }


def _in_mm(profile: LatheProfile) -> Json:
    """The figures as passes are planned with them."""
    return {
        "unit": "mm",
        "least_depth": profile.least_depth,
        "greatest_depth": profile.greatest_depth,
        "finishing_depth": profile.finishing_depth,
        "roughing_feed": profile.roughing_feed,
        "finishing_feeds": _setting(profile.finishing_feeds),
        "speeds": _setting(profile.speeds),
        "nose_radius": profile.nose_radius,
        "surface_speed": {
            "least": profile.least_surface_speed,
            "greatest": profile.greatest_surface_speed,
            "unit": M_PER_MIN,
        },
        "both_faces_at_once": profile.both_faces_at_once,
    }


def _setting(setting: Setting) -> object:
    if isinstance(setting, Steps):
        return list(setting.values)
    return {"least": setting.least, "greatest": setting.greatest}

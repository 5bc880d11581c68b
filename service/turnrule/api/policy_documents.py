"""Policies as they are answered: a revision with all that holds under it, in short, and what differs between two."""

from __future__ import annotations

from turnrule.actions.answers import Json, moment
from turnrule.actions.policies import PolicyView
from turnrule.actions.policy_changes import PolicyChange, PolicyChanges, catalogued
from turnrule.judging.catalogue import Catalogue
from turnrule.pack import Direction


def policy_document(view: PolicyView, book: Catalogue) -> Json:
    """One revision: as it was written, and with everything that it inherits."""
    return {
        "name": view.name,
        "revision": view.revision,
        "origin": "pack" if view.from_pack else "store",
        "inherits": None if view.parent is None else {"name": view.parent[0], "revision": view.parent[1]},
        "document": dict(view.document),
        "effective": _effective(view, book),
        "written_at": moment(view.written_at) if view.written_at is not None else None,
        "written_by": view.written_by,
    }


def _effective(view: PolicyView, book: Catalogue) -> Json:
    """Every field with what holds, in mm; of the laws those that are on, by themselves or with their place."""
    policy = view.effective
    distance = policy.remaining_distance_km
    return {
        "unit": "mm",
        "decision_rule": policy.decision_rule,
        "instrument": {
            "resolution": policy.instrument.resolution,
            "expanded_uncertainty": policy.instrument.expanded_uncertainty,
            "repeatability": policy.instrument.repeatability,
        },
        "minimum_points": policy.minimum_points,
        "require": sorted(policy.require),
        "discard_margin": policy.discard_margin,
        "machining_margin": policy.machining_margin,
        "wear_allowance": policy.wear_allowance,
        "derive_machining_limit": policy.derive_machining_limit,
        "accept_caller_limits": policy.accept_caller_limits,
        "maximum_runout": policy.maximum_runout,
        "maximum_thickness_variation": policy.maximum_thickness_variation,
        "maximum_out_of_round": policy.maximum_out_of_round,
        "maximum_taper": policy.maximum_taper,
        "groove_limit": policy.groove_limit,
        "minimum_cut": policy.minimum_cut,
        "total_cut": policy.total_cut,
        "face_balance": policy.face_balance,
        "axle_difference": policy.axle_difference,
        "pair_rule": policy.pair_rule,
        "remaining_distance": None if distance is None else {"value": distance, "unit": "km"},
        "findings": dict(sorted(policy.findings.items())),
        "jurisdictions": list(policy.jurisdictions),
        "regulations": list(catalogued(policy, book).regulations),
        "limits_review_due": policy.limits_review_due,
        "calibration_overdue": policy.calibration_overdue,
    }


def policy_in_short(view: PolicyView) -> Json:
    """One revision in a list."""
    return {
        "name": view.name,
        "revision": view.revision,
        "origin": "pack" if view.from_pack else "store",
        "inherits": None if view.parent is None else {"name": view.parent[0], "revision": view.parent[1]},
        "why": view.document.get("why"),
        "written_at": moment(view.written_at) if view.written_at is not None else None,
        "written_by": view.written_by,
    }


def changes_document(changes: PolicyChanges) -> Json:
    """What differs between two revisions; lengths in mm, distances in km."""
    return {
        "old": _named(changes.old),
        "new": _named(changes.new),
        **{str(direction): changes.count(direction) for direction in Direction},
        "changes": [_change(one) for one in changes.changes],
    }


def _named(view: PolicyView) -> Json:
    return {"name": view.name, "revision": view.revision}


def _change(change: PolicyChange) -> Json:
    one, set_by = change.difference, change.set_by
    return {
        "field": f"/{one.field}",
        "old": one.old,
        "new": one.new,
        "unit": one.unit,
        "direction": one.direction,
        "set_by": None if set_by is None else {"name": set_by[0], "revision": set_by[1]},
        "sentence": change.sentence,
    }

"""A check of a set-up as the JSON document that is sent: the blocks that were asked for, each under its own name.

A block that was not asked for, and a figure that could not be had, is null and never left out.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR

import orjson

from turnrule.actions.answers import Basis, Json, basis_document, depths_document, limits_document, moment
from turnrule.actions.numbers import Lengths, number
from turnrule.actions.setting_up import CheckedSetup
from turnrule.actions.setup_blocks import faces_document, hub_document, readings_document, said, tracks_document
from turnrule.judging import ENGINE
from turnrule.judging.affording import Affording
from turnrule.judging.lathe_profile import LatheProfile
from turnrule.judging.setup_check import FiguresUsed
from turnrule.judging.setup_request import Chosen
from turnrule.judging.setup_sentences import MISSING
from turnrule.pack import Pack


def setup_answer(pack: Pack, checked: CheckedSetup) -> bytes:
    """The bytes that are sent."""
    check, ground = checked.check, checked.ground
    part = check.case.part
    length = Lengths(part.unit)
    policy = ground.policy
    basis = Basis(ground.release, policy.name, policy.revision, pack.version, pack.digest, ENGINE)
    document = {
        "ready": check.ready,
        "summary": checked.summary,
        "unit": part.unit,
        "kind": part.kind,
        **_blocks(checked, length),
        "figures": {**_figures(check.used, length), "lathe": _lathe(ground.lathe)},
        "cautions": [{"code": c.code, "level": c.level, "text": c.text} for c in checked.cautions],
        **basis_document(basis),
        "checked_at": moment(checked.at),
    }
    return orjson.dumps(document)


def _blocks(checked: CheckedSetup, length: Lengths) -> Json:
    check = checked.check
    rotor = check.case.part.kind.is_rotor
    blocks: Json = {
        "readings": None if check.mounting is None else readings_document(check, check.mounting, length),
        "affordance": None if check.affording is None else _affordance(check.affording, length, rotor=rotor),
        "hub": None if check.hub is None else hub_document(check.hub, length),
    }
    if rotor:
        blocks["faces"] = None if check.faces is None else faces_document(check.faces, check.needed, length)
    else:
        blocks["tracks"] = None if check.tracks is None else tracks_document(check.tracks, length)
    return blocks | {"limits": _limits(checked, length) if check.limited else None}


def _limits(checked: CheckedSetup, length: Lengths) -> Json:
    case, row = checked.check.case, checked.ground.row
    source = row.source if row is not None else None
    return limits_document(case.limits, length, source, rotor=case.part.kind.is_rotor)


def _affordance(told: Affording, length: Lengths, *, rotor: bool) -> Json:
    """What the cut leaves, never shown larger (a drum: smaller) than it is."""
    safe, cost = (ROUND_FLOOR if rotor else ROUND_CEILING), told.cost
    return {
        "affordable": told.affordable,
        "permitted": told.permitted,
        "clean_up_thickness" if rotor else "clean_up_diameter": length(told.clean_up, safe),
        "cut": {**depths_document(told.cut, length), "asked": told.asked},
        "mounted_right": {
            "left": None if cost is None else length(cost.left_mounted_right, safe),
            "affordable": None if cost is None else cost.affordable_mounted_right,
        },
        "as_mounted": {
            "left": None if cost is None else length(cost.left_as_mounted, safe),
            "affordable": None if cost is None else cost.affordable_as_mounted,
        },
        "most_mount_runout": None if cost is None else length(cost.most_mount_runout, ROUND_FLOOR),
        "guard_band": length(told.guard, ROUND_CEILING),
        "missing": said(told.missing, MISSING),
    }


def _figures(used: FiguresUsed, length: Lengths) -> Json:
    """What was taken from the request, and what from good practice."""
    depths = used.depths
    return {
        "reading_uncertainty": length(used.reading, ROUND_CEILING),
        "angle_uncertainty": _chosen(used.angle),
        "covered_uncertainty": _chosen(used.covered),
        "mount_limit": {"value": length(used.mount_limit.value), "given": used.mount_limit.given},
        "passes": {
            "least_depth": length(depths.least),
            "greatest_depth": length(depths.greatest),
            "given": depths.given,
        },
    }


def _lathe(lathe: LatheProfile | None) -> Json | None:
    return None if lathe is None else {"name": lathe.name, "revision": lathe.revision, "kind": lathe.kind}


def _chosen(chosen: Chosen) -> Json:
    return {"value": number(chosen.value), "given": chosen.given}

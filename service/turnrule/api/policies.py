"""Policies: read with everything that they inherit, written as the next revision by someone who read the last."""

from __future__ import annotations

import re
from collections.abc import Mapping

from flask import Blueprint, Response
from marshmallow import ValidationError

from turnrule.actions.answers import Json, moment
from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import PolicyView, policy_revisions, read_policy, require_own, write_policy
from turnrule.api import queries
from turnrule.api.answering import cursor_for, etag_of, json_response, kept_response, page_of, parts_of, require_match
from turnrule.api.bodies import json_body
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.policy_shapes import POLICY
from turnrule.api.problems import ProblemError
from turnrule.api.request_shapes import CODE
from turnrule.store.port import NameTakenError

blueprint = Blueprint("policies", __name__)


@blueprint.get("/v1/policies/<name>")
@needs_key()
def read(name: str) -> Response:
    """Read a policy as it was written and with everything that it inherits; the newest revision or an earlier one.

    A revision of the store never changes; one of the pack is what the pack says that the service runs with.
    """
    query = queries.read_query(queries.REVISION)
    view = read_policy(desk(), name, query.get("revision"))
    if view is None:
        raise ProblemError("not_found", "there is no such policy or revision")
    return kept_response(_content(view), immutable="revision" in query and not view.from_pack)


@blueprint.get("/v1/policies/<name>/revisions")
@needs_key()
def revisions(name: str) -> Response:
    """List the revisions of a policy, oldest first."""
    query = queries.read_query(queries.PAGE)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    views = policy_revisions(desk(), name, after=after, limit=limit + 1)
    if views is None:
        raise ProblemError("not_found", "there is no such policy")
    page = views[:limit]
    cursor = cursor_for(page[-1].revision) if len(views) > limit else None
    return page_of([_document(view) for view in page], cursor)


@blueprint.put("/v1/policies/<name>")
@needs_key("policies:write")
def write(name: str) -> Response:
    """Write the next revision of a policy; it may only tighten what it inherits."""
    queries.read_query(queries.NONE)
    body = json_body()
    if re.fullmatch(CODE, name) is None:
        raise ProblemError("not_found", "a policy's name is of small letters, digits and _, and begins with a letter")
    require_own(desk(), name)
    before = read_policy(desk(), name)
    require_match(_content(before) if before is not None else None)
    document = _read(body)
    try:
        view = write_policy(desk(), name, document, caller(), over=before)
    except NameTakenError:
        raise ProblemError("stale", "somebody else wrote this policy in between; read it again") from None
    content = _content(view)
    headers = {"ETag": etag_of(content), "Location": f"/v1/policies/{name}"}
    return json_response(content, 201 if before is None else 200, headers)


def _read(body: bytes) -> Mapping[str, object]:
    """The body as it stands, once its shape was checked."""
    document = read_json(body)
    try:
        POLICY.load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, POLICY)) from None
    if not isinstance(document, dict):  # pragma: no cover - the shape has seen to it
        raise TypeError(document)
    return document


def _content(view: PolicyView) -> bytes:
    return write_exact(_document(view))


def _document(view: PolicyView) -> Json:
    return {
        "name": view.name,
        "revision": view.revision,
        "origin": "pack" if view.from_pack else "store",
        "inherits": None if view.parent is None else {"name": view.parent[0], "revision": view.parent[1]},
        "document": dict(view.document),
        "effective": _effective(view),
        "written_at": moment(view.written_at) if view.written_at is not None else None,
        "written_by": view.written_by,
    }


def _effective(view: PolicyView) -> Json:
    """Every field with what holds, in mm."""
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
        "regulations": list(policy.regulations),
        "limits_review_due": policy.limits_review_due,
        "calibration_overdue": policy.calibration_overdue,
    }

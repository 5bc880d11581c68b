"""Policies: read with everything that they inherit, written as the next revision by someone who read the last."""

from __future__ import annotations

import re

from flask import Blueprint, Response

from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import (
    PolicyView,
    list_policies,
    policy_revisions,
    read_policy,
    require_own,
    write_policy,
)
from turnrule.actions.policy_changes import compared_with, policy_changes
from turnrule.api import queries
from turnrule.api.answering import cursor_for, etag_of, json_response, kept_response, page_of, parts_of, require_match
from turnrule.api.bodies import json_body
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.policy_documents import changes_document, policy_document, policy_in_short
from turnrule.api.policy_shapes import read_policy_body
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.request_shapes import CODE
from turnrule.store.port import NameTakenError

blueprint = Blueprint("policies", __name__)


@blueprint.get("/v1/policies")
@needs_key()
def list_known() -> Response:
    """List the policies, those of the pack and those of the store, by name."""
    query = queries.read_query(queries.NAMES)
    after = str(parts_of(query["after"], str)[0]) if "after" in query else ""
    limit: int = query["limit"]
    views = list_policies(desk(), after=after, limit=limit + 1)
    page = views[:limit]
    cursor = cursor_for(page[-1].name) if len(views) > limit else None
    return page_of([policy_in_short(view) for view in page], cursor)


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
    # What is on with a place is what the pack holds of it; all else of a stored revision never changes.
    fixed = not view.from_pack and not view.effective.jurisdictions
    return kept_response(_content(view), immutable="revision" in query and fixed)


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
    return page_of([policy_document(view, desk().pack.catalogue) for view in page], cursor)


@blueprint.get("/v1/policies/<name>/changes")
@needs_key()
def changes(name: str) -> Response:
    """Tell in words what holds otherwise than under an earlier revision, or than under another policy."""
    query = queries.read_query(queries.POLICY_CHANGES)
    new = _view(name, query.get("revision"))
    against, since = query.get("against"), query.get("since")
    old = compared_with(desk(), new, against, since)
    if old is None and against not in {None, name}:
        raise ProblemError("not_found", f"there is no policy {against}, or no such revision of it")
    if old is None:
        detail = f"since is a revision of {name} before {new.revision}; another policy is named by against"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("since", "out_of_range", detail)])
    return kept_response(write_exact(changes_document(policy_changes(desk(), old, new))))


def _view(name: str, revision: int | None) -> PolicyView:
    view = read_policy(desk(), name, revision)
    if view is None:
        raise ProblemError("not_found", f"there is no policy {name}, or no such revision of it")
    return view


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
    document = read_policy_body(body)
    try:
        view = write_policy(desk(), name, document, caller(), over=before)
    except NameTakenError:
        raise ProblemError("stale", "somebody else wrote this policy in between; read it again") from None
    content = _content(view)
    headers = {"ETag": etag_of(content), "Location": f"/v1/policies/{name}"}
    return json_response(content, 201 if before is None else 200, headers)


def _content(view: PolicyView) -> bytes:
    return write_exact(policy_document(view, desk().pack.catalogue))

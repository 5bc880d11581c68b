"""Lathes: read as they were written and in millimetres, written as the next revision by someone who read the last."""

from __future__ import annotations

import re

from flask import Blueprint, Response

from turnrule.actions.lathes import LatheView, lathe_revisions, list_lathes, read_lathe, write_lathe
from turnrule.actions.numbers import write_exact
from turnrule.api import queries
from turnrule.api.answering import cursor_for, etag_of, json_response, kept_response, page_of, parts_of, require_match
from turnrule.api.bodies import json_body
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.lathe_documents import lathe_document
from turnrule.api.lathe_shapes import read_lathe_body
from turnrule.api.problems import ProblemError
from turnrule.api.request_shapes import CODE
from turnrule.store.port import NameTakenError

blueprint = Blueprint("lathes", __name__)


@blueprint.get("/v1/lathes")
@needs_key()
def list_known() -> Response:
    """List the lathes, each in its newest revision, by name."""
    query = queries.read_query(queries.NAMES)
    after = str(parts_of(query["after"], str)[0]) if "after" in query else ""
    limit: int = query["limit"]
    views = list_lathes(desk(), after=after, limit=limit + 1)
    page = views[:limit]
    cursor = cursor_for(page[-1].name) if len(views) > limit else None
    return page_of([lathe_document(view) for view in page], cursor)


@blueprint.get("/v1/lathes/<name>")
@needs_key()
def read(name: str) -> Response:
    """Read a lathe as it was written and in millimetres; the newest revision or an earlier one."""
    query = queries.read_query(queries.REVISION)
    view = read_lathe(desk(), name, query.get("revision"))
    if view is None:
        raise ProblemError("not_found", "there is no such lathe or revision")
    return kept_response(_content(view), immutable="revision" in query)


@blueprint.get("/v1/lathes/<name>/revisions")
@needs_key()
def revisions(name: str) -> Response:
    """List the revisions of a lathe, oldest first."""
    query = queries.read_query(queries.PAGE)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    views = lathe_revisions(desk(), name, after=after, limit=limit + 1)
    if views is None:
        raise ProblemError("not_found", "there is no such lathe")
    page = views[:limit]
    cursor = cursor_for(page[-1].revision) if len(views) > limit else None
    return page_of([lathe_document(view) for view in page], cursor)


@blueprint.put("/v1/lathes/<name>")
@needs_key("policies:write")
def write(name: str) -> Response:
    """Write the next revision of a lathe."""
    queries.read_query(queries.NONE)
    body = json_body()
    if re.fullmatch(CODE, name) is None:
        raise ProblemError("not_found", "a lathe's name is of small letters, digits and _, and begins with a letter")
    before = read_lathe(desk(), name)
    require_match(_content(before) if before is not None else None)
    document = read_lathe_body(body)
    try:
        view = write_lathe(desk(), name, document, caller(), over=before)
    except NameTakenError:
        raise ProblemError("stale", "somebody else wrote this lathe in between; read it again") from None
    content = _content(view)
    headers = {"ETag": etag_of(content), "Location": f"/v1/lathes/{name}"}
    return json_response(content, 201 if before is None else 200, headers)


def _content(view: LatheView) -> bytes:
    return write_exact(lathe_document(view))

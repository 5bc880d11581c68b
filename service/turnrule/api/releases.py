"""The releases of the limits."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.reading_records import list_releases, read_release
from turnrule.api import queries
from turnrule.api.answering import cursor_for, json_bytes, kept_response, page_of, parts_of
from turnrule.api.documents import release_document
from turnrule.api.keeping_out import desk, needs_key
from turnrule.api.problems import ProblemError

blueprint = Blueprint("releases", __name__)
_GREATEST_NUMBER = 2**31 - 1


@blueprint.get("/v1/releases")
@needs_key()
def list_published() -> Response:
    """List the releases, oldest first."""
    query = queries.read_query(queries.PAGE)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    releases = list_releases(desk(), after=after, limit=limit + 1)
    page = releases[:limit]
    cursor = cursor_for(page[-1].number) if len(releases) > limit else None
    return page_of([release_document(release) for release in page], cursor)


@blueprint.get("/v1/releases/<int:number>")
@needs_key()
def read(number: int) -> Response:
    """Read one release."""
    queries.read_query(queries.NONE)
    release = read_release(desk(), number) if 0 < number <= _GREATEST_NUMBER else None
    if release is None:
        raise ProblemError("not_found", f"there is no release {number}")
    return kept_response(json_bytes(release_document(release)))

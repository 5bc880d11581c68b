"""The releases of the limits: published, read, compared."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.changes import list_changes
from turnrule.actions.publishing import publish_release
from turnrule.actions.reading_records import list_releases, read_release
from turnrule.api import queries
from turnrule.api.answering import cursor_for, json_bytes, kept_response, page_of, parts_of
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.limits_documents import change_document, release_document
from turnrule.api.once import done_once, posted
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.release_shapes import GREATEST_NUMBER, RELEASE, read_shape
from turnrule.store.limit_records import KeptAnswer, Release
from turnrule.store.reference_port import Once

blueprint = Blueprint("releases", __name__)


@blueprint.post("/v1/releases")
@needs_key("releases:publish")
def publish() -> Response:
    """Publish all that is verified as the next release."""
    sent = posted()

    def do(once: Once[Release] | None) -> Release:
        wanted = read_shape(RELEASE, sent.body)
        return publish_release(desk(), caller(), wanted["notes"], wanted.get("follows"), once=once)

    return done_once(sent, do, _published)


def _published(release: Release) -> KeptAnswer:
    return KeptAnswer(201, json_bytes(release_document(release)), f"/v1/releases/{release.number}")


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
    return kept_response(json_bytes(release_document(_release(number))), immutable=True)


def _release(number: int) -> Release:
    release = read_release(desk(), number) if 0 < number <= GREATEST_NUMBER else None
    if release is None:
        raise ProblemError("not_found", f"there is no release {number}")
    return release


@blueprint.get("/v1/releases/<int:number>/changes")
@needs_key()
def changes(number: int) -> Response:
    """List what changed since another release, row by row."""
    query = queries.read_query(queries.CHANGES)
    release = _release(number)
    since: int = query.get("since", number - 1)
    if since >= number:
        detail = f"since is a release before {number}, or 0"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("since", "out_of_range", detail)])
    after = (0, "")
    if "after" in query:
        at, place = parts_of(query["after"], int, str)
        after = int(str(at)), str(place)
    limit: int = query["limit"]
    found = list_changes(desk(), release, since, after=after, limit=limit + 1).rows
    page = found[:limit]
    cursor = cursor_for(page[-1].release, page[-1].place) if len(found) > limit else None
    beside = {"since": since, "until": number, "unit": "mm"}
    return page_of([change_document(row) for row in page], cursor, beside, immutable=True)

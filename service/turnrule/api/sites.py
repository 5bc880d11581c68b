"""Sites: which policy each was given, as revisions that never change; a key that is bound to a site sees that one."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.answers import Json, moment
from turnrule.actions.sites import SITE_NAME, give_policy, list_sites, read_site, site_revisions
from turnrule.api import queries
from turnrule.api.answering import (
    cursor_for,
    etag_of,
    json_bytes,
    json_response,
    kept_response,
    page_of,
    parts_of,
    require_match,
)
from turnrule.api.bodies import json_body
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.problems import ProblemError
from turnrule.api.release_shapes import read_shape
from turnrule.api.site_shapes import SITE
from turnrule.store.port import NameTakenError, SiteRevision

blueprint = Blueprint("sites", __name__)


@blueprint.get("/v1/sites")
@needs_key()
def list_known() -> Response:
    """List the sites that were given a policy, by name."""
    query = queries.read_query(queries.NAMES)
    after = str(parts_of(query["after"], str)[0]) if "after" in query else ""
    limit: int = query["limit"]
    sites = list_sites(desk(), caller(), after=after, limit=limit + 1)
    page = sites[:limit]
    cursor = cursor_for(page[-1].site) if len(sites) > limit else None
    return page_of([site_document(site) for site in page], cursor)


@blueprint.get("/v1/sites/<site>")
@needs_key()
def read(site: str) -> Response:
    """Read which policy a site has; the newest revision or an earlier one."""
    query = queries.read_query(queries.REVISION)
    found = read_site(desk(), caller(), site, query.get("revision"))
    if found is None:
        raise ProblemError("not_found", "this key sees no such site that was given a policy; the default one holds")
    return kept_response(_content(found), immutable="revision" in query)


@blueprint.get("/v1/sites/<site>/revisions")
@needs_key()
def revisions(site: str) -> Response:
    """List the policies that a site was given, oldest first."""
    query = queries.read_query(queries.PAGE)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    found = site_revisions(desk(), caller(), site, after=after, limit=limit + 1)
    if found is None:
        raise ProblemError("not_found", "this key sees no such site that was given a policy")
    page = found[:limit]
    cursor = cursor_for(page[-1].revision) if len(found) > limit else None
    return page_of([site_document(one) for one in page], cursor)


@blueprint.put("/v1/sites/<site>")
@needs_key("policies:write")
def give(site: str) -> Response:
    """Give a site a policy; verdicts that its keys ask for are judged under it from now on."""
    queries.read_query(queries.NONE)
    body = json_body()
    if SITE_NAME.fullmatch(site) is None or caller().site not in {None, site}:
        detail = "a site's name is of letters, digits, spaces and . _ -; a key that is bound to a site sees that one"
        raise ProblemError("not_found", detail)
    before = read_site(desk(), caller(), site)
    require_match(_content(before) if before is not None else None)
    wanted = read_shape(SITE, body)
    try:
        given = give_policy(desk(), site, wanted["policy"], caller(), over=before)
    except NameTakenError:
        raise ProblemError("stale", "somebody else gave this site a policy in between; read it again") from None
    content = _content(given)
    headers = {"ETag": etag_of(content), "Location": f"/v1/sites/{_quoted(site)}"}
    return json_response(content, 201 if before is None else 200, headers)


def _quoted(site: str) -> str:
    return site.replace(" ", "%20")


def _content(site: SiteRevision) -> bytes:
    return json_bytes(site_document(site))


def site_document(site: SiteRevision) -> Json:
    """Which policy a site has from a moment on."""
    return {
        "site": site.site,
        "revision": site.revision,
        "policy": site.policy,
        "written_at": moment(site.written_at),
        "written_by": site.written_by,
    }

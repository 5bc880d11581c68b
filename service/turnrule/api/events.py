"""The feed of what happened: pulled page by page, in the order of commit, and taken up again wherever one stopped."""

from __future__ import annotations

from urllib.parse import quote, urlencode

from flask import Blueprint, Response, request

from turnrule.actions.answers import Json, moment
from turnrule.actions.following_events import follow_events
from turnrule.actions.numbers import write_exact
from turnrule.api import report_queries
from turnrule.api.answering import cursor_for, kept_response, parts_of
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.queries import read_query
from turnrule.store.port import Event, EventKind

blueprint = Blueprint("events", __name__)

_PATHS = {
    EventKind.VERDICT: "/v1/verdicts/{subject}",
    EventKind.AXLE_VERDICT: "/v1/axle-verdicts/{subject}",
    EventKind.RELEASE: "/v1/releases/{subject}",
    EventKind.WITHDRAWAL: "/v1/limits/{subject}?revision={revision}",
    EventKind.POLICY: "/v1/policies/{subject}?revision={revision}",
    EventKind.LATHE: "/v1/lathes/{subject}?revision={revision}",
    EventKind.SITE: "/v1/sites/{subject}?revision={revision}",
}
"""Where what an event tells of can be read."""


@blueprint.get("/v1/events")
@needs_key("reports", "verdicts")
def list_events() -> Response:
    """List what happened, oldest first, as far as this key may see it."""
    query = read_query(report_queries.EVENTS)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    page = follow_events(desk(), caller(), after=after, limit=query["limit"])
    cursor = cursor_for(page.after)
    content = write_exact({"items": [event_document(one) for one in page.events], "next": cursor, "more": page.more})
    asked = {**request.args.to_dict(), "after": cursor}
    return kept_response(content, {"Link": f'<{request.path}?{urlencode(asked)}>; rel="next"'})


def event_document(event: Event) -> Json:
    """One event, with the address of what it tells of."""
    path = _PATHS[event.kind]
    return {
        "sequence": event.sequence,
        "kind": event.kind,
        "subject": event.subject,
        "revision": event.revision,
        "at": moment(event.at),
        "by": event.by,
        "site": event.site,
        "verdict": event.ruling,
        "digest": event.digest,
        "href": path.format(subject=quote(event.subject, safe=""), revision=event.revision),
    }

"""The limits that govern, as they were released; one record, and its history."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response

from turnrule.actions.numbers import write_exact
from turnrule.actions.reading_records import ACCEPTED, find_limits, list_revisions, read_limits_record
from turnrule.api import queries
from turnrule.api.answering import cursor_for, kept_response, page_of, parts_of
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.limits_documents import limits_document, seen_document
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.store.port import LimitQuery

blueprint = Blueprint("limits", __name__)


@blueprint.get("/v1/limits")
@needs_key()
def list_governing() -> Response:
    """List the limits records that govern, by what they are for, in the newest release or an earlier one.

    A cursor keeps to the release, the day and the withdrawals of its first page, so that what happens in between
    moves nothing. A release and a day that are both named are answered alike for ever.
    """
    query = queries.read_query(queries.LIMITS)
    place, after = _place(query)
    limit: int = query["limit"]
    found = find_limits(desk(), place, after=after, limit=limit + 1)
    if found is None:
        detail = f"there is no release {place.release}"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("release", "release_not_found", detail)])
    page = found.rows[:limit]
    cursor = None
    if len(found.rows) > limit:
        cursor = cursor_for(found.release, found.on.isoformat(), found.withdrawn, page[-1].limits_id)
    beside = {"release": found.release, "on": found.on}
    fixed = {"release", "on"} <= query.keys()
    return page_of([limits_document(row) for row in page], cursor, beside, immutable=fixed)


def _place(query: dict[str, Any]) -> tuple[LimitQuery, str]:
    """What is looked for, its release, day and withdrawals from the cursor where there is one; and the last id."""
    wanted = LimitQuery(
        make=query.get("make"),
        model=query.get("model"),
        year=query.get("year"),
        axle=query.get("axle"),
        kind=query.get("kind"),
        brake_option=query.get("brake_option"),
        release=query.get("release"),
        on=query.get("on"),
    )
    if "after" not in query:
        return wanted, ""
    release, on, withdrawn, after = map(str, parts_of(query["after"], int, str, int, str))
    try:
        day = datetime.date.fromisoformat(on)
    except ValueError:
        detail = "this is no cursor of this list; begin without after"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("after", "invalid_cursor", detail)]) from None
    return replace(wanted, release=int(release), on=day, withdrawn=int(withdrawn)), after


@blueprint.get("/v1/limits/<limits_id>")
@needs_key()
def read(limits_id: str) -> Response:
    """Read one limits record: how its newest revision stands now, or one revision as it is for ever."""
    query = queries.read_query(queries.REVISION)
    seen = read_limits_record(desk(), caller(), limits_id, query.get("revision"))
    if seen is None:
        raise ProblemError("not_found", "there is no such limits record or revision")
    if "revision" in query and seen.row.state in ACCEPTED:
        return kept_response(write_exact(limits_document(seen.row.revision)), immutable=True)
    return kept_response(write_exact(seen_document(seen)))


@blueprint.get("/v1/limits/<limits_id>/revisions")
@needs_key()
def revisions(limits_id: str) -> Response:
    """List the revisions of a record with what became of each, oldest first."""
    query = queries.read_query(queries.PAGE)
    after = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    found = list_revisions(desk(), caller(), limits_id, after=after, limit=limit + 1)
    if found is None:
        raise ProblemError("not_found", "there is no such limits record")
    page = found[:limit]
    cursor = cursor_for(page[-1].row.revision.revision) if len(found) > limit else None
    return page_of([seen_document(seen) for seen in page], cursor)

"""The limits that govern, as they were released."""

from __future__ import annotations

import datetime
from typing import Any

from flask import Blueprint, Response

from turnrule.actions.reading_records import find_limits, read_limits_record
from turnrule.api import queries
from turnrule.api.answering import cursor_for, json_bytes, kept_response, page_of, parts_of
from turnrule.api.documents import limits_document
from turnrule.api.keeping_out import desk, needs_key
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.store.port import LimitQuery

blueprint = Blueprint("limits", __name__)


@blueprint.get("/v1/limits")
@needs_key()
def list_governing() -> Response:
    """List the limits records that govern, by what they are for, in the newest release or an earlier one.

    A cursor keeps to the release and the day of its first page, so that a release in between moves nothing.
    """
    query = queries.read_query(queries.LIMITS)
    release, on, after = _place(query)
    limit: int = query["limit"]
    found = find_limits(desk(), _filters(query, release, on), after=after, limit=limit + 1)
    if found is None:
        detail = f"there is no release {release}"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("release", "release_not_found", detail)])
    page = found.rows[:limit]
    cursor = None
    if len(found.rows) > limit:
        cursor = cursor_for(found.release, found.on.isoformat(), page[-1].limits_id)
    return page_of([limits_document(row) for row in page], cursor, {"release": found.release, "on": found.on})


def _place(query: dict[str, Any]) -> tuple[int | None, datetime.date | None, str]:
    """Release, day and last id: from the cursor, where there is one."""
    if "after" not in query:
        return query.get("release"), query.get("on"), ""
    release, on, after = map(str, parts_of(query["after"], int, str, str))
    try:
        return int(release), datetime.date.fromisoformat(on), after
    except ValueError:
        detail = "this is no cursor of this list; begin without after"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("after", "invalid_cursor", detail)]) from None


def _filters(query: dict[str, Any], release: int | None, on: datetime.date | None) -> LimitQuery:
    return LimitQuery(
        make=query.get("make"),
        model=query.get("model"),
        year=query.get("year"),
        axle=query.get("axle"),
        kind=query.get("kind"),
        brake_option=query.get("brake_option"),
        release=release,
        on=on,
    )


@blueprint.get("/v1/limits/<limits_id>")
@needs_key()
def read(limits_id: str) -> Response:
    """Read one limits record, in its newest revision or the one asked for."""
    query = queries.read_query(queries.REVISION)
    row = read_limits_record(desk(), limits_id, query.get("revision"))
    if row is None:
        raise ProblemError("not_found", "there is no such limits record or revision")
    return kept_response(json_bytes(limits_document(row)))

"""What the store was asked for and does not hold."""

from __future__ import annotations

from flask import Blueprint, Response

from turnrule.actions.reading_records import coverage
from turnrule.api import queries
from turnrule.api.answering import cursor_for, page_of, parts_of
from turnrule.api.documents import miss_document
from turnrule.api.keeping_out import desk, needs_key

blueprint = Blueprint("coverage", __name__)


@blueprint.get("/v1/coverage")
@needs_key()
def list_misses() -> Response:
    """List the applications that were asked for and not found, most wanted first."""
    query = queries.read_query(queries.PAGE)
    passed = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    misses = coverage(desk(), after=passed, limit=limit + 1)
    cursor = cursor_for(passed + limit) if len(misses) > limit else None
    return page_of([miss_document(miss) for miss in misses[:limit]], cursor)

"""What there is to do: vehicles asked for and not found, drafts to be entered again, records to be looked at again."""

from __future__ import annotations

import datetime
from typing import Any

from flask import Blueprint, Response

from turnrule.actions.answers import Json
from turnrule.actions.reading_records import awaiting_verification, coverage_counts, due_for_review, not_found
from turnrule.api import queries
from turnrule.api.answering import cursor_for, page_of, parts_of
from turnrule.api.documents import miss_document
from turnrule.api.keeping_out import desk, needs_key
from turnrule.api.limits_documents import awaiting_document, limits_document
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.queries import CoverageList

blueprint = Blueprint("coverage", __name__)


@blueprint.get("/v1/coverage")
@needs_key()
def list_misses() -> Response:
    """List what is not there yet, by what is to be done about it."""
    query = queries.read_query(queries.COVERAGE)
    wanted = CoverageList(query.get("list", CoverageList.NOT_FOUND))
    today = desk().clock().date()
    items, cursor = _LISTS[wanted](query, today)
    counts = coverage_counts(desk(), today)
    beside = {
        "list": wanted,
        "counts": {
            "not_found": counts.not_found,
            "awaiting_verification": counts.awaiting_verification,
            "review_due": counts.review_due,
        },
    }
    return page_of(items, cursor, beside)


def _missed(query: dict[str, Any], _today: datetime.date) -> tuple[list[Json], str | None]:
    """Applications that were asked for and not found, most wanted first."""
    passed = int(str(parts_of(query["after"], int)[0])) if "after" in query else 0
    limit: int = query["limit"]
    misses = not_found(desk(), after=passed, limit=limit + 1)
    cursor = cursor_for(passed + limit) if len(misses) > limit else None
    return [miss_document(miss) for miss in misses[:limit]], cursor


def _awaiting(query: dict[str, Any], _today: datetime.date) -> tuple[list[Json], str | None]:
    """Drafts that wait for their second entry, by id; what was entered is hidden."""
    after = str(parts_of(query["after"], str)[0]) if "after" in query else ""
    limit: int = query["limit"]
    drafts = awaiting_verification(desk(), after=after, limit=limit + 1)
    page = drafts[:limit]
    cursor = cursor_for(page[-1].revision.limits_id) if len(drafts) > limit else None
    return [awaiting_document(draft) for draft in page], cursor


def _due(query: dict[str, Any], today: datetime.date) -> tuple[list[Json], str | None]:
    """Records that govern past their review date, by id; a cursor keeps to the day of its first page."""
    on, after = today, ""
    if "after" in query:
        day, last = parts_of(query["after"], str, str)
        on, after = _day(str(day)), str(last)
    limit: int = query["limit"]
    rows = due_for_review(desk(), on, after=after, limit=limit + 1)
    page = rows[:limit]
    cursor = cursor_for(on.isoformat(), page[-1].limits_id) if len(rows) > limit else None
    return [limits_document(row) for row in page], cursor


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        detail = "this is no cursor of this list; begin without after"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("after", "invalid_cursor", detail)]) from None


_LISTS = {CoverageList.NOT_FOUND: _missed, CoverageList.AWAITING_VERIFICATION: _awaiting, CoverageList.REVIEW_DUE: _due}

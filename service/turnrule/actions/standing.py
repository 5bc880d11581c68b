"""How the record that a row names stands: free for a new one, or in a revision that can be corrected."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.desk import Desk
from turnrule.actions.reading_records import Course, course_of, is_known
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.faults import Fault


def standing_faults(desk: Desk, entry: LimitsEntry, named: str | None) -> Iterator[Fault]:
    """Why the store would not take this entry under the id that its row names; the same as it would say itself."""
    if entry.corrects is None:
        if named is not None and is_known(desk, named):
            detail = f"there is a record {named} already; to correct it, name the revision that is corrected as well"
            yield Fault("/limits_id", "name_taken", detail)
        return
    corrected = entry.corrects.limits_id
    if named not in {None, corrected}:
        detail = f"the row corrects {corrected}; leave its own id out, or write the same"
        yield Fault("/limits_id", "invalid_id", detail)
    course = course_of(desk, corrected)
    if course.open_draft is not None:
        detail = f"a draft of {corrected} is under way already; have it verified, or give it up first"
        yield Fault("/corrects/revision", "draft_open", detail)
    elif course.accepted is None or course.accepted.revision.revision != entry.corrects.revision:
        yield Fault("/corrects/revision", "stale_revision", _newest(course, corrected))


def _newest(course: Course, limits_id: str) -> str:
    """Which revision a correction would have to name."""
    if course.accepted is not None:
        number = course.accepted.revision.revision
        return f"the newest accepted revision of {limits_id} is {number}; name that, so that none in between is lost"
    known = f"no revision of {limits_id} is accepted yet" if course.known else f"there is no record {limits_id}"
    return f"{known}; leave this empty for a new record"

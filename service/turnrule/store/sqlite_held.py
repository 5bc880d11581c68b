"""What a release holds, in SQL: the newest revision of each record that it counts, unless it counts a withdrawal."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from turnrule.store.content import ReleaseDigest
from turnrule.store.sqlite_limit_tables import ACCEPTANCES, LIMIT_REVISIONS
from turnrule.store.sqlite_rows import Table

BOTH = "acceptances.limits_id = limit_revisions.limits_id AND acceptances.revision = limit_revisions.revision"
NEWEST_ACCEPTED = (
    "acceptances.sequence <= :accepted AND NOT EXISTS (SELECT 1 FROM acceptances AS newer"
    " WHERE newer.limits_id = limit_revisions.limits_id AND newer.revision > limit_revisions.revision"
    " AND newer.sequence <= :accepted)"
)
NOT_WITHDRAWN = (
    "NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.limits_id = limit_revisions.limits_id"
    " AND withdrawals.revision >= limit_revisions.revision AND withdrawals.sequence <= :withdrawn)"
)
HELD = f"ON {BOTH} WHERE {NEWEST_ACCEPTED} AND {NOT_WITHDRAWN}"
"""What a release holds; `:accepted` and `:withdrawn` are the last acceptance and withdrawal that it counts."""


def _listed(table: Table) -> str:
    return ", ".join(f"{table.name}.{column}" for column in (*table.columns, "seal"))


SELECT = f"SELECT {_listed(LIMIT_REVISIONS)}, {_listed(ACCEPTANCES)} FROM limit_revisions CROSS JOIN acceptances"  # noqa: S608  # names of ours
"""Revisions with their acceptances; a condition that joins the two follows."""

_CONTENT = (
    "SELECT limit_revisions.limits_id, limit_revisions.digest, acceptances.entered_by = acceptances.verified_by"  # noqa: S608  # fixed text
    f" FROM limit_revisions CROSS JOIN acceptances {HELD} ORDER BY limit_revisions.limits_id"
)


@dataclass(frozen=True, slots=True)
class Content:
    """What a release up to an acceptance and a withdrawal holds."""

    accepted: int
    withdrawn: int
    digest: str
    records: int
    by_one_person: int


def content(conn: sqlite3.Connection, accepted: int, withdrawn: int) -> Content:
    """Add up what a release holds, row by row."""
    total = ReleaseDigest()
    alone = 0
    for limits_id, digest, same in conn.execute(_CONTENT, {"accepted": accepted, "withdrawn": withdrawn}):
        total.add(limits_id, digest)
        alone += same
    return Content(accepted, withdrawn, total.digest, total.records, alone)

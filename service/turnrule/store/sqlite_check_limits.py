"""What can be wrong with the limits of an embedded store: digests, numbers, states that contradict each other."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from turnrule.store.content import content_digest
from turnrule.store.sqlite_held import content
from turnrule.store.sqlite_limit_tables import LIMIT_REVISIONS, revision_of

_OPEN = """
SELECT limits_id, revision FROM limit_revisions
WHERE NOT EXISTS (SELECT 1 FROM acceptances AS a
    WHERE a.limits_id = limit_revisions.limits_id AND a.revision = limit_revisions.revision)
  AND NOT EXISTS (SELECT 1 FROM rejections AS r
    WHERE r.limits_id = limit_revisions.limits_id AND r.revision = limit_revisions.revision)
EXCEPT SELECT limits_id, revision FROM open_drafts"""
_CLOSED = """
SELECT limits_id, revision FROM open_drafts EXCEPT SELECT limits_id, revision FROM limit_revisions
UNION SELECT o.limits_id, o.revision FROM open_drafts AS o WHERE EXISTS (
    SELECT 1 FROM acceptances AS a WHERE a.limits_id = o.limits_id AND a.revision = o.revision)
  OR EXISTS (SELECT 1 FROM rejections AS r WHERE r.limits_id = o.limits_id AND r.revision = o.revision)"""
_PEOPLE = """
SELECT a.limits_id, a.revision FROM acceptances AS a JOIN limit_revisions AS r USING (limits_id, revision)
WHERE a.entered_by <> r.entered_by OR a.entered_at <> r.entered_at"""
_ELSEWHERE = """
SELECT o.limits_id, o.revision FROM open_drafts AS o JOIN limit_revisions AS r USING (limits_id, revision)
WHERE o.import_id IS NOT r.import_id"""
_SPELLED = """
FROM acceptances AS a JOIN limit_revisions AS r USING (limits_id, revision)
WHERE r.make_key = v.make_key AND r.model_key = v.model_key AND r.kind = v.kind"""
_UNKNOWN = f"""
SELECT v.make, v.model FROM vehicles AS v WHERE NOT EXISTS (SELECT 1 {_SPELLED})
  OR NOT EXISTS (SELECT 1 FROM limit_revisions AS r WHERE r.make_key = v.make_key AND r.make = v.make)
  OR NOT EXISTS (SELECT 1 FROM limit_revisions AS r
    WHERE r.make_key = v.make_key AND r.model_key = v.model_key AND r.model = v.model)"""  # noqa: S608  # fixed text
_UNLISTED = """
SELECT r.make, r.model FROM acceptances AS a JOIN limit_revisions AS r USING (limits_id, revision)
WHERE NOT EXISTS (SELECT 1 FROM vehicles AS v
  WHERE v.make_key = r.make_key AND v.model_key = r.model_key AND v.kind = r.kind)"""
_MOST = 20


def limit_faults(conn: sqlite3.Connection) -> Iterator[str]:
    """Every fault of the limits, as a sentence."""
    yield from _substance(conn)
    yield from _releases(conn)
    yield from _gaps(conn)
    for limits_id, revision in conn.execute(f"{_OPEN} LIMIT {_MOST}"):
        yield f"revision {revision} of {limits_id} is neither verified nor rejected nor waiting"
    for limits_id, revision in conn.execute(f"{_CLOSED} LIMIT {_MOST}"):
        yield f"revision {revision} of {limits_id} waits for a second entry although it cannot"
    for limits_id, revision in conn.execute(f"{_PEOPLE} LIMIT {_MOST}"):
        yield f"the acceptance of revision {revision} of {limits_id} names another entry than the revision does"
    for limits_id, revision in conn.execute(f"{_ELSEWHERE} LIMIT {_MOST}"):
        yield f"revision {revision} of {limits_id} waits with another import than the one that entered it"
    yield from _vehicles(conn)


def _substance(conn: sqlite3.Connection) -> Iterator[str]:
    """Rows whose seal fits and whose digest does not: written by something that is not this program."""
    digest = LIMIT_REVISIONS.columns.index("digest")
    for row in conn.execute(LIMIT_REVISIONS.select()):
        try:
            fits = content_digest(revision_of(row[:-1])) == row[digest]
        except (ValueError, TypeError, KeyError):
            continue  # its seal does not fit either, which is told already
        if not fits:
            yield f"revision {row[1]} of {row[0]} is not what its digest says"


def _releases(conn: sqlite3.Connection) -> Iterator[str]:
    rows = conn.execute(
        "SELECT number, digest, records, by_one_person, accepted, withdrawn FROM releases ORDER BY number"
    ).fetchall()
    for place, (number, digest, records, alone, accepted, withdrawn) in enumerate(rows, start=1):
        if number != place:
            yield f"release {place} is missing: the next one is {number}"
            return
        found = content(conn, accepted, withdrawn)
        if found.records != records:
            yield f"release {number} says that it holds {records} records, and {found.records} are there"
        if found.by_one_person != alone:
            yield f"release {number} counts {alone} records entered by one person, and {found.by_one_person} are there"
        if found.digest != digest:
            yield f"release {number} has the digest {digest}, and its content has {found.digest}"


def _gaps(conn: sqlite3.Connection) -> Iterator[str]:
    for table, what in (("acceptances", "acceptance"), ("withdrawals", "withdrawal")):
        counted, last = conn.execute(f"SELECT count(*), ifnull(max(sequence), 0) FROM {table}").fetchone()  # noqa: S608  # names of ours
        given = conn.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
        if counted != last or (given is not None and given[0] != last):
            yield f"an {what} is missing" if what[0] == "a" else f"a {what} is missing"


def _vehicles(conn: sqlite3.Connection) -> Iterator[str]:
    """The list of what there are records for, which has no seals: it repeats what verified revisions say."""
    for make, model in conn.execute(f"{_UNKNOWN} LIMIT {_MOST}"):
        yield f"{make} {model} is listed among the vehicles, and no record is for it"
    for make, model in conn.execute(f"{_UNLISTED} LIMIT {_MOST}"):
        yield f"{make} {model} is missing among the vehicles, and there is a record for it"

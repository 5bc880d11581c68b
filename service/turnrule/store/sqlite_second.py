"""The second migration: revisions are stored when entered, with what published them beside them; fleets.

Rows are carried over one by one: each is opened with its old seal and sealed anew, so that damage is found here and
not carried on. What the first schema did not know is filled in from what it did: a revision's two entries have the
time of the release that published it. Digests of releases are made anew, from the substance of what they hold.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from sqlite_utils import Database

from turnrule.store import sqlite_schema_fleet, sqlite_triggers_fleet
from turnrule.store.folding import fold
from turnrule.store.limit_records import Release
from turnrule.store.sqlite_held import content
from turnrule.store.sqlite_limit_tables import (
    ACCEPTANCES,
    LIMIT_REVISIONS,
    RELEASES,
    VEHICLE,
    release_values,
    revision_of,
    revision_values,
    vehicle_values,
)
from turnrule.store.sqlite_rows import SealError, Table, columns, moment
from turnrule.store.sqlite_schema_limits import INDEXES, TABLES
from turnrule.store.sqlite_tables import IDEMPOTENCY_KEYS, VERDICTS
from turnrule.store.sqlite_triggers_limits import TRIGGERS

_OLD_RELEASES = Table("releases", columns("number published_at published_by notes digest records"))
_OLD_REVISIONS = Table(
    "limit_revisions",
    columns(
        """
        release limits_id revision make make_key model model_key year_from year_to axle brake_option kind
        nominal_tenth_nm machining_tenth_nm discard_tenth_nm lateral_runout_tenth_nm thickness_variation_tenth_nm
        out_of_round_tenth_nm taper_tenth_nm permission construction expansion_per_k printed_unit printed
        document publisher section edition issued effective_from effective_to review_due entered_by verified_by note
        """
    ),
)
_NEW_COLUMNS = ("withdrawn", "lathe_name", "lathe_revision", "drawn", "axle_id")
_OLD_VERDICTS = Table("verdicts", VERDICTS.columns[: -len(_NEW_COLUMNS)])
_HAPPENED = """
INSERT INTO events (kind, number, name) SELECT kind, number, name FROM (
  SELECT 'verdict' AS kind, sequence AS number, '' AS name, judged_at AS at FROM verdicts
  UNION ALL SELECT 'release', number, '', published_at FROM releases
  UNION ALL SELECT 'policy', revision, name, written_at FROM policies)
ORDER BY at, kind, name, number"""
"""What happened under the first schema, which told no order across tables: by the moments."""

_MOVED = (_OLD_RELEASES, _OLD_REVISIONS, _OLD_VERDICTS, IDEMPOTENCY_KEYS)


def keep_entries(db: Database) -> None:
    """Move the four tables aside, make all tables anew, carry the rows over, drop what was moved."""
    conn = db.conn
    names = [table.name for table in _MOVED]
    for name in names:
        conn.execute(f"ALTER TABLE {name} RENAME TO old_{name}")
    parts = (
        "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'index') AND sql IS NOT NULL AND tbl_name = ?"
    )
    for name in names:
        for kind, part in conn.execute(parts, (f"old_{name}",)).fetchall():
            conn.execute(f"DROP {kind} {part}")
    for statement in (*sqlite_schema_fleet.TABLES, *TABLES):
        conn.execute(statement)
    _revisions(conn)
    _releases(conn)
    _verdicts(conn)
    for name in ("idempotency_keys", "verdicts", "limit_revisions", "releases"):
        conn.execute(f"DROP TABLE old_{name}")
    fleet = (*sqlite_schema_fleet.INDEXES, *sqlite_triggers_fleet.TRIGGERS)
    for statement in (*INDEXES, *TRIGGERS, *fleet):
        conn.execute(statement)
    conn.execute(_HAPPENED)


def _opened(conn: sqlite3.Connection, table: Table, order: str) -> Iterator[Sequence[Any]]:
    listed = ", ".join((*table.columns, "seal"))
    for row in conn.execute(f"SELECT {listed} FROM old_{table.name} ORDER BY {order}"):  # noqa: S608  # names of ours
        yield table.opened(row)


def _releases(conn: sqlite3.Connection) -> None:
    counted = "SELECT count(*) FROM old_limit_revisions WHERE release <= ?"
    for number, published_at, published_by, notes, _, records in _opened(conn, _OLD_RELEASES, "number"):
        (accepted,) = conn.execute(counted, (number,)).fetchone()
        found = content(conn, accepted, 0)
        if found.records != records:
            raise SealError(f"release {number} says that it holds {records} records, and {found.records} are there")
        release = Release(
            number, moment(published_at), published_by, notes, found.digest, records, accepted=accepted, withdrawn=0
        )
        conn.execute(RELEASES.insert, RELEASES.sealed(release_values(release)))


def _revisions(conn: sqlite3.Connection) -> None:
    at = dict(conn.execute("SELECT number, published_at FROM old_releases").fetchall())
    rows = _opened(conn, _OLD_REVISIONS, "release, limits_id, revision")
    for sequence, (release, *row, entered_by, verified_by, note) in enumerate(rows, start=1):
        option = row[9]
        new = (*row[:10], "" if option is None else fold(option), *row[10:23], None, *row[23:31])
        unsealed = (*new, entered_by, at[release], note, None, "[]", "", None)
        revision = replace(revision_of(unsealed), entered_at=moment(at[release]))
        conn.execute(LIMIT_REVISIONS.insert, LIMIT_REVISIONS.sealed(revision_values(revision)))
        values = (sequence, row[0], row[1], entered_by, at[release], verified_by, at[release], None)
        conn.execute(ACCEPTANCES.insert, ACCEPTANCES.sealed(values))
        conn.execute(VEHICLE, vehicle_values(revision.fits, revision.limits.kind))


def _verdicts(conn: sqlite3.Connection) -> None:
    for row in _opened(conn, _OLD_VERDICTS, "sequence"):
        conn.execute(VERDICTS.insert, VERDICTS.sealed((*row, 0, None, None, None, None)))
    for row in _opened(conn, IDEMPOTENCY_KEYS, "key_name, value"):
        conn.execute(IDEMPOTENCY_KEYS.insert, IDEMPOTENCY_KEYS.sealed(row))

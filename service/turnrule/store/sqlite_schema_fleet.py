"""The tables beside limits and verdicts: lathes, whole axles, which site has which policy, and what happened when."""

from __future__ import annotations

from turnrule.store.sqlite_schema import KINDS, SEAL, moment_column

LATHES = f"""
CREATE TABLE lathes (
  name TEXT NOT NULL CHECK (name <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  document BLOB NOT NULL CHECK (json_valid(CAST(document AS TEXT))),
  {moment_column("written_at")},
  written_by TEXT NOT NULL CHECK (written_by <> ''),
  {SEAL},
  PRIMARY KEY (name, revision)
) STRICT"""

# The sides are stored first and name the axle that follows them in the same transaction.
AXLE_VERDICTS = f"""
CREATE TABLE axle_verdicts (
  sequence INTEGER PRIMARY KEY NOT NULL CHECK (sequence >= 1),
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  {moment_column("judged_at")},
  key_name TEXT NOT NULL CHECK (key_name <> ''),
  site TEXT CHECK (site <> ''),
  ruling TEXT NOT NULL CHECK (ruling IN ('serviceable', 'machine', 'inconclusive', 'replace')),
  kind TEXT NOT NULL CHECK (kind IN {KINDS}),
  vehicle TEXT CHECK (vehicle <> ''),
  reference TEXT CHECK (reference <> ''),
  left_id TEXT REFERENCES verdicts (id),
  right_id TEXT REFERENCES verdicts (id),
  digest TEXT NOT NULL CHECK (digest <> ''),
  request BLOB NOT NULL CHECK (length(request) > 0),
  answer BLOB NOT NULL CHECK (length(answer) > 0),
  {SEAL},
  CONSTRAINT a_side_at_least CHECK (left_id IS NOT NULL OR right_id IS NOT NULL),
  CONSTRAINT two_parts CHECK (left_id <> right_id)
) STRICT"""

SITES = f"""
CREATE TABLE sites (
  site TEXT NOT NULL CHECK (site <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  policy TEXT NOT NULL CHECK (policy <> ''),
  {moment_column("written_at")},
  written_by TEXT NOT NULL CHECK (written_by <> ''),
  {SEAL},
  PRIMARY KEY (site, revision)
) STRICT"""

# A row for each thing that was stored, in the order of commit, put there by triggers: nothing can be stored without
# it. It only points at what is stored, and so has no seal; `check` holds the two against each other.
EVENTS = """
CREATE TABLE events (
  sequence INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL CHECK (sequence >= 1),
  kind TEXT NOT NULL CHECK (kind IN ('verdict', 'axle_verdict', 'release', 'withdrawal', 'policy', 'lathe', 'site')),
  number INTEGER NOT NULL CHECK (number >= 1),
  name TEXT NOT NULL,
  CONSTRAINT named CHECK ((name <> '') = (kind IN ('policy', 'lathe', 'site')))
) STRICT"""

TABLES = (LATHES, AXLE_VERDICTS, SITES, EVENTS)

INDEXES = (
    "CREATE UNIQUE INDEX events_once ON events (kind, number, name)",
    "CREATE INDEX axle_verdicts_by_site ON axle_verdicts (site) WHERE site IS NOT NULL",
    "CREATE INDEX axle_verdicts_by_vehicle ON axle_verdicts (vehicle) WHERE vehicle IS NOT NULL",
    "CREATE INDEX axle_verdicts_by_left ON axle_verdicts (left_id) WHERE left_id IS NOT NULL",
    "CREATE INDEX axle_verdicts_by_right ON axle_verdicts (right_id) WHERE right_id IS NOT NULL",
)

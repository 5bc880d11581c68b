"""The tables of the embedded store, as its first migration makes them; text that is never edited, only followed.

Lengths are integers of 0.1 nm (columns that end in `_tenth_nm`): the engine's own grid, so that nothing is rounded
and the order of limits can be a CHECK. What has no such grid (an odometer, an expansion coefficient) is canonical
decimal text. Days are `2026-01-31`, moments `2026-01-31T23:59:59.000000Z`: they sort as text and read as they are.
Every row ends with a `seal`, a checksum of all its other columns: the file format itself has none.
"""

from __future__ import annotations

KINDS = "('rotor', 'drum', 'parking_drum')"
AXLES = "('front', 'rear', 'second', 'third', 'fourth', 'fifth')"
SEAL = "seal BLOB NOT NULL CHECK (length(seal) = 16)"
_EXACT = "[column] GLOB '[0-9]*' AND [column] NOT GLOB '*[^0-9.]*' AND [column] NOT GLOB '*.*.*'"


# A date function hands 30 February back as it is, unless it is told to add something to it: nothing, here.


def moment_column(column: str, required: str = " NOT NULL") -> str:
    """A column that holds a real moment of UTC, to the microsecond, in one width."""
    return (
        f"{column} TEXT{required} CHECK (substr({column}, 1, 19) IS strftime('%Y-%m-%dT%H:%M:%S',"
        f" substr({column}, 1, 19), '+0 days') AND ({column} IS NULL OR substr({column}, 20) GLOB"
        " '.[0-9][0-9][0-9][0-9][0-9][0-9]Z'))"
    )


def day_column(column: str, required: str = "") -> str:
    """A column that holds a real day."""
    return f"{column} TEXT{required} CHECK ({column} IS date({column}, '+0 days'))"


def exact_column(column: str) -> str:
    """A column that holds a decimal number that is not negative, digit for digit."""
    return f"{column} TEXT CHECK ({_EXACT.replace('[column]', column)})"


RELEASES = f"""
CREATE TABLE releases (
  number INTEGER PRIMARY KEY NOT NULL CHECK (number >= 1),
  {moment_column("published_at")},
  published_by TEXT NOT NULL CHECK (published_by <> ''),
  notes TEXT NOT NULL,
  digest TEXT NOT NULL CHECK (digest <> ''),
  records INTEGER NOT NULL CHECK (records >= 0),
  {SEAL}
) STRICT"""

LIMIT_REVISIONS = f"""
CREATE TABLE limit_revisions (
  release INTEGER NOT NULL REFERENCES releases (number) DEFERRABLE INITIALLY DEFERRED,
  limits_id TEXT NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  make TEXT NOT NULL CHECK (make <> ''),
  make_key TEXT NOT NULL CHECK (make_key <> ''),
  model TEXT NOT NULL CHECK (model <> ''),
  model_key TEXT NOT NULL CHECK (model_key <> ''),
  year_from INTEGER NOT NULL CHECK (year_from BETWEEN 1 AND 9999),
  year_to INTEGER CHECK (year_to BETWEEN 1 AND 9999),
  axle TEXT NOT NULL CHECK (axle IN {AXLES}),
  brake_option TEXT CHECK (brake_option <> ''),
  kind TEXT NOT NULL CHECK (kind IN {KINDS}),
  nominal_tenth_nm INTEGER CHECK (nominal_tenth_nm > 0),
  machining_tenth_nm INTEGER CHECK (machining_tenth_nm > 0),
  discard_tenth_nm INTEGER CHECK (discard_tenth_nm > 0),
  lateral_runout_tenth_nm INTEGER CHECK (lateral_runout_tenth_nm >= 0),
  thickness_variation_tenth_nm INTEGER CHECK (thickness_variation_tenth_nm >= 0),
  out_of_round_tenth_nm INTEGER CHECK (out_of_round_tenth_nm >= 0),
  taper_tenth_nm INTEGER CHECK (taper_tenth_nm >= 0),
  permission TEXT NOT NULL CHECK (permission IN ('permitted', 'on_vehicle_only', 'prohibited', 'not_stated')),
  construction TEXT CHECK (
    construction IN ('solid', 'vented', 'drilled', 'slotted', 'composite', 'coated', 'cast')
  ),
  {exact_column("expansion_per_k")},
  printed_unit TEXT NOT NULL CHECK (printed_unit IN ('mm', 'in')),
  printed TEXT NOT NULL CHECK (CASE WHEN json_valid(printed) THEN json_type(printed) = 'object' ELSE 0 END),
  document TEXT NOT NULL CHECK (document <> ''),
  publisher TEXT NOT NULL CHECK (publisher <> ''),
  section TEXT NOT NULL CHECK (section <> ''),
  edition TEXT NOT NULL CHECK (edition <> ''),
  {day_column("issued")},
  {day_column("effective_from", " NOT NULL")},
  {day_column("effective_to")},
  {day_column("review_due")},
  entered_by TEXT NOT NULL CHECK (entered_by <> ''),
  verified_by TEXT NOT NULL CHECK (verified_by <> ''),
  note TEXT,
  {SEAL},
  PRIMARY KEY (limits_id, revision),
  CONSTRAINT two_people CHECK (entered_by <> verified_by),
  CONSTRAINT years_in_order CHECK (year_to >= year_from),
  CONSTRAINT days_in_order CHECK (effective_to > effective_from),
  CONSTRAINT rotor_limits_in_order CHECK (kind <> 'rotor' OR ifnull(machining_tenth_nm >= discard_tenth_nm, 1)
    AND ifnull(nominal_tenth_nm >= discard_tenth_nm, 1) AND ifnull(nominal_tenth_nm >= machining_tenth_nm, 1)),
  CONSTRAINT drum_limits_in_order CHECK (kind = 'rotor' OR ifnull(machining_tenth_nm <= discard_tenth_nm, 1)
    AND ifnull(nominal_tenth_nm <= discard_tenth_nm, 1) AND ifnull(nominal_tenth_nm <= machining_tenth_nm, 1)),
  CONSTRAINT limits_of_this_kind CHECK (CASE kind WHEN 'rotor' THEN out_of_round_tenth_nm IS NULL
    ELSE lateral_runout_tenth_nm IS NULL AND thickness_variation_tenth_nm IS NULL END)
) STRICT"""

POLICIES = f"""
CREATE TABLE policies (
  name TEXT NOT NULL CHECK (name <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  document BLOB NOT NULL CHECK (json_valid(CAST(document AS TEXT))),
  {moment_column("written_at")},
  written_by TEXT NOT NULL CHECK (written_by <> ''),
  {SEAL},
  PRIMARY KEY (name, revision)
) STRICT"""

API_KEYS = f"""
CREATE TABLE api_keys (
  name TEXT PRIMARY KEY NOT NULL CHECK (name <> ''),
  digest TEXT NOT NULL UNIQUE CHECK (digest <> ''),
  scopes TEXT NOT NULL CHECK (CASE WHEN json_valid(scopes) THEN json_type(scopes) = 'array' ELSE 0 END),
  site TEXT CHECK (site <> ''),
  {moment_column("created_at")},
  {moment_column("revoked_at", "")},
  {SEAL}
) STRICT"""

VERDICTS = f"""
CREATE TABLE verdicts (
  sequence INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL CHECK (sequence >= 1),
  id TEXT NOT NULL UNIQUE CHECK (id <> ''),
  {moment_column("judged_at")},
  key_name TEXT NOT NULL CHECK (key_name <> ''),
  site TEXT CHECK (site <> ''),
  ruling TEXT NOT NULL CHECK (ruling IN ('serviceable', 'machine', 'inconclusive', 'replace')),
  kind TEXT NOT NULL CHECK (kind IN {KINDS}),
  make TEXT CHECK (make <> ''),
  make_key TEXT CHECK (make_key <> ''),
  model TEXT CHECK (model <> ''),
  model_key TEXT CHECK (model_key <> ''),
  year INTEGER CHECK (year BETWEEN 1 AND 9999),
  axle TEXT CHECK (axle IN {AXLES}),
  side TEXT CHECK (side IN ('left', 'right')),
  vehicle TEXT CHECK (vehicle <> ''),
  {exact_column("odometer_km")},
  reference TEXT CHECK (reference <> ''),
  release INTEGER REFERENCES releases (number),
  policy_name TEXT NOT NULL CHECK (policy_name <> ''),
  policy_revision INTEGER NOT NULL CHECK (policy_revision >= 0),
  limits_id TEXT,
  limits_revision INTEGER,
  engine TEXT NOT NULL CHECK (engine <> ''),
  digest TEXT NOT NULL CHECK (digest <> ''),
  request BLOB NOT NULL CHECK (length(request) > 0),
  answer BLOB NOT NULL CHECK (length(answer) > 0),
  {SEAL},
  CONSTRAINT make_with_key CHECK ((make IS NULL) = (make_key IS NULL)),
  CONSTRAINT model_with_key CHECK ((model IS NULL) = (model_key IS NULL)),
  CONSTRAINT limits_with_revision CHECK ((limits_id IS NULL) = (limits_revision IS NULL)),
  FOREIGN KEY (limits_id, limits_revision) REFERENCES limit_revisions (limits_id, revision)
) STRICT"""

IDEMPOTENCY_KEYS = f"""
CREATE TABLE idempotency_keys (
  key_name TEXT NOT NULL CHECK (key_name <> ''),
  value TEXT NOT NULL CHECK (value <> ''),
  body_digest TEXT NOT NULL CHECK (body_digest <> ''),
  sequence INTEGER NOT NULL REFERENCES verdicts (sequence),
  {SEAL},
  PRIMARY KEY (key_name, value)
) STRICT, WITHOUT ROWID"""

MISSES = f"""
CREATE TABLE misses (
  make TEXT NOT NULL CHECK (make <> ''),
  make_key TEXT NOT NULL CHECK (make_key <> ''),
  model TEXT NOT NULL CHECK (model <> ''),
  model_key TEXT NOT NULL CHECK (model_key <> ''),
  year INTEGER NOT NULL CHECK (year BETWEEN 1 AND 9999),
  axle TEXT NOT NULL CHECK (axle IN {AXLES}),
  kind TEXT NOT NULL CHECK (kind IN {KINDS}),
  brake_option TEXT CHECK (brake_option <> ''),
  count INTEGER NOT NULL CHECK (count >= 1),
  {moment_column("first_at")},
  {moment_column("last_at")},
  {SEAL},
  CONSTRAINT moments_in_order CHECK (last_at >= first_at)
) STRICT"""

PULSE = """
CREATE TABLE pulse (
  one INTEGER PRIMARY KEY NOT NULL CHECK (one = 1),
  beats INTEGER NOT NULL CHECK (beats >= 0)
) STRICT"""

TABLES = (RELEASES, LIMIT_REVISIONS, POLICIES, API_KEYS, VERDICTS, IDEMPOTENCY_KEYS, MISSES, PULSE)

INDEXES = (
    "CREATE INDEX limit_revisions_by_application ON limit_revisions (make_key, model_key, limits_id)",
    "CREATE INDEX limit_revisions_by_release ON limit_revisions (release)",
    "CREATE INDEX verdicts_by_moment ON verdicts (judged_at)",
    "CREATE INDEX verdicts_by_site ON verdicts (site) WHERE site IS NOT NULL",
    "CREATE INDEX verdicts_by_ruling ON verdicts (ruling)",
    "CREATE INDEX verdicts_by_kind ON verdicts (kind)",
    "CREATE INDEX verdicts_by_make ON verdicts (make_key) WHERE make_key IS NOT NULL",
    "CREATE INDEX verdicts_by_model ON verdicts (model_key) WHERE model_key IS NOT NULL",
    "CREATE INDEX verdicts_by_vehicle ON verdicts (vehicle) WHERE vehicle IS NOT NULL",
    "CREATE INDEX verdicts_by_reference ON verdicts (reference) WHERE reference IS NOT NULL",
    "CREATE INDEX verdicts_by_limits ON verdicts (limits_id, limits_revision) WHERE limits_id IS NOT NULL",
    "CREATE INDEX idempotency_keys_by_sequence ON idempotency_keys (sequence)",
    "CREATE UNIQUE INDEX misses_once ON misses (make_key, model_key, year, axle, kind, ifnull(brake_option, ''))",
    "CREATE INDEX misses_most_wanted ON misses (count DESC, make_key, model_key, year, axle, kind, brake_option)",
)

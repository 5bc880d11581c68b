"""The tables of limits as the second migration makes them; text that is never edited, only followed.

A revision is stored when it is entered. Its acceptance, a row of its own with the store's next number, says that a
second entry agreed; a release names the last acceptance and the last withdrawal that it counts, so that publishing
is one row, however much it publishes.
"""

from __future__ import annotations

from turnrule.store.sqlite_schema import AXLES, KINDS, SEAL, day_column, exact_column, moment_column

RELEASES = f"""
CREATE TABLE releases (
  number INTEGER PRIMARY KEY NOT NULL CHECK (number >= 1),
  {moment_column("published_at")},
  published_by TEXT NOT NULL CHECK (published_by <> ''),
  notes TEXT NOT NULL,
  digest TEXT NOT NULL CHECK (digest <> ''),
  records INTEGER NOT NULL CHECK (records >= 0),
  by_one_person INTEGER NOT NULL CHECK (by_one_person BETWEEN 0 AND records),
  accepted INTEGER NOT NULL CHECK (accepted >= 0),
  withdrawn INTEGER NOT NULL CHECK (withdrawn >= 0),
  {SEAL}
) STRICT"""

IMPORTS = f"""
CREATE TABLE imports (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL CHECK (id >= 1),
  {moment_column("started_at")},
  started_by TEXT NOT NULL CHECK (started_by <> ''),
  touched INTEGER NOT NULL CHECK (touched >= 0),
  finished INTEGER NOT NULL CHECK (finished IN (0, 1)),
  {SEAL}
) STRICT"""

LIMIT_REVISIONS = f"""
CREATE TABLE limit_revisions (
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
  option_key TEXT NOT NULL CHECK ((option_key = '') = (brake_option IS NULL)),
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
  also TEXT CHECK (CASE WHEN json_valid(also) THEN json_type(also) = 'object' ELSE also IS NULL END),
  document TEXT NOT NULL CHECK (document <> ''),
  publisher TEXT NOT NULL CHECK (publisher <> ''),
  section TEXT NOT NULL CHECK (section <> ''),
  edition TEXT NOT NULL CHECK (edition <> ''),
  {day_column("issued")},
  {day_column("effective_from", " NOT NULL")},
  {day_column("effective_to")},
  {day_column("review_due")},
  entered_by TEXT NOT NULL CHECK (entered_by <> ''),
  {moment_column("entered_at")},
  note TEXT,
  reason TEXT,
  warnings TEXT NOT NULL CHECK (CASE WHEN json_valid(warnings) THEN json_type(warnings) = 'array' ELSE 0 END),
  digest TEXT NOT NULL CHECK (digest GLOB 'sha256:*'),
  import_id INTEGER REFERENCES imports (id),
  {SEAL},
  PRIMARY KEY (limits_id, revision),
  CONSTRAINT years_in_order CHECK (year_to >= year_from),
  CONSTRAINT days_in_order CHECK (effective_to > effective_from),
  CONSTRAINT rotor_limits_in_order CHECK (kind <> 'rotor' OR ifnull(machining_tenth_nm >= discard_tenth_nm, 1)
    AND ifnull(nominal_tenth_nm >= discard_tenth_nm, 1) AND ifnull(nominal_tenth_nm >= machining_tenth_nm, 1)),
  CONSTRAINT drum_limits_in_order CHECK (kind = 'rotor' OR ifnull(machining_tenth_nm <= discard_tenth_nm, 1)
    AND ifnull(nominal_tenth_nm <= discard_tenth_nm, 1) AND ifnull(nominal_tenth_nm <= machining_tenth_nm, 1)),
  CONSTRAINT limits_of_this_kind CHECK (CASE kind WHEN 'rotor' THEN out_of_round_tenth_nm IS NULL
    ELSE lateral_runout_tenth_nm IS NULL AND thickness_variation_tenth_nm IS NULL END)
) STRICT"""

ACCEPTANCES = f"""
CREATE TABLE acceptances (
  sequence INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL CHECK (sequence >= 1),
  limits_id TEXT NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  entered_by TEXT NOT NULL CHECK (entered_by <> ''),
  {moment_column("entered_at")},
  verified_by TEXT NOT NULL CHECK (verified_by <> ''),
  {moment_column("verified_at")},
  pause_s INTEGER CHECK (pause_s >= 0),
  {SEAL},
  UNIQUE (limits_id, revision),
  FOREIGN KEY (limits_id, revision) REFERENCES limit_revisions (limits_id, revision),
  CONSTRAINT two_people CHECK (entered_by <> verified_by OR pause_s IS NOT NULL)
) STRICT"""

MISMATCHES = f"""
CREATE TABLE mismatches (
  limits_id TEXT NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  attempt INTEGER NOT NULL CHECK (attempt >= 1),
  entered_by TEXT NOT NULL CHECK (entered_by <> ''),
  {moment_column("entered_at")},
  fields TEXT NOT NULL CHECK (CASE WHEN json_valid(fields) THEN json_array_length(fields) > 0 ELSE 0 END),
  entry BLOB NOT NULL CHECK (length(entry) > 0),
  {SEAL},
  PRIMARY KEY (limits_id, revision, attempt),
  FOREIGN KEY (limits_id, revision) REFERENCES limit_revisions (limits_id, revision)
) STRICT"""

REJECTIONS = f"""
CREATE TABLE rejections (
  limits_id TEXT NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  rejected_by TEXT NOT NULL CHECK (rejected_by <> ''),
  {moment_column("rejected_at")},
  reason TEXT NOT NULL CHECK (reason <> ''),
  {SEAL},
  PRIMARY KEY (limits_id, revision),
  FOREIGN KEY (limits_id, revision) REFERENCES limit_revisions (limits_id, revision)
) STRICT"""

WITHDRAWALS = f"""
CREATE TABLE withdrawals (
  sequence INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL CHECK (sequence >= 1),
  limits_id TEXT NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  withdrawn_by TEXT NOT NULL CHECK (withdrawn_by <> ''),
  {moment_column("withdrawn_at")},
  reason TEXT NOT NULL CHECK (reason <> ''),
  {SEAL},
  FOREIGN KEY (limits_id, revision) REFERENCES acceptances (limits_id, revision)
) STRICT"""

OPEN_DRAFTS = """
CREATE TABLE open_drafts (
  limits_id TEXT PRIMARY KEY NOT NULL CHECK (limits_id <> ''),
  revision INTEGER NOT NULL CHECK (revision >= 1),
  import_id INTEGER REFERENCES imports (id),
  FOREIGN KEY (limits_id, revision) REFERENCES limit_revisions (limits_id, revision)
) STRICT, WITHOUT ROWID"""

VEHICLES = f"""
CREATE TABLE vehicles (
  make_key TEXT NOT NULL CHECK (make_key <> ''),
  model_key TEXT NOT NULL CHECK (model_key <> ''),
  kind TEXT NOT NULL CHECK (kind IN {KINDS}),
  make TEXT NOT NULL CHECK (make <> ''),
  model TEXT NOT NULL CHECK (model <> ''),
  PRIMARY KEY (make_key, model_key, kind)
) STRICT, WITHOUT ROWID"""

STORE_RULES = f"""
CREATE TABLE store_rules (
  revision INTEGER PRIMARY KEY NOT NULL CHECK (revision >= 1),
  {moment_column("set_at")},
  set_by TEXT NOT NULL CHECK (set_by <> ''),
  one_person_pause_s INTEGER CHECK (one_person_pause_s >= 0),
  signed_packs_only INTEGER NOT NULL CHECK (signed_packs_only IN (0, 1)),
  trusted_keys TEXT NOT NULL
    CHECK (CASE WHEN json_valid(trusted_keys) THEN json_type(trusted_keys) = 'array' ELSE 0 END),
  {SEAL}
) STRICT"""

KEPT_ANSWERS = f"""
CREATE TABLE kept_answers (
  key_name TEXT NOT NULL CHECK (key_name <> ''),
  value TEXT NOT NULL CHECK (value <> ''),
  body_digest TEXT NOT NULL CHECK (body_digest <> ''),
  status INTEGER NOT NULL CHECK (status BETWEEN 200 AND 599),
  content BLOB NOT NULL,
  location TEXT CHECK (location <> ''),
  {SEAL},
  PRIMARY KEY (key_name, value)
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
  withdrawn INTEGER NOT NULL CHECK (withdrawn >= 0),
  lathe_name TEXT,
  lathe_revision INTEGER,
  drawn BLOB CHECK (CASE WHEN json_valid(CAST(drawn AS TEXT)) THEN json_type(CAST(drawn AS TEXT)) = 'array'
    ELSE drawn IS NULL END),
  axle_id TEXT REFERENCES axle_verdicts (id) DEFERRABLE INITIALLY DEFERRED,
  {SEAL},
  CONSTRAINT make_with_key CHECK ((make IS NULL) = (make_key IS NULL)),
  CONSTRAINT model_with_key CHECK ((model IS NULL) = (model_key IS NULL)),
  CONSTRAINT limits_with_revision CHECK ((limits_id IS NULL) = (limits_revision IS NULL)),
  CONSTRAINT lathe_with_revision CHECK ((lathe_name IS NULL) = (lathe_revision IS NULL)),
  FOREIGN KEY (limits_id, limits_revision) REFERENCES acceptances (limits_id, revision),
  FOREIGN KEY (lathe_name, lathe_revision) REFERENCES lathes (name, revision)
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

TABLES = (
    *(RELEASES, IMPORTS, LIMIT_REVISIONS, ACCEPTANCES, MISMATCHES, REJECTIONS, WITHDRAWALS, OPEN_DRAFTS, VEHICLES),
    *(STORE_RULES, KEPT_ANSWERS, VERDICTS, IDEMPOTENCY_KEYS),
)

INDEXES = (
    "CREATE INDEX limit_revisions_by_application ON limit_revisions (make_key, model_key, limits_id)",
    "CREATE INDEX limit_revisions_by_size ON limit_revisions (kind, nominal_tenth_nm) WHERE nominal_tenth_nm > 0",
    "CREATE INDEX limit_revisions_by_review ON limit_revisions (review_due) WHERE review_due IS NOT NULL",
    "CREATE INDEX limit_revisions_by_import ON limit_revisions (import_id) WHERE import_id IS NOT NULL",
    "CREATE INDEX open_drafts_by_import ON open_drafts (import_id) WHERE import_id IS NOT NULL",
    "CREATE INDEX withdrawals_by_record ON withdrawals (limits_id, revision)",
    "CREATE INDEX verdicts_by_moment ON verdicts (judged_at)",
    "CREATE INDEX verdicts_by_site ON verdicts (site) WHERE site IS NOT NULL",
    "CREATE INDEX verdicts_by_ruling ON verdicts (ruling)",
    "CREATE INDEX verdicts_by_kind ON verdicts (kind)",
    "CREATE INDEX verdicts_by_make ON verdicts (make_key) WHERE make_key IS NOT NULL",
    "CREATE INDEX verdicts_by_model ON verdicts (model_key) WHERE model_key IS NOT NULL",
    "CREATE INDEX verdicts_by_vehicle ON verdicts (vehicle) WHERE vehicle IS NOT NULL",
    "CREATE INDEX verdicts_by_reference ON verdicts (reference) WHERE reference IS NOT NULL",
    "CREATE INDEX verdicts_by_limits ON verdicts (limits_id) WHERE limits_id IS NOT NULL",
    "CREATE INDEX verdicts_by_lathe ON verdicts (lathe_name, lathe_revision) WHERE lathe_name IS NOT NULL",
    "CREATE INDEX verdicts_by_axle_verdict ON verdicts (axle_id) WHERE axle_id IS NOT NULL",
    "CREATE INDEX idempotency_keys_by_sequence ON idempotency_keys (sequence)",
)

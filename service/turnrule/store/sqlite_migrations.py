"""The schema of the embedded store, as an ordered list of migrations that only `migrate` runs.

Each runs in one transaction of our own that is begun as a writer, together with the row that records it and with
the file's `user_version`, which counts the migrations that have run: reading it costs every call next to nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from turnrule.store.sqlite_schema import INDEXES, TABLES
from turnrule.store.sqlite_second import keep_entries
from turnrule.store.sqlite_triggers import TRIGGERS

APPLICATION_ID = 0x54524C45
"""What the file's header says of the program that it belongs to ("TRLE")."""

MIGRATIONS = Migrations("turnrule")


@MIGRATIONS()
def m0001_first_schema(db: Database) -> None:
    """Releases, limit revisions, policies, keys, verdicts, idempotency keys, misses."""
    for statement in (*TABLES, *INDEXES, *TRIGGERS):
        db.execute(statement)
    db.execute("INSERT INTO pulse (one, beats) VALUES (1, 0)")
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")


@MIGRATIONS()
def m0002_entries_and_releases(db: Database) -> None:
    """Drafts, second entries, withdrawals, rules, kept answers; releases that name what they count; fleets, events."""
    keep_entries(db)


NAMES: tuple[str, ...] = ("m0001_first_schema", "m0002_entries_and_releases")
"""Every migration, in order; a store is up to date when its version is their number."""


def version(db: Database) -> int:
    """How many migrations the store says have run."""
    (number,) = db.execute("PRAGMA user_version").fetchone()
    return int(number)


def is_foreign(db: Database) -> bool:
    """True where the file is another program's: it has content, and its header does not name this one.

    The header is looked at again once there is content: another process may have migrated between the two looks,
    and what it wrote came with its name, in one transaction.
    """
    if _application(db) == APPLICATION_ID:
        return False
    has_content = _application(db) != 0 or version(db) != 0 or bool(set(db.table_names()) - _BOOKS)
    return has_content and _application(db) != APPLICATION_ID


def _application(db: Database) -> int:
    (application,) = db.execute("PRAGMA application_id").fetchone()
    return int(application)


_BOOKS = {Migrations.migrations_table, "sqlite_sequence"}


def pending(db: Database) -> Sequence[str]:
    """The names of the migrations that have not run; none where the store is newer than this program."""
    if not db.table(Migrations.migrations_table).exists():
        return NAMES
    # In SQL of our own: the library looks columns up by name, and a damaged schema may have given them others.
    rows = db.execute(f"SELECT name, applied_at FROM {Migrations.migrations_table} WHERE migration_set = 'turnrule'")  # noqa: S608  # names of ours
    applied = {name for name, _ in rows}
    return [name for name in NAMES if name not in applied]


def keep_books(db: Database) -> None:
    """The table in which the library records what has run, as a strict one; within a transaction."""
    table = db.table(Migrations.migrations_table)
    if table.exists():
        return
    required = ("migration_set", "name", "applied_at")
    table.create({"id": int} | dict.fromkeys(required, str), pk="id", not_null=required, strict=True)
    table.create_index(["migration_set", "name"], unique=True)


def run_next(db: Database) -> str | None:
    """Run the first pending migration within the caller's transaction; its name, or None when there is none."""
    keep_books(db)
    waiting = pending(db)
    if not waiting:
        return None
    MIGRATIONS.apply(db, stop_before=waiting[1:])
    db.execute(f"PRAGMA user_version = {NAMES.index(waiting[0]) + 1}")
    return waiting[0]


def schema_of(db: Database) -> dict[tuple[str, str], str | None]:
    """What the store's schema says, by kind and name of each table, index and trigger."""
    return {(kind, name): sql for kind, name, sql in db.execute("SELECT type, name, sql FROM sqlite_schema")}


def expected_schema() -> dict[tuple[str, str], str | None]:
    """What the schema says in a store that was migrated just now."""
    db = Database(memory=True, execute_plugins=False)
    try:
        while run_next(db) is not None:
            pass
        return schema_of(db)
    finally:
        db.close()

"""What SQLite answers when it cannot do a thing, as the store's own errors: a sentence that says what to do."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from turnrule.store.errors import IndependenceError, NameTakenError, RulesError, StoreError, StoreUnavailableError
from turnrule.store.sqlite_triggers import TAKEN
from turnrule.store.sqlite_triggers_limits import INDEPENDENCE, RULES

DAMAGED = "stop the service, keep the file as it is, run `turnrule store check`, and restore the last sound backup"
"""What to do with a damaged store."""

_REMEDIES = {
    sqlite3.SQLITE_BUSY: "another program has held it locked for too long; end that program or try again",
    sqlite3.SQLITE_LOCKED: "another program has held it locked for too long; end that program or try again",
    sqlite3.SQLITE_FULL: "its disk is full; free some space there and try again",
    sqlite3.SQLITE_READONLY: "it may only be read; give this user write permission on the file and on its folder",
    sqlite3.SQLITE_PERM: "this user may not use it; give this user permission on the file and on its folder",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened; see that its folder exists and that this user may write there",
    sqlite3.SQLITE_IOERR: "its disk refuses to read or write; see that it has space, and look at the system's log",
    sqlite3.SQLITE_NOMEM: "the machine is out of memory; free some and try again",
    sqlite3.SQLITE_INTERRUPT: "the work was interrupted; try again",
    sqlite3.SQLITE_CORRUPT: f"it is damaged; {DAMAGED}",
    sqlite3.SQLITE_NOTADB: f"it is not a store, or its first page is damaged; if it was one, {DAMAGED}",
}
_PRIMARY = 0xFF
_TAKEN_CODES = {
    sqlite3.SQLITE_CONSTRAINT_UNIQUE,
    sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY,
    sqlite3.SQLITE_CONSTRAINT_ROWID,
}


def unavailable(path: Path, why: str) -> StoreUnavailableError:
    """The error of a store that cannot serve now, with the remedy."""
    return StoreUnavailableError(f"the store {path} cannot be used: {why}")


def damaged(path: Path, what: str) -> StoreUnavailableError:
    """The error of a store in which something stands that was never written."""
    return unavailable(path, f"{what}; {DAMAGED}")


def is_constraint(error: Exception) -> bool:
    """True where the data was refused, and the store is as sound as before."""
    return isinstance(error, sqlite3.IntegrityError)


def store_error(error: Exception, path: Path) -> StoreError:
    """The store's own error for what SQLite or its driver raised."""
    if isinstance(error, sqlite3.IntegrityError):
        return _refusal(error)
    if isinstance(error, OverflowError | UnicodeEncodeError | sqlite3.DataError):
        return StoreError(f"the store keeps no such value ({error}); nothing was written")
    code = getattr(error, "sqlite_errorcode", None)
    remedy = None if code is None else _REMEDIES.get(code & _PRIMARY)
    if remedy is None:
        # What is left is a table that is not there or text that is no text: the file is not what was written.
        return damaged(path, f"it does not hold what it should ({error})")
    return unavailable(path, remedy)


def _refusal(error: sqlite3.IntegrityError) -> StoreError:
    text, code = str(error), error.sqlite_errorcode
    if text.startswith(TAKEN):
        return NameTakenError(text.removeprefix(TAKEN))
    if text.startswith(INDEPENDENCE) or "two_people" in text:
        return IndependenceError(text.removeprefix(INDEPENDENCE))
    if text.startswith(RULES):
        return RulesError(text.removeprefix(RULES))
    if code in _TAKEN_CODES:
        return NameTakenError(f"what must be unique is stored already ({text})")
    if code == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
        return StoreError("it refers to a release, a limits revision or a verdict that the store does not hold")
    return StoreError(f"the store refuses it: {text}; nothing was written")

"""Files of limits taken into a real store, and what came of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from turnrule.actions.desk import Desk
from turnrule.actions.file_rows import RowFault
from turnrule.actions.importing import Imported, import_entries
from turnrule.actions.verifying_rows import Compared, RowOutcome, verify_entries
from turnrule.api.limit_files.opening import opened
from turnrule.api.limit_files.reading import FIRST_ENTRIES, SECOND_ENTRIES
from turnrule.api.limit_files.row_numbers import RowNumbers
from turnrule.store.limit_records import OpenDraft
from turnrule.store.port import Key


def person(desk: Desk, name: str, *scopes: str) -> Key:
    """Somebody with a key; the actions look at its name only."""
    return Key(name, f"digest of {name}", frozenset(scopes), None, desk.clock())


@dataclass(slots=True)
class Filed:
    """What was told of one file."""

    done: Imported
    faults: list[RowFault]

    @property
    def told(self) -> list[tuple[int, str, str]]:
        """Row, column and code of each fault."""
        return [(fault.row, fault.column, fault.code) for fault in self.faults]


def bring_in(
    desk: Desk,
    path: Path,
    *,
    by: str = "anna",
    accepted: Mapping[str, str] | None = None,
    rows: str | None = None,
    dry_run: bool = False,
) -> Filed:
    """Import a file of first entries."""
    faults: list[RowFault] = []
    with opened(path, FIRST_ENTRIES, only=None if rows is None else RowNumbers(rows)) as found:
        done = import_entries(
            desk, found.rows, person(desk, by), accepted=accepted or {}, tell=faults.append, dry_run=dry_run
        )
    return Filed(done, faults)


@dataclass(slots=True)
class Held:
    """What was told of one file of second entries."""

    done: Compared
    faults: list[RowFault] = field(default_factory=list)
    outcomes: list[RowOutcome] = field(default_factory=list)

    @property
    def told(self) -> list[tuple[int, str, tuple[str, ...]]]:
        """Row, outcome and differing columns of each row."""
        return [(one.row, one.outcome.value, one.columns) for one in self.outcomes]


def hold_against(desk: Desk, path: Path, *, by: str = "ben", dry_run: bool = False) -> Held:
    """Verify by a file of second entries."""
    faults: list[RowFault] = []
    outcomes: list[RowOutcome] = []
    with opened(path, SECOND_ENTRIES) as found:
        done = verify_entries(
            desk, found.rows, person(desk, by), tell=faults.append, report=outcomes.append, dry_run=dry_run
        )
    return Held(done, faults, outcomes)


def drafts(desk: Desk) -> list[OpenDraft]:
    """All open drafts, by id."""
    found: list[OpenDraft] = []
    while page := desk.store.drafts(after=found[-1].revision.limits_id if found else "", limit=100):
        found.extend(page)
    return found

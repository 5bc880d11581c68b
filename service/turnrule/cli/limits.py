"""`turnrule limits import|verify`: limits entered and entered again from files, under the key of whoever did."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from turnrule.actions.file_rows import Entry, Row
from turnrule.actions.importing import Imported, import_entries
from turnrule.actions.verifying_rows import Compared, Outcome, RowOutcome, verify_entries
from turnrule.api.limit_files.opening import Opened, opened
from turnrule.api.limit_files.reading import FIRST_ENTRIES, SECOND_ENTRIES
from turnrule.api.limit_files.row_numbers import RowNumbers
from turnrule.cli.exits import Exit, guarded, say
from turnrule.cli.fault_reports import FaultReport, reporting, wrapped
from turnrule.cli.limit_files import export, template
from turnrule.cli.limit_options import AS_JSON, FAULTS, PLACE, ROWS, SHEET, AcceptedType
from turnrule.cli.progress import Stage
from turnrule.cli.release_packing import watched
from turnrule.cli.working_keys import key_option, working_key
from turnrule.settings import read_settings
from turnrule.wiring import open_desk


@click.group()
def limits() -> None:
    """Enter limits from files, enter them a second time, and write them to files."""


@limits.command("import")
@PLACE
@ROWS
@SHEET
@click.option(
    "--accept-warning",
    "accepted",
    type=AcceptedType(),
    multiple=True,
    help="Why all warnings of this code are accepted; repeat it.",
)
@FAULTS
@click.option("--dry-run", is_flag=True, help="Check everything, and enter nothing.")
@AS_JSON
@key_option("limits:write")
@guarded
def import_(
    file: Path,
    rows: RowNumbers | None,
    sheet: str | None,
    accepted: tuple[tuple[str, str], ...],
    faults: Path | None,
    secret: str | None,
    *,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Enter the limits in FILE as drafts: all of them, or none.

    FILE is a table (.csv or .xlsx, see 'limits template') or JSON bodies (.json, .jsonl, or a folder of them). All
    faults are told at once, and nothing is entered unless every row passes, or every one that --rows names. A warning
    needs a reason, in the row's answered_warnings or by --accept-warning. Each draft then waits for its second entry
    by somebody else. Exit code 3 where something stands in the way.
    """
    desk = open_desk(read_settings(os.environ), read_only=dry_run)
    try:
        key = working_key(desk, secret, "limits:write")
        with (
            reporting(faults, file) as report,
            opened(file, FIRST_ENTRIES, only=rows, sheet=sheet) as found,
            Stage("Storing") as stage,
        ):
            done = import_entries(
                desk, _read(found), key, accepted=dict(accepted), tell=report, dry_run=dry_run, storing=stage
            )
    finally:
        desk.store.close()
    _show_import(file, done, report, dry_run=dry_run, as_json=as_json)
    sys.exit(Exit.DONE if done.passed else Exit.REFUSED)


def _read(found: Opened[Entry]) -> Iterator[Row[Entry]]:
    """The rows, and on standard error how far the reading is."""
    with watched("Reading") as progress:
        for row in found.rows:
            yield row
            progress(found.position(), max(found.size, 1))


def _show_import(file: Path, done: Imported, report: FaultReport, *, dry_run: bool, as_json: bool) -> None:
    if as_json:
        document = {
            "file": str(file),
            "dry_run": dry_run,
            "rows": done.rows,
            "drafts": done.drafts,
            "faults": done.faults,
            "warnings": done.warnings,
            "warnings_answered": done.answered,
            "warnings_accepted": dict(done.accepted),
            "answers_left_out": done.idle,
            "shown": report.documents(),
        }
        click.echo(json.dumps(document))
    for line in report.lines():
        say(line)
    for line in _import_in_words(file, done, dry_run=dry_run):
        say("\n".join(wrapped(line)))


def _import_in_words(file: Path, done: Imported, *, dry_run: bool) -> Iterator[str]:
    if done.answered:
        yield f"Warnings answered by their rows: {done.answered}."
    for code, count in done.accepted.items():
        yield f"Warnings accepted for all rows: {count} x {code}."
    if done.idle:
        yield f"Answers to warnings that were not raised here: {done.idle}, left out."
    if done.warnings:
        yield (
            "A warning is answered by its row, as 'code: reason' in answered_warnings, or for all rows by "
            "--accept-warning CODE=REASON."
        )
    rows = _counted(done.rows, "row")
    if not done.passed:
        stood = " and ".join(_counted(count, what) for count, what in _in_the_way(done) if count)
        yield f"{file}: {stood}{f' in {rows}' if done.rows else ''}; nothing was entered."
    elif dry_run:
        yield f"{file}: {rows}, nothing in the way. This was a dry run; nothing was entered."
    else:
        drafts = _counted(done.drafts, "draft")
        yield f"{file}: {rows}, {drafts} entered. Each waits for its second entry by somebody else."


def _in_the_way(done: Imported) -> tuple[tuple[int, str], ...]:
    return (done.faults, "fault"), (done.warnings, "unanswered warning")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


@limits.command()
@PLACE
@ROWS
@SHEET
@FAULTS
@click.option("--dry-run", is_flag=True, help="Find the draft of each row; compare nothing, and keep nothing.")
@AS_JSON
@key_option("limits:verify")
@guarded
def verify(
    file: Path,
    rows: RowNumbers | None,
    sheet: str | None,
    faults: Path | None,
    secret: str | None,
    *,
    dry_run: bool,
    as_json: bool,
) -> None:
    """Enter the limits in FILE a second time: each row against the open draft that it is for.

    FILE is the second person's own, read from the same documents without having seen the drafts; it has the same
    columns as for 'limits import'. A row finds its draft by limits_id, else by what it is for. Each row is told as
    verified, as differing in some columns (never by how much), or as having no draft. A row that differs is kept as
    a second entry that does not match: read the document again before it is sent again, with --rows. With --json,
    one object a line, the last of them with the counts. Exit code 3 where a row was not verified.
    """
    desk = open_desk(read_settings(os.environ), read_only=dry_run)
    try:
        key = working_key(desk, secret, "limits:verify")
        with (
            reporting(faults, file) as report,
            opened(file, SECOND_ENTRIES, only=rows, sheet=sheet) as found,
            Stage("Verifying") as stage,
        ):
            done = verify_entries(
                desk,
                _read(found),
                key,
                tell=report,
                report=_outcome_as_json if as_json else _outcome_in_words,
                dry_run=dry_run,
                settling=lambda count, of: None if sys.stdout.isatty() else stage(count, of),
            )
    finally:
        desk.store.close()
    _show_verification(file, done, report, dry_run=dry_run, as_json=as_json)
    sys.exit(Exit.DONE if done.all_verified or (dry_run and done.matched == done.rows) else Exit.REFUSED)


def _outcome_as_json(outcome: RowOutcome) -> None:
    document = {
        "row": outcome.row,
        "outcome": outcome.outcome,
        "limits_id": outcome.limits_id or None,
        "columns": list(outcome.columns),
        "remedy": outcome.remedy or None,
        "file": outcome.file,
    }
    click.echo(json.dumps(document))


def _outcome_in_words(outcome: RowOutcome) -> None:
    where = f"{outcome.file}, row {outcome.row}" if outcome.file else f"row {outcome.row}"
    record = f" {outcome.limits_id}" if outcome.limits_id else ""
    columns = f" in {', '.join(outcome.columns)}" if outcome.columns else ""
    lines = wrapped(f"{where}:{record} {outcome.outcome.replace('_', ' ')}{columns}")
    if outcome.remedy:
        lines += wrapped(outcome.remedy, indent="  ")
    click.echo("\n".join(lines))


def _show_verification(file: Path, done: Compared, report: FaultReport, *, dry_run: bool, as_json: bool) -> None:
    outcomes = {outcome.value: done.outcomes.get(outcome, 0) for outcome in Outcome}
    if as_json:
        counts = {"rows": done.rows, "faults": done.faults, "matched": done.matched, "outcomes": outcomes}
        click.echo(json.dumps({"done": True, "dry_run": dry_run, **counts, "shown": report.documents()}))
    for line in report.lines():
        say(line)
    rows = _counted(done.rows, "row")
    if done.faults:
        summary = f"{_counted(done.faults, 'fault')}{f' in {rows}' if done.rows else ''}; nothing was compared."
    elif dry_run:
        summary = f"{rows}, {done.matched} of them with an open draft. This was a dry run; nothing was compared."
    else:
        told = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in outcomes.items() if count)
        summary = f"{rows}: {told}."
    say("\n".join(wrapped(f"{file}: {summary}")))


for command in (export, template):
    limits.add_command(command)

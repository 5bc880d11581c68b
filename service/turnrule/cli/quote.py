"""`turnrule quote-check`: does a quote agree with what was measured? Without a server."""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from turnrule.actions.checking_quotes import check_lines
from turnrule.actions.desk import Desk
from turnrule.actions.quote_answers import quote_answer
from turnrule.actions.refusals import RefusedError
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.impact import read_stored
from turnrule.api.json_reading import read_json
from turnrule.api.quote_reading import read_quote
from turnrule.cli.exits import Exit, fault_lines, guarded, say
from turnrule.cli.judging import judging_desk
from turnrule.cli.quote_table import quote_table
from turnrule.judging.faults import PartError
from turnrule.judging.quote_words import FindingLevel
from turnrule.settings import read_settings


@click.command("quote-check")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option("--table", is_flag=True, help="Print a table to read instead of JSON.")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), help="Check as of the beginning of this day (UTC) instead of now."
)
@guarded
def quote_check(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Check the quote in each of FILES (- is standard input): JSON in, an answer a line out.

    Holds the lines of a quote against what was measured, the limits and the policy's pair rule: what contradicts them,
    what is missing, what to ask, and what each way costs per 1,000 km. Limits and stored verdicts come from the store
    that TURNRULE_DATABASE names, as for judge. Nothing is recorded. The prices are yours: none of them is checked.

    Exit code 3 where a quote was refused, else 4 where one is contradicted, else 5 where something is missing, else 0.
    """
    levels: list[FindingLevel | None] = []
    refused = False
    with judging_desk(read_settings(os.environ)) as desk:
        for file in files:
            try:
                level, answer = _check_one(desk, file, on)
            except (FaultsError, PartError, RefusedError) as error:
                refused = True
                say("\n".join([f"{file}: refused:", *fault_lines(error.faults)]))
                continue
            except TooLargeError as error:
                refused = True
                say(f"{file}: refused: {error}")
                continue
            levels.append(level)
            click.echo(quote_table(str(file), answer) if table else answer.decode())
    sys.exit(Exit.REFUSED if refused else exit_for_quotes(levels))


def exit_for_quotes(levels: Iterable[FindingLevel | None]) -> Exit:
    """The code for a run of checks: the worst of them."""
    found = set(levels)
    if FindingLevel.CONTRADICTION in found:
        return Exit.REPLACE
    return Exit.INCONCLUSIVE if FindingLevel.MISSING in found else Exit.DONE


def _check_one(desk: Desk, file: Path, on: datetime.datetime | None) -> tuple[FindingLevel | None, bytes]:
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    at = desk.clock() if on is None else on.replace(tzinfo=datetime.UTC)
    read = read_quote(desk, None, read_json(raw), at)
    checked = check_lines(desk, None, read, read_stored, at)
    return checked.check.level, quote_answer(desk.pack, checked)

"""`turnrule setup-check`: is the part mounted right? Without a server."""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError
from turnrule.actions.setting_up import check_mounted
from turnrule.actions.setup_answers import setup_answer
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import read_json
from turnrule.api.setup_reading import read_setup
from turnrule.cli.exits import Exit, fault_lines, guarded, say
from turnrule.cli.judging import judging_desk
from turnrule.cli.setup_table import setup_table
from turnrule.judging.faults import PartError
from turnrule.settings import read_settings


@click.command("setup-check")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option("--table", is_flag=True, help="Print a table to read instead of JSON.")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), help="Check as of the beginning of this day (UTC) instead of now."
)
@guarded
def setup_check(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Check the set-up in each of FILES (- is standard input): JSON in, an answer a line out.

    Tells from scratches or indicator traces whether a part is mounted right, and what its mount would cost; also
    works out match mounting on the hub, clean-up planes and the form of a drum. Limits come from the store that
    TURNRULE_DATABASE names, as for judge. Nothing is recorded.

    Exit code 3 where a request was refused, else 4 where a part must be mounted again or cannot afford its cut, else 5
    where something that was asked cannot be told yet, else 0.
    """
    told: list[bool | None] = []
    refused = False
    with judging_desk(read_settings(os.environ)) as desk:
        for file in files:
            try:
                ready, answer = _check_one(desk, file, on)
            except (FaultsError, PartError, RefusedError) as error:
                refused = True
                say("\n".join([f"{file}: refused:", *fault_lines(error.faults)]))
                continue
            except TooLargeError as error:
                refused = True
                say(f"{file}: refused: {error}")
                continue
            told.append(ready)
            click.echo(setup_table(str(file), answer) if table else answer.decode())
    sys.exit(Exit.REFUSED if refused else exit_for_setups(told))


def exit_for_setups(told: Iterable[bool | None]) -> Exit:
    """The code for a run of checks: the worst of them."""
    listed = list(told)
    if False in listed:
        return Exit.REPLACE
    return Exit.INCONCLUSIVE if None in listed else Exit.DONE


def _check_one(desk: Desk, file: Path, on: datetime.datetime | None) -> tuple[bool | None, bytes]:
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    read = read_setup(desk, read_json(raw))
    at = desk.clock() if on is None else on.replace(tzinfo=datetime.UTC)
    checked = check_mounted(desk, read, at)
    return checked.check.ready, setup_answer(desk.pack, checked)

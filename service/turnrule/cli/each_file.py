"""What `judge`, `axle`, `setup-check` and `quote-check` have in common: a document in each file, an answer a line."""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

import click

from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import read_json
from turnrule.cli.exits import Exit, fault_lines, say
from turnrule.cli.passing_desk import judging_desk
from turnrule.judging.faults import PartError
from turnrule.settings import read_settings

Outcome = TypeVar("Outcome")
Command = Callable[..., Any]

FILES = click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True)
)
TABLE = click.option("--table", is_flag=True, help="Print a table to read instead of JSON.")


def as_of(verb: str) -> Callable[[Command], Command]:
    """The option for another day than today."""
    told = f"{verb} as of the beginning of this day (UTC) instead of now."
    return click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help=told)


@dataclass(frozen=True, slots=True)
class Told(Generic[Outcome]):
    """What came of one file: what the exit code goes by, the answer's bytes, and how it is shown as a table."""

    outcome: Outcome
    content: bytes
    table: Callable[[str], str]


def each_file(
    files: Sequence[Path],
    on: datetime.datetime | None,
    answer: Callable[[Desk, object, datetime.datetime], Told[Outcome]],
    exit_for: Callable[[list[Outcome]], Exit],
    *,
    table: bool,
) -> None:
    """Answer the document in each file, one after another, and leave with the worst of their codes.

    A file that is refused is told of and holds up none of the others.
    """
    outcomes: list[Outcome] = []
    refused = False
    with judging_desk(read_settings(os.environ)) as desk:
        for file in files:
            try:
                told = answer(desk, read_json(_bytes_of(file)), _moment(desk, on))
            except (FaultsError, PartError, RefusedError) as error:
                refused = True
                say("\n".join([f"{file}: refused:", *fault_lines(error.faults)]))
                continue
            except TooLargeError as error:
                refused = True
                say(f"{file}: refused: {error}")
                continue
            outcomes.append(told.outcome)
            click.echo(told.table(str(file)) if table else told.content.decode())
    sys.exit(Exit.REFUSED if refused else exit_for(outcomes))


def _bytes_of(file: Path) -> bytes:
    return sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()


def _moment(desk: Desk, on: datetime.datetime | None) -> datetime.datetime:
    return desk.clock() if on is None else on.replace(tzinfo=datetime.UTC)

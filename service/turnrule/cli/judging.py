"""`turnrule judge`: verdicts without a server."""

from __future__ import annotations

import contextlib
import datetime
import os
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import click
import orjson

from turnrule.actions.answers import Answer
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import answer_to, reach
from turnrule.actions.refusals import RefusedError
from turnrule.api.demo import load_demo_limits
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import read_json
from turnrule.api.verdict_schemas import read_request
from turnrule.cli.exits import Exit, exit_for, fault_lines, guarded, say
from turnrule.cli.passes_table import heat_lines, passes_lines
from turnrule.cli.tables import verdict_table
from turnrule.judging.faults import PartError
from turnrule.judging.verdict import Verdict
from turnrule.settings import Settings, read_settings
from turnrule.wiring import open_desk


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option("--table", is_flag=True, help="Print a table to read instead of JSON.")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), help="Judge as of the beginning of this day (UTC) instead of now."
)
@guarded
def judge(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Judge the request in each of FILES (- is standard input): JSON in, a verdict a line out.

    Limits come from the store that TURNRULE_DATABASE names; where there is none, from the pack's invented demo
    scenario, and from the request's own limits or marking. Nothing is recorded: only the service keeps verdicts.
    Exit code 3 where a request was refused, else 4 where a part must be replaced, else 5 where one is inconclusive.
    """
    rulings = []
    refused = False
    with judging_desk(read_settings(os.environ)) as desk:
        for file in files:
            try:
                verdict, answer = _judge_one(desk, file, on)
            except (FaultsError, PartError, RefusedError) as error:
                refused = True
                say("\n".join([f"{file}: refused:", *fault_lines(error.faults)]))
                continue
            except TooLargeError as error:
                refused = True
                say(f"{file}: refused: {error}")
                continue
            rulings.append(verdict.ruling)
            click.echo(_table(str(file), answer) if table else answer.content.decode())
    sys.exit(Exit.REFUSED if refused else exit_for(rulings))


def _table(name: str, answer: Answer) -> str:
    told = orjson.loads(answer.content)
    return verdict_table(name, answer, (*passes_lines(told), *heat_lines(told)))


def _judge_one(desk: Desk, file: Path, on: datetime.datetime | None) -> tuple[Verdict, Answer]:
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    request = read_request(read_json(raw))
    at = desk.clock() if on is None else on.replace(tzinfo=datetime.UTC)
    reached = reach(desk, request, at)
    return reached.verdict, answer_to(request, reached, desk.make_id(at), at)


@contextlib.contextmanager
def judging_desk(settings: Settings) -> Iterator[Desk]:
    """The desk over the store that there is, or over a passing one with the demo's limits."""
    if not settings.is_embedded or Path(settings.database).exists():
        yield open_desk(settings)
        return
    say(f"no store at {settings.database}: only the pack's invented demo vehicles are known")
    with tempfile.TemporaryDirectory(prefix="turnrule-") as folder:
        passing = open_desk(replace(settings, database=str(Path(folder) / "passing.sqlite")))
        passing.store.migrate()
        load_demo_limits(passing)
        try:
            yield passing
        finally:
            passing.store.close()

"""`turnrule axle`: verdicts on axles without a server."""

from __future__ import annotations

import datetime
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from turnrule.actions.answers import Answer
from turnrule.actions.axle_answers import axle_answer_of
from turnrule.actions.desk import Desk
from turnrule.actions.judging_axles import side_answers
from turnrule.actions.reaching_axles import reach_axle
from turnrule.actions.refusals import RefusedError
from turnrule.api.axle_reading import read_axle
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import read_json
from turnrule.cli.exits import Exit, exit_for, fault_lines, guarded, say
from turnrule.cli.judging import judging_desk
from turnrule.cli.tables import axle_table
from turnrule.judging.faults import PartError
from turnrule.judging.words import Ruling
from turnrule.settings import read_settings


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option("--table", is_flag=True, help="Print a table to read instead of JSON.")
@click.option(
    "--on", type=click.DateTime(["%Y-%m-%d"]), help="Judge as of the beginning of this day (UTC) instead of now."
)
@guarded
def axle(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Judge the axle in each of FILES (- is standard input): JSON in, a verdict a line out.

    What both sides share stands beside `left` and `right`, once. Limits come from where `turnrule judge` takes them.
    Nothing is recorded: only the service keeps verdicts. Exit code 3 where a request was refused, else 4 where an
    axle has a part that must be replaced, else 5 where one is inconclusive.
    """
    rulings = []
    refused = False
    with judging_desk(read_settings(os.environ)) as desk:
        for file in files:
            try:
                ruling, answer = _judge_one(desk, file, on)
            except (FaultsError, PartError, RefusedError) as error:
                refused = True
                say("\n".join([f"{file}: refused:", *fault_lines(error.faults)]))
                continue
            except TooLargeError as error:
                refused = True
                say(f"{file}: refused: {error}")
                continue
            rulings.append(ruling)
            click.echo(axle_table(str(file), answer) if table else answer.content.decode())
    sys.exit(Exit.REFUSED if refused else exit_for(rulings))


def _judge_one(desk: Desk, file: Path, on: datetime.datetime | None) -> tuple[Ruling, Answer]:
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    at = desk.clock() if on is None else on.replace(tzinfo=datetime.UTC)
    reached = reach_axle(desk, read_axle(desk, read_json(raw)), at)
    axle_id, answers = desk.make_id(at), side_answers(desk, reached, at)
    return reached.axle.ruling, axle_answer_of(desk.pack.catalogue, reached, answers, id=axle_id, judged_at=at)

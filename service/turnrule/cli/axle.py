"""`turnrule axle`: verdicts on axles without a server."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import click

from turnrule.actions.axle_answers import axle_answer_of
from turnrule.actions.desk import Desk
from turnrule.actions.judging_axles import side_answers
from turnrule.actions.reaching_axles import reach_axle
from turnrule.api.axle_reading import read_axle
from turnrule.cli.each_file import FILES, TABLE, Told, as_of, each_file
from turnrule.cli.exits import exit_for, guarded
from turnrule.cli.tables import axle_table
from turnrule.judging.words import Ruling


@click.command()
@FILES
@TABLE
@as_of("Judge")
@guarded
def axle(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Judge the axle in each of FILES (- is standard input): JSON in, a verdict a line out.

    What both sides share stands beside `left` and `right`, once. Limits come from where `turnrule judge` takes them.
    Nothing is recorded: only the service keeps verdicts. Exit code 3 where a request was refused, else 4 where an
    axle has a part that must be replaced, else 5 where one is inconclusive.
    """
    each_file(files, on, _judge_one, exit_for, table=table)


def _judge_one(desk: Desk, document: object, at: datetime.datetime) -> Told[Ruling]:
    reached = reach_axle(desk, read_axle(desk, document), at)
    axle_id, answers = desk.make_id(at), side_answers(desk, reached, at)
    answer = axle_answer_of(desk.pack.catalogue, reached, answers, id=axle_id, judged_at=at)
    return Told(reached.axle.ruling, answer.content, lambda name: axle_table(name, answer))

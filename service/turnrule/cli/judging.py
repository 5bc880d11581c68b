"""`turnrule judge`: verdicts without a server."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import click
import orjson

from turnrule.actions.answers import Answer
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import answer_to, reach
from turnrule.api.verdict_schemas import read_request
from turnrule.cli.each_file import FILES, TABLE, Told, as_of, each_file
from turnrule.cli.exits import exit_for, guarded
from turnrule.cli.passes_table import heat_lines, passes_lines
from turnrule.cli.tables import verdict_table
from turnrule.judging.words import Ruling


@click.command()
@FILES
@TABLE
@as_of("Judge")
@guarded
def judge(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Judge the request in each of FILES (- is standard input): JSON in, a verdict a line out.

    Limits come from the store that TURNRULE_DATABASE names; where there is none, from the pack's invented demo
    scenario, and from the request's own limits or marking. Nothing is recorded: only the service keeps verdicts.
    Exit code 3 where a request was refused, else 4 where a part must be replaced, else 5 where one is inconclusive.
    """
    each_file(files, on, _judge_one, exit_for, table=table)


def _judge_one(desk: Desk, document: object, at: datetime.datetime) -> Told[Ruling]:
    request = read_request(document)
    reached = reach(desk, request, at)
    answer = answer_to(request, reached, desk.make_id(at), at)
    return Told(reached.verdict.ruling, answer.content, lambda name: _table(name, answer))


def _table(name: str, answer: Answer) -> str:
    told = orjson.loads(answer.content)
    return verdict_table(name, answer, (*passes_lines(told), *heat_lines(told)))

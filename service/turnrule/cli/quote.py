"""`turnrule quote-check`: does a quote agree with what was measured? Without a server."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from turnrule.actions.checking_quotes import check_lines
from turnrule.actions.desk import Desk
from turnrule.actions.quote_answers import quote_answer
from turnrule.api.impact import read_stored
from turnrule.api.quote_reading import read_quote
from turnrule.cli.each_file import FILES, TABLE, Told, as_of, each_file
from turnrule.cli.exits import Exit, guarded
from turnrule.cli.quote_table import quote_table
from turnrule.judging.quote_words import FindingLevel


@click.command("quote-check")
@FILES
@TABLE
@as_of("Check")
@guarded
def quote_check(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Check the quote in each of FILES (- is standard input): JSON in, an answer a line out.

    Holds the lines of a quote against what was measured, the limits and the policy's pair rule: what contradicts them,
    what is missing, what to ask, and what each way costs per 1,000 km. Limits and stored verdicts come from the store
    that TURNRULE_DATABASE names, as for judge. Nothing is recorded. The prices are yours: none of them is checked.

    Exit code 3 where a quote was refused, else 4 where one is contradicted, else 5 where something is missing, else 0.
    """
    each_file(files, on, _check_one, exit_for_quotes, table=table)


def exit_for_quotes(levels: Iterable[FindingLevel | None]) -> Exit:
    """The code for a run of checks: the worst of them."""
    found = set(levels)
    if FindingLevel.CONTRADICTION in found:
        return Exit.REPLACE
    return Exit.INCONCLUSIVE if FindingLevel.MISSING in found else Exit.DONE


def _check_one(desk: Desk, document: object, at: datetime.datetime) -> Told[FindingLevel | None]:
    checked = check_lines(desk, None, read_quote(desk, None, document, at), read_stored, at)
    answer = quote_answer(desk.pack, checked)
    return Told(checked.check.level, answer, lambda name: quote_table(name, answer))

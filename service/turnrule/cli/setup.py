"""`turnrule setup-check`: is the part mounted right? Without a server."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from turnrule.actions.desk import Desk
from turnrule.actions.setting_up import check_mounted
from turnrule.actions.setup_answers import setup_answer
from turnrule.api.setup_reading import read_setup
from turnrule.cli.each_file import FILES, TABLE, Told, as_of, each_file
from turnrule.cli.exits import Exit, guarded
from turnrule.cli.setup_table import setup_table


@click.command("setup-check")
@FILES
@TABLE
@as_of("Check")
@guarded
def setup_check(files: Sequence[Path], on: datetime.datetime | None, *, table: bool) -> None:
    """Check the set-up in each of FILES (- is standard input): JSON in, an answer a line out.

    Tells from scratches or indicator traces whether a part is mounted right, and what its mount would cost; also
    works out match mounting on the hub, clean-up planes and the form of a drum. Limits come from the store that
    TURNRULE_DATABASE names, as for judge. Nothing is recorded.

    Exit code 3 where a request was refused, else 4 where a part must be mounted again or cannot afford its cut, else 5
    where something that was asked cannot be told yet, else 0.
    """
    each_file(files, on, _check_one, exit_for_setups, table=table)


def exit_for_setups(told: Iterable[bool | None]) -> Exit:
    """The code for a run of checks: the worst of them."""
    listed = list(told)
    if False in listed:
        return Exit.REPLACE
    return Exit.INCONCLUSIVE if None in listed else Exit.DONE


def _check_one(desk: Desk, document: object, at: datetime.datetime) -> Told[bool | None]:
    checked = check_mounted(desk, read_setup(desk, document), at)
    answer = setup_answer(desk.pack, checked)
    return Told(checked.check.ready, answer, lambda name: setup_table(name, answer))

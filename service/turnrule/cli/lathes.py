"""`turnrule lathe`: the lathes that there are, the figures of each, and the next revision."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from turnrule.actions.desk import Desk
from turnrule.actions.lathes import LatheView, list_lathes, read_lathe, write_lathe
from turnrule.actions.numbers import write_exact
from turnrule.actions.refusals import refused
from turnrule.api.lathe_documents import lathe_document
from turnrule.api.lathe_shapes import read_lathe_body
from turnrule.api.request_shapes import CODE
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.limit_options import AS_JSON
from turnrule.cli.passes_table import lathe_table
from turnrule.cli.working_keys import key_option, working_key
from turnrule.settings import read_settings
from turnrule.store.port import NameTakenError
from turnrule.wiring import open_desk

_PAGE = 200


@click.group()
def lathe() -> None:
    """See the shop's lathes in figures, and write the next revision."""


@lathe.command("list")
@AS_JSON
@guarded
def list_(*, as_json: bool) -> None:
    """All lathes, by name, in their newest revision. With --json, one object a line."""
    desk = _desk()
    try:
        for view in _lathes(desk):
            if as_json:
                _print_json(view)
            else:
                click.echo(f"{_named(view)}\t{view.profile.kind}\t{view.written_at:%Y-%m-%d}\t{view.written_by}")
    finally:
        desk.store.close()


@lathe.command()
@click.argument("name")
@click.option("--revision", type=click.IntRange(min=1), help="An earlier revision; else the newest.")
@AS_JSON
@guarded
def show(name: str, revision: int | None, *, as_json: bool) -> None:
    """The figures of a lathe, as they were written; with --json in millimetres as well."""
    desk = _desk()
    try:
        view = read_lathe(desk, name, revision)
        if view is None:
            known = ", ".join(one.name for one in _lathes(desk)) or "none"
            detail = f"there is no lathe {name!r}, or no such revision; there is {known}"
            raise refused("lathe_not_found", "", detail)
        if as_json:
            _print_json(view)
        else:
            click.echo(lathe_table(_named(view), view.document), nl=False)
    finally:
        desk.store.close()


@lathe.command()
@click.argument("name")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option(
    "--over", type=click.IntRange(min=0), help="The revision that it is to come after, 0 for the first; else refused."
)
@AS_JSON
@key_option("policies:write")
@guarded
def write(name: str, file: Path, over: int | None, secret: str | None, *, as_json: bool) -> None:
    """Write the figures in FILE (- is standard input) as the next revision of lathe NAME.

    Passes that were planned before keep to the revision that they were planned with. Exit code 3 where a figure cannot
    be taken, or somebody else wrote in between.
    """
    if re.fullmatch(CODE, name) is None:
        raise click.BadParameter("small letters, digits and _, beginning with a letter", param_hint="NAME")
    document = read_lathe_body(sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes())
    desk = _desk()
    try:
        key = working_key(desk, secret, "policies:write")
        before = read_lathe(desk, name)
        held = 0 if before is None else before.revision
        if over is not None and over != held:
            raise refused("stale", "", f"the newest revision of {name} is {held}; read it before it is written over")
        made = write_lathe(desk, name, document, key, over=before)
    except NameTakenError:
        stop(Exit.REFUSED, f"refused: somebody else wrote {name} in between; read it again")
    finally:
        desk.store.close()
    if as_json:
        _print_json(made)
    else:
        click.echo(str(made.revision))
    say(f"{_named(made)} is written.")


def _lathes(desk: Desk) -> Iterator[LatheView]:
    after = ""
    while page := list_lathes(desk, after=after, limit=_PAGE):
        yield from page
        after = page[-1].name


def _named(view: LatheView) -> str:
    return f"{view.name}, revision {view.revision}"


def _desk() -> Desk:
    return open_desk(read_settings(os.environ))


def _print_json(view: LatheView) -> None:
    click.echo(write_exact(lathe_document(view)).decode())

"""`turnrule policy`: the policies that there are, what holds under each, what changed, and the next revision."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import click

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import PolicyView, list_policies, read_policy, write_policy
from turnrule.actions.policy_changes import PolicyChanges, compared_with, policy_changes
from turnrule.actions.refusals import RefusedError, refused
from turnrule.api.policy_documents import changes_document, policy_document, policy_in_short
from turnrule.api.policy_shapes import read_policy_body
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.fault_reports import wrapped
from turnrule.cli.limit_options import AS_JSON
from turnrule.cli.working_keys import key_option, working_key
from turnrule.pack import Direction, PolicyError
from turnrule.settings import read_settings
from turnrule.store.port import NameTakenError
from turnrule.wiring import open_desk

_PAGE = 200


@click.group()
def policy() -> None:
    """See policies and what changed in them, and write the next revision."""


@policy.command("list")
@AS_JSON
@guarded
def list_(*, as_json: bool) -> None:
    """All policies, by name, in their newest revision. With --json, one object a line."""
    desk = _desk()
    try:
        for view in _policies(desk):
            if as_json:
                _print_json(policy_in_short(view))
                continue
            above = f"  tightens {_named(*view.parent)}" if view.parent is not None else ""
            origin = "of the pack" if view.from_pack else f"by {view.written_by}"
            lines = wrapped(f"{_named(view.name, view.revision)}  {origin}{above}")
            why = view.document.get("why")
            click.echo("\n".join(lines if why is None else [*lines, *wrapped(str(why), "  ")]))
    finally:
        desk.store.close()


@policy.command()
@click.argument("name")
@click.option("--revision", type=click.IntRange(min=1), help="An earlier revision; else the newest.")
@guarded
def show(name: str, revision: int | None) -> None:
    """A policy as it was written and with everything that holds under it, as JSON; lengths in mm there."""
    desk = _desk()
    try:
        _print_json(policy_document(_view(desk, name, revision), desk.pack.catalogue))
    finally:
        desk.store.close()


@policy.command()
@click.argument("name")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option(
    "--over", type=click.IntRange(min=0), help="The revision that it is to come after, 0 for the first; else refused."
)
@AS_JSON
@key_option("policies:write")
@guarded
def write(name: str, file: Path, over: int | None, secret: str | None, *, as_json: bool) -> None:
    """Write the policy body in FILE (- is standard input) as the next revision of policy NAME.

    It may only tighten what it inherits. Exit code 3 where it loosens something, or somebody else wrote in between.
    """
    body = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    document = read_policy_body(body)
    desk = _desk()
    try:
        key = working_key(desk, secret, "policies:write")
        before = read_policy(desk, name)
        held = 0 if before is None else before.revision
        if over is not None and over != held:
            raise refused("stale", "", f"the newest revision of {name} is {held}; read it before it is written over")
        made = write_policy(desk, name, document, key, over=before)
    except PolicyError as error:
        raise RefusedError(error.code, error.faults) from error
    except NameTakenError:
        stop(Exit.REFUSED, f"refused: somebody else wrote {name} in between; read it again")
    finally:
        desk.store.close()
    if as_json:
        _print_json(policy_document(made, desk.pack.catalogue))
    else:
        click.echo(str(made.revision))
    above = f", over {_named(*made.parent)}" if made.parent is not None else ""
    say(f"{_named(made.name, made.revision)} is written{above}.")


@policy.command()
@click.argument("name")
@click.option("--since", type=click.IntRange(min=1), help="The revision to compare with, else the one before.")
@click.option("--revision", type=click.IntRange(min=1), help="The revision that is told of; else the newest.")
@click.option("--against", help="Another policy to compare with.")
@AS_JSON
@guarded
def changes(name: str, since: int | None, revision: int | None, against: str | None, *, as_json: bool) -> None:
    """What holds otherwise under policy NAME than under an earlier revision, what it inherits, or another policy."""
    desk = _desk()
    try:
        new = _view(desk, name, revision)
        old = compared_with(desk, new, against, since)
        if old is None:
            hint = f"give a revision before {new.revision}, or another policy that there is as --against"
            raise click.BadParameter(hint, param_hint="--since")
        told = policy_changes(desk, old, new)
    finally:
        desk.store.close()
    if as_json:
        _print_json(changes_document(told))
    else:
        click.echo("\n".join(line for one in told.changes for line in wrapped(one.sentence)))
    say(_in_words(told))


def _in_words(told: PolicyChanges) -> str:
    counts = ", ".join(f"{told.count(way)} {way}" for way in Direction if told.count(way)) or "nothing differs"
    old, new = told.old, told.new
    return f"{_named(new.name, new.revision)} beside {_named(old.name, old.revision)}: {counts}."


def _view(desk: Desk, name: str, revision: int | None = None) -> PolicyView:
    view = read_policy(desk, name, revision)
    if view is None:
        known = ", ".join(one.name for one in _policies(desk))
        raise refused("policy_not_found", "", f"there is no policy {name!r}, or no such revision; there is {known}")
    return view


def _policies(desk: Desk) -> Iterator[PolicyView]:
    after = ""
    while page := list_policies(desk, after=after, limit=_PAGE):
        yield from page
        after = page[-1].name


def _named(name: str, revision: int) -> str:
    return f"{name}, revision {revision}"


def _desk() -> Desk:
    return open_desk(read_settings(os.environ))


def _print_json(document: object) -> None:
    click.echo(write_exact(document).decode())

"""`turnrule store`: bring the store up to date, and look whether it is sound."""

from __future__ import annotations

import json
import os

import click

from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.settings import read_settings
from turnrule.wiring import open_store


@click.group()
def store() -> None:
    """Bring the store up to date and check it."""


@store.command()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def migrate(*, as_json: bool) -> None:
    """Run the migrations that are pending: once, before the service starts."""
    settings = read_settings(os.environ)
    opened = open_store(settings)
    try:
        done = list(opened.migrate())
    finally:
        opened.close()
    if as_json:
        click.echo(json.dumps({"database": settings.database, "migrated": done}))
        return
    for name in done:
        click.echo(name)
    say(f"{settings.database}: {len(done)} migrations run; it is up to date.")


@store.command()
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def check(*, as_json: bool) -> None:
    """Look for every fault in the store; exit code 6 where there is one."""
    settings = read_settings(os.environ)
    opened = open_store(settings, read_only=True)
    try:
        faults = list(opened.check())
    finally:
        opened.close()
    if as_json:
        click.echo(json.dumps({"database": settings.database, "sound": not faults, "faults": faults}))
    for fault in faults:
        say(fault)
    if faults:
        stop(Exit.STORE, f"{settings.database}: {len(faults)} faults; restore a backup before it serves again.")
    say(f"{settings.database}: sound.")

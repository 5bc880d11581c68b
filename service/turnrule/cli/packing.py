"""`turnrule pack`: look whether a reference pack is whole and consistent."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.pack import check_pack, load_pack
from turnrule.settings import read_settings


@click.group()
def pack() -> None:
    """Check reference packs."""


@pack.command()
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False), required=False)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def check(folder: Path | None, *, as_json: bool) -> None:
    """Check a pack (the one that is in use, where no FOLDER is given); exit code 3 where it has faults."""
    named = read_settings(os.environ).pack
    place = folder or (Path(named) if named else None)
    faults = [str(fault) for fault in check_pack(place)]
    if as_json:
        click.echo(json.dumps({"sound": not faults, "faults": faults}))
    for fault in faults:
        say(fault)
    if faults:
        stop(Exit.REFUSED, f"{len(faults)} faults; the pack must not be used.")
    found = load_pack(place)
    say(f"{found.name} {found.version}, {found.digest}: sound.")

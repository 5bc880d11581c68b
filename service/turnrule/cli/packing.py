"""`turnrule pack`: look whether a reference pack is whole and consistent."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.pack import check_pack, load_pack
from turnrule.pack.building import PLACE, datapackage_text
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


@pack.command()
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit code 1 where the list is another.")
@guarded
def build(folder: Path, *, only_check: bool) -> None:
    """Write the datapackage.json of the pack in FOLDER from its files."""
    text = datapackage_text(folder)
    place = folder / PLACE
    if not only_check:
        place.write_text(text, encoding="utf-8")
        say(f"{place}: written.")
    elif not place.is_file() or place.read_text(encoding="utf-8") != text:
        stop(Exit.FAILED, f"{place}: differs from the files; run 'turnrule pack build {folder}'.")

"""`turnrule pack`: reference packs checked and built; releases of limits written, signed, checked and brought in."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from turnrule.actions.release_packs import open_release_pack
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.release_packing import export, import_, new_key, sign, watched
from turnrule.pack import PackError, check_pack, load_pack
from turnrule.pack.building import PLACE, datapackage_text
from turnrule.settings import read_settings
from turnrule.store.limit_records import StoreRules


@click.group()
def pack() -> None:
    """Check packs, and carry releases of limits from store to store."""


@pack.command()
@click.argument("place", type=click.Path(path_type=Path, exists=True), required=False)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def check(place: Path | None, *, as_json: bool) -> None:
    """Check a pack: a reference pack in a folder, or a release in a file. Exit code 3 where it has faults.

    Where no PLACE is given, it is the reference pack that is in use.
    """
    if place is not None and place.is_file():
        _check_release(place, as_json=as_json)
        return
    named = read_settings(os.environ).pack
    folder = place or (Path(named) if named else None)
    faults = [str(fault) for fault in check_pack(folder)]
    if as_json:
        click.echo(json.dumps({"sound": not faults, "faults": faults}))
    for fault in faults:
        say(fault)
    if faults:
        stop(Exit.REFUSED, f"{len(faults)} faults; the pack must not be used.")
    found = load_pack(folder)
    say(f"{found.name} {found.version}, {found.digest}: sound.")


def _check_release(path: Path, *, as_json: bool) -> None:
    """Every byte of a release's pack, without a store: whether it is whole, and whose key signed it."""
    try:
        with watched("Checking") as progress, open_release_pack(path, StoreRules(), progress=progress) as found:
            release, signed_by = found.manifest.release, found.signed_by
            withdrawals = found.manifest.withdrawals.rows
    except PackError as error:
        if as_json:
            click.echo(json.dumps({"sound": False, "faults": [str(error)]}))
        say(str(error))
        stop(Exit.REFUSED, "the pack must not be used.")
    if as_json:
        about = {"release": release.number, "digest": release.digest, "records": release.records}
        signed = {"withdrawals": withdrawals, "signed_by": signed_by}
        click.echo(json.dumps({"sound": True, "faults": [], **about, **signed}))
    signature = "not signed" if signed_by is None else f"signed by {signed_by}"
    say(f"release {release.number}, {release.records} records, {release.digest}: sound, {signature}.")


@pack.command()
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit code 1 where the list is another.")
@guarded
def build(folder: Path, *, only_check: bool) -> None:
    """Write the datapackage.json of the reference pack in FOLDER from its files."""
    text = datapackage_text(folder)
    place = folder / PLACE
    if not only_check:
        place.write_text(text, encoding="utf-8")
        say(f"{place}: written.")
    elif not place.is_file() or place.read_text(encoding="utf-8") != text:
        stop(Exit.FAILED, f"{place}: differs from the files; run 'turnrule pack build {folder}'.")


for command in (export, import_, sign, new_key):
    pack.add_command(command)

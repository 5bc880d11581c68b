"""`turnrule limits export|template`: released limits written to a file, and an empty table to enter limits in."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

import click

from turnrule.actions.exporting import held_revisions, release_to_export
from turnrule.api.limit_files.column_texts import read_column_texts
from turnrule.api.limit_files.export import WRITERS
from turnrule.api.limit_files.export import export as write_export
from turnrule.api.limit_files.template import write_template
from turnrule.api.limit_files.unreadable import UnreadableError
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.release_packing import watched
from turnrule.settings import read_settings
from turnrule.store.limit_records import LimitRevision, Release
from turnrule.store.reference_port import ReferenceStore
from turnrule.wiring import open_store, read_pack

_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False))


@click.command()
@_FILE
@click.option("--release", "number", type=click.IntRange(min=1), help="The release; the newest, where left out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def export(file: Path, number: int | None, *, as_json: bool) -> None:
    """Write the limits that a release holds to FILE (.csv, .xlsx or .jsonl), which must not be there yet.

    The file can be imported again, here or elsewhere: entered twice and released, the same limits under the same ids
    have the same digest. What was withdrawn after the release is in the file all the same.
    """
    if file.exists():
        stop(Exit.USAGE, f"{file} is there already; name another file, or take it away.")
    if file.suffix.lower() not in WRITERS:
        stop(Exit.USAGE, f"{file}: its name ends in one of {', '.join(WRITERS)}.")
    store = open_store(read_settings(os.environ), read_only=True)
    try:
        release = release_to_export(store, number)
        write_export(_followed(store, release), file)
        withdrawn = len(store.withdrawals(after=release.withdrawn, limit=1))
    except UnreadableError as error:
        stop(Exit.REFUSED, f"{file}: {error}")
    finally:
        store.close()
    if as_json:
        about = {"release": release.number, "records": release.records, "digest": release.digest}
        click.echo(json.dumps({"file": str(file), **about}))
    say(f"{file}: release {release.number}, {release.records} records, {release.digest}.")
    if withdrawn:
        say("Records were withdrawn since this release; the file does not say which.")


def _followed(store: ReferenceStore, release: Release) -> Iterator[LimitRevision]:
    with watched("Writing") as progress:
        for count, row in enumerate(held_revisions(store, release), 1):
            yield row
            progress(count, release.records)


@click.command()
@_FILE
@guarded
def template(file: Path) -> None:
    """Write an empty table to FILE (.csv or .xlsx), which must not be there yet.

    Its columns explain themselves: a workbook has a comment on each head, lists to choose from and a sheet of
    explanations; a CSV file has two rows below its header, which the import leaves out.
    """
    try:
        write_template(read_column_texts(read_pack(read_settings(os.environ)).folder), file)
    except (UnreadableError, FileExistsError) as error:
        stop(Exit.USAGE, f"{file}: {error if isinstance(error, UnreadableError) else error.strerror}.")
    say(f"{file}: written. Read it in with 'turnrule limits import {file}'.")

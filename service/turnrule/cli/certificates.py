"""`turnrule certificate`: the certificate of a finished part, out of the store."""

from __future__ import annotations

import os
import sys

import click

from turnrule.actions.certificates import certificate_of
from turnrule.actions.refusals import refused
from turnrule.cli.certificate_table import certificate_table
from turnrule.cli.exits import exit_for, guarded
from turnrule.settings import read_settings
from turnrule.wiring import open_store


@click.command()
@click.argument("verdict_id", metavar="ID")
@click.option("--table/--json", default=False, help="Print it to read, or as JSON (the default).")
@guarded
def certificate(verdict_id: str, *, table: bool) -> None:
    """Print the certificate of the stored verdict ID: of a part that was judged with stage after_machining.

    The same bytes as GET /v1/verdicts/ID/certificate answers. Exit code 3 where there is no such verdict or its part
    was not machined yet, 4 where the part must be replaced, 5 where the verdict is inconclusive.
    """
    store = open_store(read_settings(os.environ), read_only=True)
    try:
        record = store.verdict(verdict_id)
    finally:
        store.close()
    if record is None:
        raise refused(
            "verdict_not_found", "", f"there is no verdict {verdict_id!r} in this store; look at its id again"
        )
    content = certificate_of(record)
    click.echo(certificate_table(content) if table else content.decode())
    sys.exit(exit_for([record.ruling]))

"""`turnrule openapi`: write the contract, or see whether the written one still agrees."""

from __future__ import annotations

from pathlib import Path

import click

from turnrule.api.contract_document import contract_yaml
from turnrule.cli.exits import Exit, guarded, say, stop

_PLACE = Path("openapi") / "openapi.yaml"


@click.group()
def openapi() -> None:
    """Write and check the OpenAPI document."""


@openapi.command()
@click.option("--check", is_flag=True, help="Write nothing; exit code 1 where the file is another.")
@click.option(
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    default=_PLACE,
    show_default=True,
    help="The file; - is standard output.",
)
@guarded
def write(output: Path, *, check: bool) -> None:
    """Write the contract from the service's own schemas."""
    text = contract_yaml()
    if str(output) == "-":
        click.echo(text, nl=False)
        return
    if not check:
        output.write_text(text, encoding="utf-8")
        say(f"{output}: written.")
        return
    if not output.is_file() or output.read_text(encoding="utf-8") != text:
        stop(Exit.FAILED, f"{output}: differs from the service; run 'turnrule openapi write'.")
    say(f"{output}: agrees with the service.")

"""`turnrule keys`: make, list and revoke API keys."""

from __future__ import annotations

import json
import os

import click

from turnrule.actions.desk import Desk
from turnrule.actions.keys import SCOPES, create_key, list_keys, revoke_key
from turnrule.cli.exits import guarded, say
from turnrule.settings import read_settings
from turnrule.store.port import Key
from turnrule.wiring import open_desk


@click.group()
def keys() -> None:
    """Make, list and revoke API keys."""


def _desk() -> Desk:
    return open_desk(read_settings(os.environ))


@keys.command()
@click.argument("name")
@click.option(
    "--scope", "scopes", multiple=True, required=True, type=click.Choice(SCOPES), help="What it may do; repeat it."
)
@click.option("--site", help="Bind the key to one site: it then sees that site's records only.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def create(name: str, scopes: tuple[str, ...], site: str | None, *, as_json: bool) -> None:
    """Make a key. Its secret is printed once and kept nowhere."""
    made = create_key(_desk(), name, scopes, site)
    if as_json:
        click.echo(json.dumps({"key": made.secret, **_described(made.key)}))
    else:
        click.echo(made.secret)
        say("This is the only time that the key is shown.")


@keys.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array.")
@guarded
def list_(*, as_json: bool) -> None:
    """All keys, oldest first."""
    known = list_keys(_desk())
    if as_json:
        click.echo(json.dumps([_described(key) for key in known]))
        return
    for key in known:
        state = "revoked" if key.revoked_at is not None else "works"
        click.echo(f"{key.name}\t{state}\t{','.join(sorted(key.scopes))}\t{key.site or '-'}")


@keys.command()
@click.argument("name")
@guarded
def revoke(name: str) -> None:
    """Let a key work no longer, at once."""
    revoke_key(_desk(), name)
    say(f"{name} no longer works.")


def _described(key: Key) -> dict[str, object]:
    return {
        "name": key.name,
        "scopes": sorted(key.scopes),
        "site": key.site,
        "created_at": key.created_at.isoformat(),
        "revoked_at": key.revoked_at.isoformat() if key.revoked_at is not None else None,
    }

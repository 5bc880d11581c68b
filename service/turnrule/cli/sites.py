"""`turnrule site`: which policy each site has, and which it is given."""

from __future__ import annotations

import os

import click

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.actions.refusals import refused
from turnrule.actions.sites import give_policy
from turnrule.api.sites import site_document
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.limit_options import AS_JSON
from turnrule.cli.working_keys import key_option, working_key
from turnrule.settings import read_settings
from turnrule.store.port import NameTakenError
from turnrule.wiring import open_desk


@click.group()
def site() -> None:
    """See which policies the sites have, and give them others."""


@site.command("list")
@AS_JSON
@guarded
def list_(*, as_json: bool) -> None:
    """The sites that were given a policy, by name; all others have the default one. With --json, one object a line."""
    desk = _desk()
    try:
        for one in desk.store.sites():
            if as_json:
                click.echo(write_exact(site_document(one)).decode())
            else:
                click.echo(f"{one.site}\t{one.policy}\t{one.written_at:%Y-%m-%d %H:%M} UTC\t{one.written_by}")
    finally:
        desk.store.close()


@site.command("set")
@click.argument("site")
@click.argument("policy")
@click.option(
    "--over", type=click.IntRange(min=0), help="The revision that it is to come after, 0 for the first; else refused."
)
@AS_JSON
@key_option("policies:write")
@guarded
def set_(site: str, policy: str, over: int | None, secret: str | None, *, as_json: bool) -> None:
    """Give SITE the policy POLICY: what keys of this site ask for is judged under it from now on."""
    desk = _desk()
    try:
        key = working_key(desk, secret, "policies:write")
        if key.site not in {None, site}:
            raise refused("forbidden", "", f"the key {key.name!r} is bound to the site {key.site!r}")
        before = desk.store.site(site)
        held = 0 if before is None else before.revision
        if over is not None and over != held:
            raise refused("stale", "", f"the newest revision of {site} is {held}; read it before it is given another")
        given = give_policy(desk, site, policy, key, over=before)
    except NameTakenError:
        stop(Exit.REFUSED, f"refused: somebody else gave {site} a policy in between; look at it again")
    finally:
        desk.store.close()
    if as_json:
        click.echo(write_exact(site_document(given)).decode())
    else:
        click.echo(str(given.revision))
    say(f"{given.site} is judged under {given.policy} from now on.")


def _desk() -> Desk:
    return open_desk(read_settings(os.environ))

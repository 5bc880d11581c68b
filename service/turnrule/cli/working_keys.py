"""Who works at the command line: the API key that a command is given, and whether it may do this."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import click

from turnrule.actions.desk import Desk
from turnrule.actions.keys import allows, key_for
from turnrule.actions.refusals import refused
from turnrule.cli.exits import Exit, stop
from turnrule.store.port import Key

Command = TypeVar("Command", bound=Callable[..., object])


def key_option(scope: str) -> Callable[[Command], Command]:
    """The option by which a command is given the secret of a key with this scope."""
    return click.option(
        "--key",
        "secret",
        envvar="TURNRULE_KEY",
        metavar="SECRET",
        help=f"The API key under which this is done, with scope {scope}; better in TURNRULE_KEY, where nobody sees it.",
    )


def working_key(desk: Desk, secret: str | None, scope: str) -> Key:
    """The key of this secret. Ends the command where none is given; raises `RefusedError` where it may not do this."""
    if not secret:
        stop(Exit.USAGE, f"Say who does this: an API key with scope {scope}, in TURNRULE_KEY or as --key.")
    key = key_for(desk, secret)
    if key is None:
        raise refused("unauthorized", "", "this key is not known, or does not work any more")
    if not allows(key, scope):
        raise refused("forbidden", "", f"the key {key.name!r} has not the scope {scope}")
    return key

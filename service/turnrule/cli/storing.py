"""`turnrule store`: bring the store up to date, look whether it is sound, and set its rules."""

from __future__ import annotations

import datetime
import getpass
import json
import os

import click

from turnrule.actions.store_rules import distrust_key, set_for_one_person, take_signed_packs_only, trust_keys
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.settings import read_settings
from turnrule.store.limit_records import StoreRules
from turnrule.wiring import open_desk, open_store


@click.group()
def store() -> None:
    """Bring the store up to date, check it, and set its rules."""


@store.command()
@click.option("--one-person", is_flag=True, help="For a shop of one person, when the store is made: see `store rules`.")
@click.option(
    "--pause-hours", type=click.IntRange(1, 24 * 31), default=24, show_default=True, help="With --one-person."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def migrate(pause_hours: int, *, one_person: bool, as_json: bool) -> None:
    """Run the migrations that are pending: once, before the service starts.

    With --one-person, the second entry of a record may be made under the same key as the first after a pause. Every
    record entered that way, its release, and each verdict that rests on it say so for ever.
    """
    settings = read_settings(os.environ)
    opened = open_store(settings)
    try:
        done = list(opened.migrate())
    finally:
        opened.close()
    if one_person:
        desk = open_desk(settings)
        set_for_one_person(desk, _person(), datetime.timedelta(hours=pause_hours))
        desk.store.close()
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


@store.command()
@click.option("--trust", "trusted", multiple=True, metavar="KEY", help="Trust packs signed under this public key.")
@click.option("--distrust", metavar="KEY", help="Trust this public key no longer.")
@click.option(
    "--signed-packs-only", is_flag=True, help="Take no pack that is not signed under a trusted key; for good."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def rules(trusted: tuple[str, ...], distrust: str | None, *, signed_packs_only: bool, as_json: bool) -> None:
    """Show the rules of the store, or tighten them; every change is kept with its time and who made it."""
    desk = open_desk(read_settings(os.environ))
    try:
        if trusted:
            trust_keys(desk, trusted, _person())
        if distrust is not None:
            distrust_key(desk, distrust, _person())
        if signed_packs_only:
            take_signed_packs_only(desk, _person())
        held = desk.store.rules()
    finally:
        desk.store.close()
    click.echo(json.dumps(_as_document(held)) if as_json else "\n".join(_in_words(held)))


def _person() -> str:
    """Who works at this machine, as the system knows them; rules are set here and not under a key."""
    return f"system user {getpass.getuser()}"


def _as_document(rules: StoreRules) -> dict[str, object]:
    pause = rules.one_person_pause
    return {
        "one_person_pause_hours": None if pause is None else pause.total_seconds() / 3600,
        "signed_packs_only": rules.signed_packs_only,
        "trusted_keys": list(rules.trusted_keys),
    }


def _in_words(rules: StoreRules) -> list[str]:
    pause = rules.one_person_pause
    people = (
        "by two people" if pause is None else f"by two people, or by one after {pause.total_seconds() / 3600:g} hours"
    )
    return [
        f"Two entries of each record: {people}.",
        f"Packs: {'signed ones only' if rules.signed_packs_only else 'signed and unsigned ones'}.",
        *(f"Trusted key: {key}" for key in rules.trusted_keys),
    ]

"""`turnrule pack export|import|sign|new-key`: a release carried from one store to another in one file."""

from __future__ import annotations

import getpass
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import NamedTemporaryFile

import click

from turnrule.actions.release_packs import (
    Progress,
    Signer,
    bring_in,
    new_signer,
    open_release_pack,
    plan_import,
    read_signer,
    sign_release_pack,
    write_release_pack,
)
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.settings import read_settings
from turnrule.wiring import open_desk, open_store

_FILE = click.Path(path_type=Path, dir_okay=False)
_THERE = click.Path(path_type=Path, exists=True, dir_okay=False)
_STEPS = 200
_ONLY_OWNER, _EVERYBODY, _OTHERS = 0o600, 0o644, 0o077


@contextmanager
def watched(label: str) -> Iterator[Progress]:
    """Progress of long work as a bar on standard error, where that is a terminal."""
    if not sys.stderr.isatty():
        yield lambda _done, _of: None
        return
    shown = 0
    with click.progressbar(length=1, label=label, file=sys.stderr) as bar:

        def told(done: int, of: int) -> None:
            nonlocal shown
            if done - shown >= of // _STEPS or done == of:
                bar.length = of
                bar.update(done - shown)
                shown = done

        yield told


def _person() -> str:
    """Who works at this machine, as the system knows them."""
    return f"system user {getpass.getuser()}"


def _signer(path: Path) -> Signer:
    if path.stat().st_mode & _OTHERS:
        say(f"{path}: others than its owner may read this private key; take their rights away.")
    return read_signer(path.read_bytes(), str(path))


@click.command()
@click.argument("number", type=click.IntRange(min=1))
@click.argument("file", type=_FILE)
@click.option(
    "--sign", "key", type=_THERE, help="Sign it with the private key in this file, not with TURNRULE_PACK_KEY."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def export(number: int, file: Path, key: Path | None, *, as_json: bool) -> None:
    """Write release NUMBER as a pack into FILE, which must not be there yet."""
    if file.exists():
        stop(Exit.USAGE, f"{file} is there already; name another file, or take it away.")
    settings = read_settings(os.environ)
    named = key or (Path(settings.pack_key) if settings.pack_key else None)
    signer = None if named is None else _signer(named)
    store = open_store(settings, read_only=True)
    try:
        with NamedTemporaryFile(dir=file.absolute().parent, delete=False) as made:
            part = Path(made.name)
            try:
                with watched("Writing") as progress:
                    write_release_pack(store, number, made, signer=signer, progress=progress)
                made.flush()
                os.fsync(made.fileno())
                part.chmod(_EVERYBODY)
                part.replace(file)
            except BaseException:
                part.unlink(missing_ok=True)
                raise
    finally:
        store.close()
    if as_json:
        signed_by = None if signer is None else signer.public_key
        click.echo(
            json.dumps({"file": str(file), "release": number, "bytes": file.stat().st_size, "signed_by": signed_by})
        )
    say(f"{file}: release {number}, {'not signed' if signer is None else 'signed by ' + signer.public_key}.")


@click.command("import")
@click.argument("file", type=_THERE)
@click.option("--dry-run", is_flag=True, help="Look at everything, and bring nothing in.")
@click.option("--by", metavar="NAME", help="The name that the release is published under; yours, where left out.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def import_(file: Path, by: str | None, *, dry_run: bool, as_json: bool) -> None:
    """Bring the release in FILE in, as the next release of this store; all that is new in it, or nothing."""
    desk = open_desk(read_settings(os.environ), read_only=dry_run)
    try:
        with watched("Checking") as progress:
            opened = open_release_pack(file, desk.store.rules(), progress=progress)
        with opened as pack:
            with watched("Comparing") as progress:
                plan = plan_import(desk.store, pack, progress=progress)
            messages, release = tuple(plan.messages), None
            if not dry_run:
                with watched("Bringing in") as progress:
                    brought = bring_in(desk, pack, plan, by or _person(), progress=progress)
                messages, release = brought.messages, brought.release
            origin, signed_by = pack.manifest.release, pack.signed_by
    finally:
        desk.store.close()
    if as_json:
        document = {
            "dry_run": dry_run,
            "release": None if release is None else release.number,
            "digest": None if release is None else release.digest,
            "origin": {"release": origin.number, "digest": origin.digest, "signed_by": signed_by},
            "brought": plan.brings,
            "held_before": plan.holds,
            "withdrawals": len(plan.withdrawals),
            "messages": messages,
        }
        click.echo(json.dumps(document))
    for message in messages:
        say(message)
    counted = f"{plan.brings} records and {len(plan.withdrawals)} withdrawals are new, {plan.holds} records were here"
    outcome = "nothing was brought in" if release is None or plan.brings_nothing else f"release {release.number}"
    say(f"{file}: {counted}; {outcome}.")


@click.command()
@click.argument("file", type=_THERE)
@click.option("--key", required=True, type=_THERE, help="The file of the private key.")
@guarded
def sign(file: Path, key: Path) -> None:
    """Put a signature to the pack in FILE, in place of one that it has."""
    signer = _signer(key)
    before = sign_release_pack(file, signer)
    if before is not None and before != signer.public_key:
        say(f"The signature of {before} was replaced.")
    say(f"{file}: signed by {signer.public_key}.")


@click.command("new-key")
@click.argument("file", type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@guarded
def new_key(file: Path, *, as_json: bool) -> None:
    """Make a key that signs packs: the private half in FILE, the public half in FILE.pub and on standard output."""
    signer = new_signer()
    public = file.with_name(f"{file.name}.pub")
    for path, content, mode in (
        (file, signer.private_pem(), _ONLY_OWNER),
        (public, signer.public_pem(), _EVERYBODY),
    ):
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as made:
            made.write(content)
    click.echo(json.dumps({"public_key": signer.public_key}) if as_json else signer.public_key)
    say(f"{file} is the private key: whoever reads it can sign packs in your name. Keep it, and give nobody a copy.")
    say(f"A store knows the packs that it signs after 'turnrule store rules --trust {signer.public_key}'.")

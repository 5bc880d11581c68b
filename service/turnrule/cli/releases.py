"""`turnrule release`: publish what is verified, and read what was published and changed."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from decimal import Decimal

import click

from turnrule.actions.changes import ChangeKind, ChangeRow, list_changes
from turnrule.actions.desk import Desk
from turnrule.actions.exporting import release_to_export
from turnrule.actions.numbers import text_of, write_exact
from turnrule.actions.publishing import publish_release
from turnrule.actions.reading_records import list_releases
from turnrule.api.limits_documents import change_document, release_document
from turnrule.api.release_shapes import RELEASE, read_shape
from turnrule.cli.exits import guarded, say
from turnrule.cli.fault_reports import wrapped
from turnrule.cli.working_keys import key_option, working_key
from turnrule.settings import read_settings
from turnrule.store.limit_records import Release
from turnrule.wiring import open_desk

_PAGE = 200


@click.group()
def release() -> None:
    """Publish verified limits as the next release, and see what was released."""


@release.command()
@click.option("--notes", required=True, help="What it brings, for those who read the list.")
@click.option(
    "--follows", type=click.IntRange(min=0), help="The release that it is to come after, 0 for the first; else refused."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@key_option("releases:publish")
@guarded
def publish(notes: str, follows: int | None, secret: str | None, *, as_json: bool) -> None:
    """Publish all that is verified, less all that is withdrawn, as the next release."""
    asked = {"notes": notes} | ({} if follows is None else {"follows": follows})
    wanted = read_shape(RELEASE, write_exact(asked))
    desk = _desk()
    try:
        key = working_key(desk, secret, "releases:publish")
        made = publish_release(desk, key, wanted["notes"], wanted.get("follows"))
    finally:
        desk.store.close()
    if as_json:
        _print_json(release_document(made))
    else:
        click.echo(str(made.number))
    say(f"Release {made.number} holds {made.records} records: {made.digest}.")
    if made.by_one_person:
        say(f"Both entries of {made.by_one_person} of them were made by one person; every verdict on them says so.")


@release.command("list")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, one object a line.")
@guarded
def list_(*, as_json: bool) -> None:
    """All releases, oldest first."""
    desk = _desk()
    try:
        for one in _releases(desk):
            if as_json:
                _print_json(release_document(one))
            else:
                at = f"{one.published_at:%Y-%m-%d %H:%M} UTC"
                head = f"{one.number}  {at}  {one.records} records, by {one.published_by}"
                click.echo("\n".join([*wrapped(head), *wrapped(one.notes, "  "), *wrapped(one.digest, "  ")]))
    finally:
        desk.store.close()


@release.command()
@click.argument("number", type=click.IntRange(min=1), required=False)
@click.option("--since", type=click.IntRange(min=0), help="The release to compare with, else the one before; 0: none.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, one object a line.")
@guarded
def changes(number: int | None, since: int | None, *, as_json: bool) -> None:
    """What changed after release --since up to release NUMBER (or the newest), row by row; lengths in mm."""
    desk = _desk()
    try:
        until = release_to_export(desk.store, number)
        low = until.number - 1 if since is None else since
        if low >= until.number:
            raise click.BadParameter(f"give a release before {until.number}, or 0", param_hint="--since")
        count = 0
        for count, row in enumerate(_changes(desk, until, low), 1):  # noqa: B007 - it is told below
            if as_json:
                _print_json(change_document(row))
            else:
                click.echo("\n".join(_in_words(row)))
    finally:
        desk.store.close()
    say(f"{count} changes after release {low} up to release {until.number}.")


def _desk() -> Desk:
    return open_desk(read_settings(os.environ))


def _print_json(document: object) -> None:
    click.echo(write_exact(document).decode())


def _releases(desk: Desk) -> Iterator[Release]:
    after = 0
    while page := list_releases(desk, after=after, limit=_PAGE):
        yield from page
        after = page[-1].number


def _changes(desk: Desk, until: Release, since: int) -> Iterator[ChangeRow]:
    after = (0, "")
    while page := list_changes(desk, until, since, after=after, limit=_PAGE).rows:
        yield from page
        after = page[-1].release, page[-1].place


def _in_words(change: ChangeRow) -> Iterator[str]:
    row, fits = change.row, change.row.fits
    instead = "" if change.replaces is None else f" in place of {change.replaces}"
    yield from wrapped(f"release {change.release}: {change.kind} {row.limits_id}, revision {row.revision}{instead}")
    years = f"{fits.year_from}-{'' if fits.year_to is None else fits.year_to}"
    option = "" if fits.brake_option is None else f", {fits.brake_option}"
    kind = row.limits.kind.replace("_", " ")
    yield from wrapped(f"{fits.make} {fits.model}, {years}, {fits.axle}{option}, {kind}", "  ")
    if change.kind is ChangeKind.CORRECTED:
        for one in change.fields:
            yield from wrapped(f"{one.field[1:]}: {_shown(one.old)} -> {_shown(one.new)}", "  ")
    if change.reason is not None:
        yield from wrapped(f"why: {change.reason}", "  ")
    if change.withdrawn_by is not None:
        yield from wrapped(f"withdrawn by {change.withdrawn_by}", "  ")
    yield from wrapped(f"entered by {row.entered_by}, verified by {row.verified_by}", "  ")
    yield from wrapped(f"from {row.source.citation}", "  ")


def _shown(value: object) -> str:
    if value is None:
        return "not given"
    if isinstance(value, Decimal):
        return text_of(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_shown(inner)}" for name, inner in value.items())
    return str(value)

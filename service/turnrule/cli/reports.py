"""`turnrule report`: verdicts counted, what policies asked for and did not get, whom to call back."""

from __future__ import annotations

import contextlib
import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import reduce
from typing import Any, TypeVar

import click

from turnrule.actions.call_back_lines import CallBack, CallBackDone
from turnrule.actions.calling_back import list_call_backs
from turnrule.actions.compliance_lines import ComplianceLine, Windows
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import write_exact
from turnrule.actions.report_scope import Scope
from turnrule.actions.reporting_compliance import ComplianceDone, report_compliance
from turnrule.actions.reporting_verdicts import By, report_verdicts
from turnrule.api.impact import read_stored
from turnrule.api.lines import Line
from turnrule.api.report_documents import verdict_report_document
from turnrule.api.report_queries import MOST_DAYS
from turnrule.api.report_tables import CALL_BACK_COLUMNS, COMPLIANCE_COLUMNS, call_back_rows, compliance_row, table
from turnrule.api.report_tables import verdict_report_table as verdict_report_csv
from turnrule.api.reports import call_back_lines, compliance_lines
from turnrule.cli.exits import guarded, say
from turnrule.cli.progress import Stage
from turnrule.cli.report_tables import call_back_text, compliance_text, counts_text, verdict_report_table
from turnrule.judging.words import Axle, Kind, Unit
from turnrule.settings import read_settings
from turnrule.wiring import open_desk

Command = TypeVar("Command", bound=Callable[..., object])

_MOMENT = click.DateTime(["%Y-%m-%d", "%Y-%m-%dT%H:%M:%SZ"])
_DAYS = click.IntRange(0, MOST_DAYS)


def _words(vocabulary: type[Axle | Kind | By | Unit]) -> click.Choice[str]:
    return click.Choice([str(word) for word in vocabulary])


_OPTIONS = (
    click.option("--site", help="Only verdicts of this site."),
    click.option("--vehicle", help="Only this vehicle, by the caller's own name for it."),
    click.option("--make", help="Only vehicles of this maker."),
    click.option("--model", help="Only this model."),
    click.option("--axle", type=_words(Axle), help="Only this axle."),
    click.option("--kind", type=_words(Kind), help="Only this kind of part."),
    click.option("--since", type=_MOMENT, help="Judged at this moment (UTC) or later."),
    click.option("--until", type=_MOMENT, help="Judged before this moment (UTC)."),
    click.option("--json", "form", flag_value="json", help="Print JSON, one document a line."),
    click.option("--csv", "form", flag_value="csv", help="Print a table as CSV."),
)


def _scoped(command: Command) -> Command:
    """A command with the options that every report has."""
    return reduce(lambda one, option: option(one), reversed(_OPTIONS), command)


def _scope(asked: dict[str, Any]) -> Scope:
    axle, kind = asked["axle"], asked["kind"]
    read = {"axle": axle and Axle(axle), "kind": kind and Kind(kind)}
    return Scope(**asked | read | {name: _utc(asked[name]) for name in ("since", "until")})


def _utc(at: datetime.datetime | None) -> datetime.datetime | None:
    return None if at is None else at.replace(tzinfo=datetime.UTC)


@contextlib.contextmanager
def _desk() -> Iterator[Desk]:
    desk = open_desk(read_settings(os.environ), read_only=True)
    try:
        yield desk
    finally:
        desk.store.close()


@click.group()
def report() -> None:
    """What a fleet looks at: counts and margins, policies that were not kept, vehicles to call back."""


@report.command()
@click.option("--unit", type=_words(Unit), required=True, help="The unit of every length of the report.")
@click.option("--by", type=_words(By), help="Count by this.")
@click.option("--then-by", type=_words(By), help="Count by this as well, within each group.")
@_scoped
@guarded
def verdicts(unit: str, by: str | None, then_by: str | None, form: str | None, **asked: Any) -> None:  # noqa: ANN401
    """Count verdicts, and how far the parts were from their limits."""
    if then_by is not None and by in {None, then_by}:
        raise click.BadParameter(
            "it counts within the groups of --by: give that as well, another", param_hint="--then-by"
        )
    groups = [By(one) for one in (by, then_by) if one is not None]
    with _desk() as desk, Stage("Counting") as stage:
        made = report_verdicts(desk, _scope(asked), groups, stage)
        document = write_exact(verdict_report_document(desk, made, Unit(unit)))
    if form == "json":
        click.echo(document)
    elif form == "csv":
        _print(verdict_report_csv(made, Unit(unit)))
    else:
        click.echo("\n".join(verdict_report_table(made, Unit(unit))))


@report.command()
@click.option(
    "--pair-days",
    type=_DAYS,
    default=Windows().pair_days,
    show_default=True,
    help="Verdicts on two sides that were not judged together belong together within so many days.",
)
@click.option(
    "--after-days",
    type=_DAYS,
    default=Windows().after_days,
    show_default=True,
    help="A part that was to be machined is measured afterwards within so many days.",
)
@_scoped
@guarded
def compliance(pair_days: int, after_days: int, form: str | None, **asked: Any) -> None:  # noqa: ANN401
    """List what policies asked for and did not get, what shows it, and what to do."""
    with _desk() as desk, Stage("Looking") as stage:
        steps = report_compliance(desk, _scope(asked), Windows(pair_days, after_days), stage)
        if form == "json":
            _print_lines(compliance_lines(desk, steps))
        elif form == "csv":
            _print(table(COMPLIANCE_COLUMNS, (compliance_row(one) for one in steps if isinstance(one, ComplianceLine))))
        else:
            for step in steps:
                if isinstance(step, ComplianceLine):
                    click.echo("\n".join(compliance_text(step)))
                elif isinstance(step, ComplianceDone):
                    say(f"{step.verdicts} verdicts: {counts_text(step.rules)}.")


@report.command("call-backs")
@_scoped
@guarded
def call_backs(form: str | None, **asked: Any) -> None:  # noqa: ANN401
    """List the axles about which something has to be done, most urgent first, and what."""
    with _desk() as desk, Stage("Looking") as stage:
        steps = list_call_backs(desk, _scope(asked), read_stored, stage)
        if form == "json":
            _print_lines(call_back_lines(desk, steps))
        elif form == "csv":
            rows: Iterator[Sequence[Any]] = (
                row for one in steps if isinstance(one, CallBack) for row in call_back_rows(one)
            )
            _print(table(CALL_BACK_COLUMNS, rows))
        else:
            for step in steps:
                if isinstance(step, CallBack):
                    click.echo("\n".join(call_back_text(step)))
                elif isinstance(step, CallBackDone):
                    say(f"{step.parts} parts: {counts_text(step.urgencies)}.")


def _print(lines: Iterable[bytes]) -> None:
    """CSV as it is, its line ends included."""
    for line in lines:
        click.echo(line, nl=False)


def _print_lines(lines: Iterable[Line]) -> None:
    """The documents of a stream, without those that only tell how far it is."""
    for line in lines:
        if not line.how_far:
            click.echo(write_exact(line.document))

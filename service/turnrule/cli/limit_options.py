"""The options of commands that read a file of limits."""

from __future__ import annotations

from pathlib import Path

import click

from turnrule.api.limit_files.answers_cell import LEAST_REASON, MOST_REASON
from turnrule.api.limit_files.row_numbers import RowNumbers, RowNumbersError


class RowsType(click.ParamType[RowNumbers]):
    """`2-40,57`."""

    name = "rows"

    def convert(self, value: str | RowNumbers, param: click.Parameter | None, ctx: click.Context | None) -> RowNumbers:
        """The rows that a text names."""
        if isinstance(value, RowNumbers):
            return value
        try:
            return RowNumbers(value)
        except RowNumbersError as error:
            self.fail(str(error), param, ctx)


class AcceptedType(click.ParamType[tuple[str, str]]):
    """`CODE=REASON`."""

    name = "CODE=REASON"

    def convert(
        self, value: str | tuple[str, str], param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str]:
        """The code of a warning, and why all of its kind are accepted."""
        if isinstance(value, tuple):
            return value
        code, sign, reason = value.partition("=")
        if not code or not sign or not LEAST_REASON <= len(reason.strip()) <= MOST_REASON:
            self.fail(f"write CODE=REASON, with {LEAST_REASON} to {MOST_REASON} characters of reason", param, ctx)
        return code, reason.strip()


PLACE = click.argument("file", type=click.Path(path_type=Path, exists=True))
ROWS = click.option("--rows", type=RowsType(), metavar="2-40,57", help="Only these rows, as a spreadsheet counts.")
SHEET = click.option("--sheet", help="The sheet of a workbook; 'limits' or the only one, where left out.")
FAULTS = click.option(
    "--faults",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.csv",
    help="Write every fault to this file.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")

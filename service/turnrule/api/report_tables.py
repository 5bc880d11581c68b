"""Reports as CSV (RFC 4180, UTF-8, with a header): text in quotes and never a formula, numbers without and exact."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_FLOOR, Decimal

from turnrule.actions.answers import moment
from turnrule.actions.call_back_lines import CallBack
from turnrule.actions.compliance_lines import ComplianceLine
from turnrule.actions.margins import Spread
from turnrule.actions.numbers import text_of
from turnrule.actions.reporting_verdicts import MARGINS, VerdictReport
from turnrule.api.limit_files.bodies import OutCell
from turnrule.api.limit_files.export import BOM, csv_line
from turnrule.api.limit_files.faults_csv import shown
from turnrule.api.limit_files.spreadsheet_text import shown_safely
from turnrule.api.report_documents import FIGURES
from turnrule.judging.lengths import from_mm
from turnrule.judging.words import Ruling, Unit

COMPLIANCE_COLUMNS = (
    *("rule", "judged_at", "site", "vehicle", "axle", "side", "kind", "reference", "policy", "policy_revision"),
    *("evidence", "what_to_do", "verdict_ids", "axle_id"),
)
CALL_BACK_COLUMNS = (
    *("urgency", "vehicle", "axle", "kind", "side", "site", "judged_at", "reference", "verdict", "comes_out_as"),
    *("reasons", "part_urgency", "what_to_do", "verdict_id"),
)
_GROUP_COLUMNS = (
    "unit",
    "verdicts",
    *Ruling,
    *(f"{margin}_{name}" for margin in MARGINS for name in ("known", *FIGURES)),
)


def table(columns: Iterable[str], rows: Iterable[Sequence[OutCell]]) -> Iterator[bytes]:
    """The lines of a table; what a terminal or spreadsheet would obey is written out as an escape."""
    yield BOM + csv_line(columns)
    for row in rows:
        yield csv_line([shown(cell) if isinstance(cell, str) else cell for cell in row], shown_safely)


def verdict_report_table(report: VerdictReport, unit: Unit) -> Iterator[bytes]:
    """A row for each group; one for all verdicts where they are not put into groups."""
    groups = report.groups if report.by else [report.total]
    columns = (*report.by, *_GROUP_COLUMNS)
    rows: Iterator[list[OutCell]] = (
        [
            *group.names,
            unit.value,
            group.verdicts,
            *group.rulings.values(),
            *(cell for margin in MARGINS for cell in _spread(group.margins[margin], unit)),
        ]
        for group in groups
    )
    return table(columns, rows)


def _spread(spread: Spread, unit: Unit) -> Iterator[OutCell]:
    yield spread.known
    for name in FIGURES:
        value: Decimal | None = getattr(spread, name)
        # Written as in JSON: every digit that counts, and no zeros behind them.
        yield None if value is None else Decimal(text_of(from_mm(value, unit, ROUND_FLOOR)))


def compliance_row(line: ComplianceLine) -> list[OutCell]:
    """A rule that was not kept."""
    return [
        line.rule.value,
        moment(line.judged_at),
        line.site,
        line.vehicle,
        line.axle,
        line.side,
        line.kind,
        line.reference,
        line.policy_name,
        line.policy_revision,
        line.evidence,
        line.what_to_do,
        " ".join(line.verdict_ids),
        line.axle_id,
    ]


def call_back_rows(entry: CallBack) -> Iterator[list[OutCell]]:
    """A row for each part of an axle that is on the list, with the urgency of the axle first."""
    for part in entry.parts:
        yield [
            entry.first.urgency.value,
            entry.vehicle,
            entry.axle,
            entry.kind,
            part.side,
            part.site,
            moment(part.judged_at),
            part.reference,
            part.ruling,
            part.now,
            " ".join(part.reasons),
            part.urgency.value,
            part.what_to_do,
            part.verdict_id,
        ]

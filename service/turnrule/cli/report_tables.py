"""Reports as text to read in a terminal: nothing in a label is obeyed, and none is so long that lines break."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import ROUND_FLOOR, Decimal

from turnrule.actions.call_back_lines import CallBack, Urgency
from turnrule.actions.compliance_lines import ComplianceLine, Rule
from turnrule.actions.margins import Spread
from turnrule.actions.numbers import text_of
from turnrule.actions.reporting_verdicts import MARGINS, Group, VerdictReport
from turnrule.api.limit_files.faults_csv import shown
from turnrule.judging.lengths import from_mm
from turnrule.judging.words import Ruling, Unit

WIDE = 88
LONGEST = 24
"""A cell has no more columns than these."""

_FINEST = Decimal("0.0001")
_FIGURES = ("least", "median")


def verdict_report_table(report: VerdictReport, unit: Unit) -> Iterator[str]:
    """The groups under each other, and all of them together last; margins to four decimals, rounded down."""
    margins = [f"{name} {figure}" for name in ("m", "d") for figure in _FIGURES]
    head = [*(str(by) for by in report.by), "verdicts", *(ruling.value for ruling in Ruling), *margins]
    rows = [_cells(group, unit) for group in report.groups]
    total = _cells(report.total, unit)
    rows.append([*(["all"] if report.by else []), *[""] * (len(report.by) - 1), *total])
    yield from aligned(head, rows, texts=len(report.by))
    yield f"m: margin to the machining limit, d: to the discard limit, in {unit}; below 0 is past it."


def _cells(group: Group, unit: Unit) -> list[str]:
    counts = [str(group.verdicts), *(str(count) for count in group.rulings.values())]
    figures = [_length(group.margins[margin], figure, unit) for margin in MARGINS for figure in _FIGURES]
    return [*("-" if name is None else name for name in group.names), *counts, *figures]


def _length(spread: Spread, figure: str, unit: Unit) -> str:
    value: Decimal | None = getattr(spread, figure)
    if value is None:
        return "-"
    return text_of(from_mm(value, unit, ROUND_FLOOR).quantize(_FINEST, rounding=ROUND_FLOOR))


def compliance_text(line: ComplianceLine) -> Iterator[str]:
    """A rule that was not kept, with what shows it and what to do."""
    part = [line.vehicle, " ".join(word for word in (line.axle, line.side, line.kind) if word)]
    where = None if line.site is None else f"site {line.site}"
    job = None if line.reference is None else f"job {line.reference}"
    about = [f"{line.judged_at:%Y-%m-%d}", *(text for text in (*part, where, job) if text)]
    yield from _wrapped(f"{line.rule.replace('_', ' ')}: {', '.join(about)}", "")
    yield from _wrapped(line.evidence, "  ")
    yield from _wrapped(line.what_to_do, "  ")
    yield from _wrapped(f"verdict {', '.join(line.verdict_ids)}", "  ")


def call_back_text(entry: CallBack) -> Iterator[str]:
    """One axle of one vehicle: what to do first, then each part."""
    head = f"{entry.first.urgency.replace('_', ' ')}: {entry.vehicle}, {entry.axle} {entry.kind.replace('_', ' ')}"
    yield from _wrapped(head, "")
    yield from _wrapped(entry.first.what_to_do, "  ")
    for part in entry.parts:
        now = "" if part.now is None else f", now {part.now}"
        reasons = ", ".join(reason.replace("_", " ") for reason in part.reasons)
        site = "" if part.site is None else f", site {part.site}"
        told = f"{part.side or 'side not told'}: {part.ruling}{now} ({part.judged_at:%Y-%m-%d}{site}; {reasons})"
        yield from _wrapped(f"{told}, verdict {part.verdict_id}", "  ")


def counts_text(counts: Mapping[Rule, int] | Mapping[Urgency, int]) -> str:
    """How many there were of each, without those of which there were none."""
    told = [f"{count} {name.replace('_', ' ')}" for name, count in counts.items() if count]
    return ", ".join(told) or "none"


def aligned(head: Sequence[str], rows: Iterable[Sequence[str]], *, texts: int) -> Iterator[str]:
    """A heading and a line for each row: the first `texts` columns to the left, and numbers to the right."""
    cells = [[shortened(cell) for cell in row] for row in (head, *rows)]
    widths = [max(map(columns_of, column)) for column in zip(*cells, strict=True)]
    for row in cells:
        told = []
        for place, (cell, width) in enumerate(zip(row, widths, strict=True)):
            gap = " " * (width - columns_of(cell))
            told.append(cell + gap if place < texts else gap + cell)
        yield "  ".join(told).rstrip()


def shortened(text: str) -> str:
    """A label that shows as it is, cut where it is long; three dots say so."""
    whole = shown(text)
    if columns_of(whole) <= LONGEST:
        return whole
    kept = ""
    for character in whole:
        if columns_of(kept + character) > LONGEST - 3:
            break
        kept += character
    return f"{kept}..."


def columns_of(text: str) -> int:
    """So many columns of a terminal a text takes."""
    return sum(_columns(character) for character in text)


def _columns(character: str) -> int:
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def _wrapped(text: str, indent: str) -> list[str]:
    """Lines that fit, whatever the text holds; a word that is longer than a line is broken."""
    return textwrap.wrap(shown(text), WIDE, initial_indent=indent, subsequent_indent=f"{indent}  ")

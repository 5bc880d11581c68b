"""The check of a quote as a table to read in a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from turnrule.actions.numbers import read_exact, text_of

WIDE = 88
LONGEST_CELL = 24
MOST_LINES = 8
MOST_ROWS = 40
"""So many parts or findings are shown one by one; how many more there are is said."""

Told = Mapping[str, Any]
_PLACE = ("axle", "side", "kind")


def quote_table(name: str, answer: bytes) -> str:
    """The summary, the parts with both ways' costs, every finding and the cautions, in lines of at most 88 characters.

    Names that are too long for their column are shortened, figures never; the answer itself holds both in full.
    """
    told: Told = read_exact(answer)
    verdict = "AGREES" if told["agrees"] else "DOES NOT AGREE"
    lines = [*_wrapped(f"{name}: {verdict}"), *_wrapped(told["summary"]), ""]
    lines += [*_parts(told["parts"]), "", *_sums(told)]
    lines += _findings(told)
    for caution in told["cautions"]:
        lines += _wrapped(f"{caution['level']}: {caution['text']}")
    return "\n".join(lines) + "\n"


def _parts(parts: Sequence[Told]) -> Iterator[str]:
    yield from _rows(
        ("part", "place", "quoted", "verdict"),
        [(part["name"], _place(part), part["quoted"], part["verdict"]) for part in parts],
    )
    for part in parts[:MOST_ROWS]:
        costs = part["costs"]
        ways = {way: costs[way]["per_1000_km"] for way in ("machining", "replacing")}
        known = ", ".join(f"{way} {_figure(cost)}" for way, cost in ways.items() if cost is not None)
        if known:
            yield from _wrapped(f"cost per 1,000 km of {_place(part) or _cell(part['name'])}: {known}")


def _place(part: Told) -> str | None:
    """Where a part sits and what it is."""
    return " ".join(word.replace("_", " ") for field in _PLACE if (word := part[field]) is not None) or None


def _sums(told: Told) -> Iterator[str]:
    if told["sum"] is None and told["total"] is None:
        return
    currency = "" if told["currency"] is None else f" {told['currency']}"
    yield from _wrapped(f"lines: {_figure(told['sum'])}{currency}, stated total: {_figure(told['total'])}{currency}")
    yield ""


def _findings(told: Told) -> Iterator[str]:
    findings = told["findings"]
    for one in findings[:MOST_ROWS]:
        where = ", ".join(str(index + 1) for index in one["lines"][:MOST_LINES])
        where += ", ..." if len(one["lines"]) > MOST_LINES else ""
        about = f" (line {where})" if len(one["lines"]) == 1 else f" (lines {where})" if where else ""
        yield from _wrapped(f"{one['level']}{about}: {one['sentence']}")
        yield from _evidence(one["evidence"])
    if len(findings) > MOST_ROWS:
        yield f"... and {len(findings) - MOST_ROWS} more findings"
    if findings:
        yield ""


def _evidence(held: Told | None) -> Iterator[str]:
    """The figures of a finding, where it has any."""
    if held is None or held["value"] is None or held["limit"] is None:
        return
    unit = "" if held["unit"] is None else f" ({held['unit'].replace('_', ' ')})"
    figures = f"{_figure(held['value'])} against {_figure(held['limit'])}, margin {_figure(held['margin'])}{unit}"
    yield from _wrapped(f"    {held['quantity'].replace('_', ' ')}: {figures}")


def _rows(columns: Sequence[str], entries: Sequence[Sequence[object]]) -> Iterator[str]:
    """A heading and a line for each entry, their cells under each other."""
    rows = [list(columns), *([_cell(value) for value in entry] for entry in entries[:MOST_ROWS])]
    widths = [max(len(row[place]) for row in rows) for place in range(len(columns))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
    if len(entries) > MOST_ROWS:
        yield f"... and {len(entries) - MOST_ROWS} more"


def _wrapped(sentence: str) -> list[str]:
    return textwrap.wrap(sentence, WIDE, subsequent_indent="  ", drop_whitespace=True) or [""]


def _figure(value: Decimal | None) -> str:
    """A figure with all its digits: one that is cut short would be another one."""
    return "-" if value is None else text_of(value)


def _cell(value: object) -> str:
    """A word or a name, no longer than a column is wide."""
    text = "-" if value is None else str(value)
    return text if len(text) <= LONGEST_CELL else f"{text[: LONGEST_CELL - 3]}..."

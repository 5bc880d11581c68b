"""A verdict as a table to read in a terminal."""

from __future__ import annotations

import textwrap

import orjson

from turnrule.actions.answers import Answer

_WIDE = 88
_COLUMNS = ("check", "value", "limit", "guard_band", "outcome", "origin")


def verdict_table(name: str, answer: Answer) -> str:
    """The verdict, its checks and its cautions, as lines of at most 88 characters where the words allow."""
    document = orjson.loads(answer.content)
    lines = [f"{name}: {document['verdict'].upper()}", *textwrap.wrap(document["summary"], _WIDE), ""]
    rows = [[_cell(check.get(column)) for column in _COLUMNS] for check in document["checks"]]
    rows.insert(0, [column.replace("_", " ") for column in _COLUMNS])
    widths = [max(len(row[place]) for row in rows) for place in range(len(_COLUMNS))]
    lines += ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    lines.append("")
    for caution in document["cautions"]:
        lines += textwrap.wrap(
            f"{caution['level']}: {caution['text']}", _WIDE, subsequent_indent="  ", break_long_words=False
        )
    return "\n".join(lines) + "\n"


def _cell(value: object) -> str:
    return "-" if value is None else str(value)

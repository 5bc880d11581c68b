"""A verdict, on one part or on an axle, as a table to read in a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import orjson

from turnrule.actions.answers import Answer

_WIDE = 88
_COLUMNS = ("check", "value", "limit", "guard_band", "outcome", "origin")


def verdict_table(name: str, answer: Answer, between: Iterable[str] = ()) -> str:
    """The verdict, its checks, the lines `between`, and its cautions: at most 88 characters where the words allow."""
    document = orjson.loads(answer.content)
    lines = [f"{name}: {document['verdict'].upper()}", *textwrap.wrap(document["summary"], _WIDE), ""]
    lines += rows(_COLUMNS, document["checks"])
    lines += ["", *between, *_life(document)]
    for caution in document["cautions"]:
        lines += wrapped(f"{caution['level']}: {caution['text']}")
    return "\n".join(lines) + "\n"


def axle_table(name: str, answer: Answer) -> str:
    """The verdict on an axle: what is done with each side, their difference, the cautions and whom they are about."""
    document = orjson.loads(answer.content)
    lines = [f"{name}: {document['verdict'].upper()}", *textwrap.wrap(document["summary"], _WIDE), ""]
    size = f"final_{'thickness' if document['kind'] == 'rotor' else 'diameter'}"
    sides = [{"side": side, **told} for side, told in document["sides"].items() if told is not None]
    shown = [{**told, "cut": _depths(told["cut"])} for told in sides]
    lines += [*rows(("side", "own_verdict", "verdict", "cut", size), shown), ""]
    for sentence in document["sentences"]:
        lines += wrapped(sentence)
    lines += ["", *rows(("quantity", "value", "limit", "outcome", "origin"), document["checks"]), ""]
    for caution in document["cautions"]:
        about = "" if len(caution["sides"]) > 1 else f" ({caution['sides'][0]})"
        lines += wrapped(f"{caution['level']}{about}: {caution['text']}")
    return "\n".join(lines) + "\n"


def _life(document: Mapping[str, Any]) -> list[str]:
    """The life that is left, each reading in a line; nothing where it was not asked for."""
    life = document["life"]
    if life is None:
        return []
    left, least = (
        "not told" if told is None else f"{told['value']} km"
        for told in (life["remaining_distance"], life["remaining_distance_at_least"])
    )
    size = f"{'thickness' if document['kind'] == 'rotor' else 'diameter'}"
    readings = [{**one, "odometer": f"{one['odometer']['value']} km"} for one in life["history"]]
    return [
        f"distance left: {left}; at least, with 95 %: {least}",
        *rows(("origin", size, "odometer", "left_out"), readings),
        "",
    ]


def _depths(cut: dict[str, object] | None) -> str | None:
    return None if cut is None else ", ".join(f"{depth} {face}" for face, depth in cut.items())


def rows(columns: Sequence[str], entries: Iterable[Mapping[str, object]]) -> list[str]:
    """A heading and a line for each entry, their cells under each other."""
    rows = [[_cell(entry.get(column)) for column in columns] for entry in entries]
    rows.insert(0, [column.replace("_", " ") for column in columns])
    widths = [max(len(row[place]) for row in rows) for place in range(len(columns))]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def wrapped(sentence: str) -> list[str]:
    """A sentence in lines of at most 88 characters; a word that is longer stands in a line of its own."""
    return textwrap.wrap(sentence, _WIDE, subsequent_indent="  ", break_long_words=False)


def _cell(value: object) -> str:
    return "-" if value is None else str(value)

"""A check of a set-up as tables to read in a terminal; angles in degrees, lengths in the answer's unit."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from turnrule.actions.numbers import read_exact, text_of

WIDE = 88
MOST_ROWS = 36
"""Of the metal at each angle, the positions and the readings, so many lines are shown; the JSON has all."""

_READY = {True: "READY", False: "NOT READY", None: "CANNOT TELL YET"}

Told = Mapping[str, Any]


def setup_table(name: str, answer: bytes) -> str:
    """What was told, block by block, in lines of at most 88 characters where the words allow."""
    told: Told = read_exact(answer)
    lines = [f"{name}: {_READY[told['ready']]} (lengths in {told['unit']})", *_wrapped(told["summary"])]
    blocks = {
        "readings": _readings,
        "affordance": _affordance,
        "hub": _hub,
        "faces": _faces,
        "tracks": _tracks,
    }
    for block, show in blocks.items():
        if told.get(block) is not None:
            lines += ["", block, *show(told[block])]
    lines.append("")
    for caution in told["cautions"]:
        lines += _wrapped(f"{caution['level']}: {caution['text']}")
    return "\n".join(lines) + "\n"


def _readings(told: Told) -> Iterator[str]:
    yield f"mounted: {_cell(told['mounted'])}; the limit of the mount is {_cell(told['limit'])}"
    found = [(whose, told[whose]) for whose in ("mount", "part") if told[whose] is not None]
    if found:
        rows = [(whose, one["runout"], one["angle"], one["uncertainty"]) for whose, one in found]
        yield from _rows(("whose", "runout", "at", "uncertainty"), rows)
    elif told["each_at_least"] is not None:
        yield f"each between {_cell(told['each_at_least'])} and {_cell(told['each_at_most'])}"
    yield from _rows(
        ("turned", "wobble", "at", "covered", "still to go", "passes"), [_reading(one) for one in told["each"]]
    )
    expected = {one["passes"]["expected"]["text"]: None for one in told["each"] if one["passes"]["expected"]}
    yield from (f"- {text}" for text in expected)
    for number, point in enumerate(told["look_at"], start=1):
        yield from _wrapped(f"look at {number}: {point['text']}")
    yield from _said(told)


def _reading(one: Told) -> tuple[object, ...]:
    wobble, scratch, passes = one["wobble"] or {}, one["scratch"] or {}, one["passes"]
    count = passes["least"] if passes["least"] == passes["most"] else f"{passes['least']} to {passes['most']}"
    return (
        one["turned"],
        wobble.get("runout"),
        wobble.get("angle"),
        scratch.get("covered"),
        scratch.get("to_go", one["runout"]),
        count,
    )


def _affordance(told: Told) -> Iterator[str]:
    cut = ", ".join(f"{_cell(depth)} {face}" for face, depth in told["cut"].items() if face != "asked")
    yield from _wrapped(
        f"cut ({'asked for' if told['cut']['asked'] else 'planned'}): {cut}; guard band {_cell(told['guard_band'])}; "
        f"most runout of the mount: {_cell(told['most_mount_runout'])}"
    )
    rows = [(way.replace("_", " "), *told[way].values()) for way in ("mounted_right", "as_mounted")]
    yield from _rows(("way", "left", "affordable"), rows)
    yield from _said(told)


def _hub(told: Told) -> Iterator[str]:
    found = [(whose, told[whose]) for whose in ("hub", "part") if told[whose] is not None]
    rows = [(whose, one["runout"], one["angle"], one["uncertainty"]) for whose, one in found]
    if found:
        yield from _rows(("whose", "runout", "at", "uncertainty"), rows)
        yield from _rows(("turned", "remaining", ""), [_position(one, told) for one in told["positions"]])
        yield f"turn by {_cell(told['turn_by'])} degrees from now; gain {_cell(told['gain'])}"
    yield from _said(told)


def _position(one: Told, told: Told) -> tuple[object, ...]:
    marks = [mark for mark in ("now", "best") if told[mark]["turned"] == one["turned"]]
    return one["turned"], one["remaining"], ", ".join(marks)


def _faces(told: Told) -> Iterator[str]:
    yield f"clean-up thickness {_cell(told['clean_up_thickness'])}; needed {_cell(told['thickness_needed'])}"
    plans = ("least_unequal", "least_equal", "least_equal_from_first_contact")
    rows = [(plan.replace("_", " "), *_plan(told[plan])) for plan in plans if told[plan] is not None]
    if rows:
        yield from _rows(("from first contact", "inboard", "outboard", "left", "allowed"), rows)
    metal = [told[face]["metal"] if told[face] is not None else [] for face in ("inboard", "outboard")]
    count = max(len(one) for one in metal)
    at = [Decimal(360 * step) / count for step in range(count)]
    columns = [one or [None] * count for one in metal]
    yield from _rows(("metal at", "inboard", "outboard"), list(zip(at, *columns, strict=True)))
    yield from _said(told)


def _plan(plan: Told) -> tuple[object, ...]:
    depths = plan["from_first_contact"]
    return depths["inboard"], depths["outboard"], plan["thickness_left"], plan["allowed"]


def _tracks(told: Told) -> Iterator[str]:
    yield f"least finished diameter {_cell(told['least_finished_diameter'])}"
    form = ", ".join(f"{name.replace('_', '-')} {_cell(told[name])}" for name in ("bell_mouth", "taper", "barrel"))
    yield form
    rows = [(one["mean_diameter"], one["out_of_round"], one["runout"]) for one in told["each"]]
    yield from _rows(("mean diameter", "out of round", "runout"), rows)
    yield from _said(told)


def _said(told: Told) -> Iterator[str]:
    for name, word in (("missing", "missing"), ("notes", "note")):
        for one in told.get(name, ()):
            yield from _wrapped(f"{word}: {one['text']}")


def _rows(columns: Sequence[str], entries: Sequence[Iterable[object]]) -> Iterator[str]:
    """A heading and a line for each entry, their cells under each other, and how many are not shown."""
    rows = [list(columns), *([_cell(value) for value in entry] for entry in entries[:MOST_ROWS])]
    widths = [max(len(row[place]) for row in rows) for place in range(len(columns))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
    if len(entries) > MOST_ROWS:
        yield f"... and {len(entries) - MOST_ROWS} more"


def _wrapped(sentence: str) -> list[str]:
    return textwrap.wrap(sentence, WIDE, subsequent_indent="  ", break_long_words=False)


def _cell(value: object) -> str:
    """A value as a person reads it; figures to seven decimals."""
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return text_of(round(value, 7))
    return str(value).replace("_", " ")

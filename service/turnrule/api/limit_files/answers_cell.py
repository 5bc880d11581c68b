r"""The cell in which a row answers warnings: `code: reason`, several of them set apart by a bar.

`code @column: reason` answers the warning about that column only. A bar or backslash within a reason is written
`\|` or `\\`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from turnrule.actions.file_rows import OpenAnswer
from turnrule.api.limit_files.cells import CellError
from turnrule.api.limit_files.columns import column_of, meant, pointer_of

LEAST_REASON, MOST_REASON = 10, 500
"""How long a reason is, in characters, as for every entry."""

_ONE = re.compile(r"(?:[^|\\]|\\.)+", re.DOTALL)
_PARTS = re.compile(r"\s*([a-z0-9_]+)\s*(?:@\s*([a-z0-9_]+)\s*)?:\s*(.*?)\s*", re.DOTALL)
_ESCAPED = re.compile(r"\\(.)", re.DOTALL)


def read_answers(text: str, *, is_rotor: bool) -> tuple[OpenAnswer, ...]:
    """The answers of one cell. Raises `CellError`."""
    if _ONE.sub("", text).strip("|"):
        raise CellError("invalid_text", r"it ends in a single \; write two for one that is meant")
    return tuple(_read(one, is_rotor=is_rotor) for one in _ONE.findall(text) if one.strip())


def _read(text: str, *, is_rotor: bool) -> OpenAnswer:
    parts = _PARTS.fullmatch(text)
    if parts is None:
        raise CellError("invalid_text", "write it as code: reason, and a bar | between two of them")
    code, column, escaped = parts.groups()
    reason = _ESCAPED.sub(r"\1", escaped)
    if not LEAST_REASON <= len(reason) <= MOST_REASON:
        bounds = f"{LEAST_REASON} to {MOST_REASON}"
        raise CellError("too_short" if len(reason) < LEAST_REASON else "too_long", f"a reason has {bounds} characters")
    if column is None:
        return OpenAnswer(code, None, reason)
    pointer = pointer_of(column, is_rotor=is_rotor)
    if pointer is None:
        raise CellError("unknown_field", f"there is no column {column!r}{meant(column)}")
    return OpenAnswer(code, pointer, reason)


def answers_text(answers: Iterable[tuple[str, str, str]], *, is_rotor: bool) -> str:
    """Answers, each as code, JSON Pointer and reason, as one cell that is read as the same answers."""
    return " | ".join(
        f"{code}{_about(column_of(pointer, is_rotor=is_rotor))}: {_escaped(reason)}"
        for code, pointer, reason in answers
    )


def _about(column: str) -> str:
    return f" @{column}" if column else ""


def _escaped(reason: str) -> str:
    return reason.replace("\\", "\\\\").replace("|", "\\|")

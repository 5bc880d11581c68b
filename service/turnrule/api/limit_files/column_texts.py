"""What each column is for, as the pack explains it to people and programs (a Frictionless Table Schema)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from turnrule.api.limit_files.columns import COLUMNS, Column
from turnrule.pack import PackError

PLACE = Path("entry") / "limits.columns.json"


@dataclass(frozen=True, slots=True)
class ColumnText:
    """One column explained; `words` are all that it may hold, where they are few."""

    column: Column
    description: str
    example: str
    is_needed: bool
    words: tuple[str, ...] = ()

    @property
    def in_short(self) -> str:
        """Everything about the column in a few sentences."""
        needed = "Needed. " if self.is_needed else ""
        words = f" One of: {', '.join(self.words)}." if self.words else ""
        example = f" For example: {self.example}" if self.example else ""
        return f"{needed}{self.description}{words}{example}"


def read_column_texts(folder: Path) -> tuple[ColumnText, ...]:
    """The columns in their order, explained by the pack in this folder. Raises `PackError`."""
    place = folder / PLACE
    try:
        fields: dict[str, dict[str, Any]] = {
            field["name"]: field for field in json.loads(place.read_text(encoding="utf-8"))["fields"]
        }
        return tuple(_read(column, fields[column.name]) for column in COLUMNS)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise PackError(str(place), f"it does not explain the columns ({error!r}); install the program again") from None


def _read(column: Column, field: dict[str, Any]) -> ColumnText:
    rules = field.get("constraints", {})
    return ColumnText(
        column=column,
        description=str(field["description"]),
        example=str(field.get("example", "")),
        is_needed=bool(rules.get("required", False)),
        words=tuple(map(str, rules.get("enum", ()))),
    )

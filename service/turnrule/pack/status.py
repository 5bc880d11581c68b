"""How a fact of the pack is known: the words that stand beside every source."""

from __future__ import annotations

from enum import StrEnum


class Status(StrEnum):
    """From seen with one's own eyes to a habit that nobody wrote down."""

    READ = "READ"
    SECONDARY = "READ (secondary)"
    MEMORY = "MEMORY"
    DERIVED = "DERIVED"
    PRACTICE = "COMMON PRACTICE"

"""How surely a published value is known, and the shape in which one is kept beside its source."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple


class Status(StrEnum):
    """How a value came here."""

    READ = "READ"
    READ_SECONDARY = "READ (secondary)"
    MEMORY = "MEMORY"
    DERIVED = "DERIVED"


class Published(NamedTuple):
    """One value as it is printed: `digits` keeps every digit, so that its last place is known."""

    what: str
    digits: str
    source: str
    status: Status

    @property
    def value(self) -> Decimal:
        """The printed value."""
        return Decimal(self.digits)

    def reproduced_by(self, computed: Decimal) -> bool:
        """True where the computed value is the printed one when it is rounded to as many places."""
        return computed.quantize(self.value) == self.value

    @property
    def label(self) -> str:
        """What the test report calls it."""
        return f"{self.what} [{self.status}]"

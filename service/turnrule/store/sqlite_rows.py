"""Rows and their seals: what a record becomes in a table, and how a row that was damaged is told.

SQLite keeps no checksum of its pages, so that a flipped bit in a limit would be read as another limit. Each row
carries one of its own over everything else in it; a row whose seal does not fit is never handed out.
"""

from __future__ import annotations

import datetime
import decimal
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from hashlib import blake2b
from typing import Any

from turnrule.judging.lengths import EXACT, plain
from turnrule.store.port import StoreError

SEAL_BYTES = 16
_TENTH_NM_PER_MM = 7
_LONGEST_NUMBER = 40
_encode = json.JSONEncoder(separators=(",", ":"), ensure_ascii=True).encode

Value = None | int | str | bytes
"""What a column may hold; there is no float in the store."""


class SealError(Exception):
    """A row is not as it was written; the message says which."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it is read and written: its columns in order, the seal after them."""

    name: str
    columns: tuple[str, ...]

    @property
    def insert(self) -> str:
        """The statement that stores one sealed row."""
        marks = ", ".join("?" * (len(self.columns) + 1))
        return f"INSERT INTO {self.name} ({', '.join(self.columns)}, seal) VALUES ({marks})"  # noqa: S608  # names of ours

    def select(self, rest: str = "") -> str:
        """The statement that reads sealed rows; `rest` follows the table's name."""
        listed = ", ".join(f"{self.name}.{column}" for column in (*self.columns, "seal"))
        return f"SELECT {listed} FROM {self.name} {rest}".rstrip()  # noqa: S608  # names of ours

    def sealed(self, values: Sequence[Value]) -> tuple[Value, ...]:
        """The values of a row, with their seal."""
        return (*values, self._seal(values))

    def opened(self, row: Sequence[Any]) -> Sequence[Any]:
        """The values of a row that was read. Raises `SealError` where they are not what was written."""
        values = row[:-1]
        if row[-1] != self._seal(values):
            raise SealError(f"a row of {self.name} is not as it was written: {list(values[:3])}")
        return values

    def _seal(self, values: Sequence[Value]) -> bytes:
        # Lengths of the blobs stand in the text, and the blobs after it: no two rows run together into one.
        text = [len(value) if isinstance(value, bytes) else value for value in values]
        found = blake2b(_encode([self.name, text]).encode("ascii"), digest_size=SEAL_BYTES)
        for value in values:
            if isinstance(value, bytes):
                found.update(value)
        return found.digest()


def columns(names: str) -> tuple[str, ...]:
    """Names of columns, written as words."""
    return tuple(names.split())


def json_text(value: object) -> str:
    """JSON in one canonical form, as a column keeps it."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def one(cursor: sqlite3.Cursor, table: Table) -> Sequence[Any] | None:
    """The opened values of the one row, if there is one."""
    row = cursor.fetchone()
    return None if row is None else table.opened(row)


def tenth_nm(value: Decimal | None) -> int | None:
    """A length of mm as an integer of 0.1 nm. Raises `StoreError` where it does not fit exactly."""
    if value is None:
        return None
    try:
        scaled = EXACT.scaleb(value, _TENTH_NM_PER_MM)
        if scaled == EXACT.to_integral_exact(scaled):
            return int(scaled)
    except (decimal.DecimalException, OverflowError):
        pass
    raise StoreError(f"{value} mm is not a whole number of 0.1 nm: limits have at most 7 decimals of a millimetre")


@lru_cache(maxsize=4096)
def millimetres(tenths: int | None) -> Decimal | None:
    """An integer of 0.1 nm as mm, without trailing zeros."""
    return None if tenths is None else plain(Decimal(tenths).scaleb(-_TENTH_NM_PER_MM))


def exact_text(value: Decimal | None) -> str | None:
    """A decimal number from 0 up as canonical text. Raises `StoreError` for any other, or a very long one."""
    if value is None:
        return None
    sign, digits, exponent = value.as_tuple()
    if isinstance(exponent, int) and len(digits) + abs(exponent) <= _LONGEST_NUMBER and not (sign and value):
        return f"{plain(abs(value)):f}"
    raise StoreError(f"{value} is not a number from 0 up, of at most {_LONGEST_NUMBER} digits")


def exact_number(text: str | None) -> Decimal | None:
    """Canonical text as the number that it is."""
    return None if text is None else Decimal(text)


def moment_text(at: datetime.datetime) -> str:
    """A moment in UTC, to the microsecond. Raises `StoreError` where the zone is not known."""
    if at.tzinfo is None:
        raise StoreError(f"the moment {at} has no time zone; state UTC")
    try:
        utc = at.astimezone(datetime.UTC)
    except OverflowError as error:
        raise StoreError(f"the moment {at} is outside the calendar") from error
    return utc.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def moment(text: str) -> datetime.datetime:
    """The moment that a row holds."""
    return datetime.datetime.fromisoformat(text)


def day_text(day: datetime.date | None) -> str | None:
    """A day as it sorts and reads."""
    return None if day is None else day.isoformat()


def day(text: str | None) -> datetime.date | None:
    """The day that a row holds."""
    return None if text is None else datetime.date.fromisoformat(text)

"""What every use case works with: the store, the reference pack, the clock and the maker of ids, passed in."""

from __future__ import annotations

import datetime
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from turnrule.judging.policy import Policy
from turnrule.pack import Pack
from turnrule.store.port import Store

_DIGITS = "0123456789abcdefghjkmnpqrstvwxyz"
"""Crockford's base 32: no letter that is taken for a digit."""


@dataclass(frozen=True, slots=True)
class Desk:
    """The means of one process; `clock` tells the time in UTC, `make_id` gives an id that was never given before.

    `shelf` keeps policies that were read already, by name and revision: a revision never changes. `site` is the one
    that whoever works at the desk is bound to, whose policy then holds; None where there is none.
    """

    store: Store
    pack: Pack
    clock: Callable[[], datetime.datetime]
    make_id: Callable[[datetime.datetime], str]
    shelf: dict[tuple[str, int], Policy] = field(default_factory=dict)
    site: str | None = None

    def of(self, site: str | None) -> Desk:
        """The same desk with somebody of this site at it."""
        return self if site == self.site else replace(self, site=site)


def utc_now() -> datetime.datetime:
    """The time of the machine, in UTC."""
    return datetime.datetime.now(datetime.UTC)


def new_id(at: datetime.datetime) -> str:
    """26 characters that sort by time: milliseconds since 1970, then 80 random bits."""
    number = (int(at.timestamp() * 1000) << 80) | secrets.randbits(80)
    return "".join(_DIGITS[(number >> shift) & 31] for shift in range(125, -1, -5))

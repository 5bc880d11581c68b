"""What happened in the store, in the order of commit, as far as a key may see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.store.port import Event, EventKind, Key

PAGE, MOST_PAGES = 201, 5
"""So many events are taken from the store at a time for a key that sees some only, and so often for one answer."""

_OF_A_SITE = frozenset({EventKind.VERDICT, EventKind.AXLE_VERDICT, EventKind.SITE})
"""What concerns the site where it was; everything else concerns everyone."""


@dataclass(frozen=True, slots=True)
class EventPage:
    """Events that a key may see; `after` is the last one that was looked at, `more` where there are others behind it.

    Going on after it misses nothing: no event is ever stored below another.
    """

    events: Sequence[Event]
    after: int
    more: bool


def sees(key: Key, event: Event) -> bool:
    """True for an event that this key may see."""
    return key.site is None or event.kind not in _OF_A_SITE or event.site == key.site


def follow_events(desk: Desk, key: Key, *, after: int = 0, limit: int = 50) -> EventPage:
    """The next events after one of them that this key may see, up to `limit`."""
    seen: list[Event] = []
    size = PAGE if key.site is not None else limit + 1
    for _ in range(MOST_PAGES):
        page = desk.store.events(after=after, limit=size)
        for event in page:
            if len(seen) == limit:
                return EventPage(seen, after, more=True)
            if sees(key, event):
                seen.append(event)
            after = event.sequence
        if len(page) < size:
            return EventPage(seen, after, more=False)
    return EventPage(seen, after, more=True)

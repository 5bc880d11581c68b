"""A real store with records in it, and entries as the readers make them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from tests.actions.entry_checks.slips import Body
from turnrule.api.limits_schemas import read_limits
from turnrule.store.limit_records import LimitRevision, OpenDraft, Settlement, Verified
from turnrule.store.sqlite import SqliteStore

NOON = datetime.datetime(2026, 11, 2, 12, 0, tzinfo=datetime.UTC)


def enter(store: SqliteStore, body: Body, limits_id: str) -> LimitRevision:
    """Enter a body as a draft."""
    return store.enter(read_limits(body).as_revision(limits_id, entered_by="first", entered_at=NOON))


def verify(store: SqliteStore, limits_id: str) -> None:
    """Make the second entry of a draft."""

    def equal(_draft: OpenDraft) -> Settlement:
        return Verified("second", NOON)

    store.settle(limits_id, equal)


def accept_all(store: SqliteStore, bodies: Iterable[Body]) -> None:
    """Enter and verify many bodies."""
    for number, body in enumerate(bodies):
        enter(store, body, f"record-{number}")
        verify(store, f"record-{number}")

"""The pack's demo scenario put into a store: its limits as the first release, its inspections judged and recorded.

Everything in it is invented. How documents are read is the business of an outer room, which passes its readers in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.actions.numbers import write_exact
from turnrule.actions.publishing import as_revisions
from turnrule.actions.refusals import RefusedError, refused
from turnrule.actions.requests import LimitsEntry, ReadRequest
from turnrule.judging.faults import PartError
from turnrule.store.port import Key, Release

DEMO_KEY = "demo"


@dataclass(frozen=True, slots=True)
class Readers:
    """How documents in the contract's names become exact values; `unreadable` is what they raise."""

    request: Callable[[object], ReadRequest]
    limits: Callable[[object], LimitsEntry]
    unreadable: type[Exception]


@dataclass(frozen=True, slots=True)
class DemoLoaded:
    """What came of loading: the release, how many inspections were judged, and the names of those refused."""

    release: Release
    judged: int
    refused: tuple[str, ...]


def load_demo_limits(desk: Desk, readers: Readers) -> Release:
    """Publish the demo's limits as release 1. Raises `RefusedError` where the store has releases already."""
    if desk.store.release() is not None:
        raise refused("store_not_empty", "", "the store holds releases already; the demo goes into an empty one")
    entries = [readers.limits(document) for document in desk.pack.demo.limits]
    rows = as_revisions(entries, entered_by=f"{DEMO_KEY}-entry", verified_by=f"{DEMO_KEY}-check")
    return desk.store.publish(
        rows,
        published_at=desk.clock(),
        published_by=DEMO_KEY,
        notes="The invented demo scenario.",
    )


def load_demo(desk: Desk, readers: Readers) -> DemoLoaded:
    """Publish the demo's limits and judge its inspections, each recorded as a request would be.

    Inspections that were written to be refused are refused here too; their names are returned.
    """
    release = load_demo_limits(desk, readers)
    key = Key(DEMO_KEY, "", frozenset({"verdicts"}), None, desk.clock())
    judged = 0
    left_out = []
    for inspection in desk.pack.demo.inspections:
        body = write_exact(inspection.request)
        try:
            judge_part(desk, readers.request(inspection.request), Sent(key, body))
        except (readers.unreadable, PartError, RefusedError):
            left_out.append(inspection.name)
        else:
            judged += 1
    return DemoLoaded(release, judged, tuple(left_out))


def first_request(desk: Desk) -> bytes:
    """The first inspection of the demo that is not refused, as the body of a request."""
    request = next(one.request for one in desk.pack.demo.inspections if one.expect_problem is None)
    return write_exact(request)

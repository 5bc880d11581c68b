"""The demo scenario put into a store, read as the service itself would read it."""

from __future__ import annotations

from turnrule.actions import demo
from turnrule.actions.demo import DemoLoaded, Readers, first_request
from turnrule.actions.desk import Desk
from turnrule.api.faults import FaultsError
from turnrule.api.limits_schemas import read_limits
from turnrule.api.verdict_schemas import read_request
from turnrule.store.port import Release

READERS = Readers(read_request, read_limits, FaultsError)


def load_demo(desk: Desk) -> DemoLoaded:
    """Publish the demo's limits and judge its inspections."""
    return demo.load_demo(desk, READERS)


def load_demo_limits(desk: Desk) -> Release:
    """Publish the demo's limits alone."""
    return demo.load_demo_limits(desk, READERS)


__all__ = ["DemoLoaded", "first_request", "load_demo", "load_demo_limits"]

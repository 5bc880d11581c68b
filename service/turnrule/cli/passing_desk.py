"""The desk of a command that records nothing: over the store that there is, or over the demo's limits alone."""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from turnrule.actions.desk import Desk
from turnrule.api.demo import load_demo_limits
from turnrule.cli.exits import say
from turnrule.settings import Settings
from turnrule.wiring import open_desk


@contextlib.contextmanager
def judging_desk(settings: Settings) -> Iterator[Desk]:
    """The desk over the store that there is, or over a passing one with the demo's limits."""
    if not settings.is_embedded or Path(settings.database).exists():
        yield open_desk(settings)
        return
    say(f"no store at {settings.database}: only the pack's invented demo vehicles are known")
    with tempfile.TemporaryDirectory(prefix="turnrule-") as folder:
        passing = open_desk(replace(settings, database=str(Path(folder) / "passing.sqlite")))
        passing.store.migrate()
        load_demo_limits(passing)
        try:
            yield passing
        finally:
            passing.store.close()

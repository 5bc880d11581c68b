"""Whether the record limits anything: without discard and machining limit it can fail no part for its size."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.fields import lengths_of
from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal, warning
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitFigures, LimitsEntry


def figure_remarks(figures: LimitFigures) -> Iterator[Remark]:
    """A refusal where no figure at all is given."""
    if not any(True for _ in lengths_of(figures.limits)):
        name = names_for(figures.limits.kind).discard
        yield refusal("", "nothing_limited", f"there is no figure in this body; give at least {name}")


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a record without figures; warns of one that limits the form only, or nothing but the size as new."""
    limits = entry.figures.limits
    if limits.discard is not None or limits.machining is not None:
        return
    refused = tuple(figure_remarks(entry.figures))
    yield from refused
    if not refused:
        name = names_for(limits.kind).discard
        detail = f"{name} is missing: no part can be judged by this record alone; look for it in the document"
        yield warning(f"/{name}", "no_strength_limit", detail)

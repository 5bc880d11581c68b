"""Whether what the document says of machining goes with the machining limit that it gives."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, warning
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.words import Machining

_ALLOWED = (Machining.PERMITTED, Machining.ON_VEHICLE_ONLY)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Warns of machining that is permitted without a limit, and of a limit where machining is prohibited."""
    limits = entry.figures.limits
    name = names_for(limits.kind).machining
    if limits.permission in _ALLOWED and limits.machining is None:
        detail = f"machining is permitted and {name} is missing: no cut can be approved; look for it in the document"
        yield warning("/machining", "machining_without_limit", detail)
    elif limits.permission is Machining.PROHIBITED and limits.machining is not None:
        detail = f"machining is prohibited and {name} is given all the same; look at both in the document again"
        yield warning("/machining", "limit_without_machining", detail)

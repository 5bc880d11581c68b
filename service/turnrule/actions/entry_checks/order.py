"""The order of the limits: wear makes a rotor thinner and a drum wider, and never the reverse."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.figure_names import names_for
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.faults import Fault
from turnrule.judging.limits import LimitSet

_ORDER = (
    ("machining", "discard", "machining", "machining_past_discard"),
    ("nominal", "discard", "discard", "discard_past_nominal"),
    ("nominal", "machining", "machining", "machining_past_nominal"),
)
"""The size less worn, the size more worn, the one that the fault points at, its code."""


def order_faults(limits: LimitSet, pointer: str = "") -> Iterator[Fault]:
    """Limits that contradict each other; equal ones do not. `pointer` is where the limits stand."""
    rotor = limits.kind.is_rotor
    for newer, worn, at, code in _ORDER:
        before: Decimal | None = getattr(limits, newer)
        after: Decimal | None = getattr(limits, worn)
        if before is None or after is None or before == after:
            continue
        if (before < after) is rotor:
            names = names_for(limits.kind)._asdict()
            past = "less" if rotor else "greater"
            detail = f"{names[newer]} is {past} than {names[worn]}; look at the document again"
            yield Fault(f"{pointer}/{names[at]}", code, detail)


def order_remarks(limits: LimitSet) -> Iterator[Remark]:
    """The same as refusals of an entry."""
    for fault in order_faults(limits):
        yield refusal(fault.pointer, fault.code, fault.detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a machining limit past the discard limit, and either of them on the new side of the nominal size."""
    return order_remarks(entry.figures.limits)

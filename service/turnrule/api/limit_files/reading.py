"""A body of a file read by the rules of the API, with more of its faults told at once.

A body whose fields cannot all be read is refused before its figures are held against each other. A person who mends
a whole file should not have to come back for that: the figures that can be read are looked at all the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic

from turnrule.actions.figure_names import DRUM_NAMES, ROTOR_NAMES
from turnrule.actions.file_rows import Entry
from turnrule.api.faults import FaultsError
from turnrule.api.limit_files.columns import NEEDED, NEEDED_FIRST
from turnrule.api.limits_schemas import read_figures, read_limits, read_second_entry, read_unchecked_limits
from turnrule.judging.faults import Fault

_FIGURES = frozenset(
    name
    for name in (*ROTOR_NAMES, *DRUM_NAMES, "unit", "kind", "machining", "construction", "also")
    if name is not None
)


@dataclass(frozen=True, slots=True)
class Asked(Generic[Entry]):
    """What is to be read from a file: how a body becomes an entry, and which columns cannot be done without.

    `check` reads a body as strictly as can be without a store; it is used where a row goes no further.
    """

    read: Callable[[object], Entry]
    needed: Sequence[str]
    check: Callable[[object], Entry]
    is_second: bool = False

    def __call__(self, body: object, *, is_spoilt: bool = False) -> Entry:
        """The entry. Raises `FaultsError`. `is_spoilt` where parts of the body could not be read and were left out."""
        try:
            return (self.check if is_spoilt else self.read)(body)
        except FaultsError as error:
            known = {fault.pointer for fault in error.faults}
            raise FaultsError((*error.faults, *_among_figures(body, known))) from None


FIRST_ENTRIES = Asked(read_unchecked_limits, NEEDED_FIRST, read_limits)
"""Rows as first entries: what the entry checks say of one is told with what the store says."""

SECOND_ENTRIES = Asked(read_second_entry, NEEDED, read_second_entry, is_second=True)
"""Rows as second entries."""

FOLLOWING = frozenset({"nothing_limited", "twin_without_value"})
"""Codes of faults that only follow where another figure could not be read."""

_NOT_TOLD = FOLLOWING | {"missing"}


def _among_figures(body: object, spoilt: set[str]) -> Iterable[Fault]:
    """What the figures that can be read show together; nothing where unit or kind is not known."""
    if not isinstance(body, Mapping) or not {"/unit", "/kind"}.isdisjoint(spoilt):
        return ()
    bad = {pointer.split("/")[1] for pointer in spoilt if pointer}
    figures = {name: value for name, value in body.items() if name in _FIGURES and name not in bad}
    try:
        read_figures(figures)
    except FaultsError as error:
        return [fault for fault in error.faults if fault.pointer not in spoilt and fault.code not in _NOT_TOLD]
    return ()

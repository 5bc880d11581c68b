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
from turnrule.api.limits_schemas import read_figures
from turnrule.judging.faults import Fault

_FIGURES = frozenset(
    name
    for name in (*ROTOR_NAMES, *DRUM_NAMES, "unit", "kind", "machining", "construction", "also")
    if name is not None
)


@dataclass(frozen=True, slots=True)
class Asked(Generic[Entry]):
    """What is to be read from a file: how a body becomes an entry, and which columns cannot be done without."""

    read: Callable[[object], Entry]
    needed: Sequence[str]
    is_second: bool = False

    def __call__(self, body: object) -> Entry:
        """The entry. Raises `FaultsError`."""
        try:
            return self.read(body)
        except FaultsError as error:
            known = {fault.pointer for fault in error.faults}
            raise FaultsError((*error.faults, *_among_figures(body, known))) from None


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

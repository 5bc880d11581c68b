"""Whether the construction is one that this kind of part has."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal, warning
from turnrule.actions.requests import LimitsEntry
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Construction, Kind

_ROTORS_ONLY = frozenset({Construction.VENTED, Construction.DRILLED, Construction.SLOTTED})
"""What is done to a disc between its faces or through them; a drum has neither. Common practice, no source."""

_SAYS_LITTLE = {True: Construction.CAST, False: Construction.SOLID}
"""Nearly every rotor (True) is cast, and every drum solid: the word was perhaps read in another column."""


def construction_remarks(limits: LimitSet) -> Iterator[Remark]:
    """A refusal where the part cannot be built so."""
    if limits.kind is not Kind.ROTOR and limits.construction in _ROTORS_ONLY:
        detail = f"a drum is not {limits.construction}; leave the construction out where the document does not give it"
        yield refusal("/construction", "construction_of_another_kind", detail)


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a construction of another kind; warns of one that says nothing of this kind."""
    limits = entry.figures.limits
    yield from construction_remarks(limits)
    if limits.construction is _SAYS_LITTLE[limits.kind is Kind.ROTOR]:
        kind = limits.kind.value.replace("_", " ")
        detail = f"{limits.construction} tells little of a {kind}; look at the document again"
        yield warning("/construction", "unusual_construction", detail)

"""Whether a pack may be used: everything that is wrong with it, at once where it can be read at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from turnrule.pack.checks import (
    cases_name_rules,
    cautions_complete,
    files_listed,
    policies_tighten,
    practice_present,
    sources_used,
)
from turnrule.pack.loading import load_pack
from turnrule.pack.model import Pack
from turnrule.pack.reader import PackError

CHECKS: dict[str, Callable[[Pack], Iterator[str]]] = {
    "cases_name_rules": cases_name_rules.faults,
    "cautions_complete": cautions_complete.faults,
    "files_listed": files_listed.faults,
    "policies_tighten": policies_tighten.faults,
    "practice_present": practice_present.faults,
    "sources_used": sources_used.faults,
}
"""Each check by name."""


@dataclass(frozen=True, slots=True)
class PackFault:
    """One fault of a pack: the check that found it, and a sentence with the file and the remedy."""

    check: str
    detail: str

    def __str__(self) -> str:
        return f"{self.detail} [{self.check}]"


def check_pack(path: Path | None = None) -> tuple[PackFault, ...]:
    """Every fault of the pack in this folder; empty when it is sound."""
    try:
        pack = load_pack(path)
    except PackError as error:
        return (PackFault("readable", str(error)),)
    return tuple(PackFault(name, detail) for name, check in CHECKS.items() for detail in check(pack))

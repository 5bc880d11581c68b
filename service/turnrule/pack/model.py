"""What a pack holds once it is read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from turnrule.judging.catalogue import Catalogue
from turnrule.pack.cases import WorkedCase, read_cases


@dataclass(frozen=True, slots=True)
class Inspection:
    """One request of the demo scenario; `expect_problem` is the code with which it is to be refused, if it is."""

    name: str
    note: str | None
    expect_problem: str | None
    request: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Demo:
    """The invented scenario: limits bodies and inspections, in the contract's names, numbers as exact decimals."""

    limits: tuple[Mapping[str, object], ...]
    inspections: tuple[Inspection, ...]


@dataclass(frozen=True, slots=True)
class Pack:
    """A reference pack; `digest` is the SHA-256 of everything in it that bears on a verdict."""

    name: str
    version: str
    digest: str
    folder: Path
    catalogue: Catalogue
    policies: Mapping[str, Mapping[str, object]]
    demo: Demo

    def cases(self) -> Iterator[WorkedCase]:
        """Every worked case, read as it is asked for: a service that runs needs none. Raises `PackError`."""
        return read_cases(self.folder)

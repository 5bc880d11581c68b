"""The reference pack's catalogues, as the engine needs them: findings, cautions, rules, practice, regulations.

The engine reads no file: the pack builds a `Catalogue` and hands it in.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.words import Binds, Effect, Kind, Level


@dataclass(frozen=True, slots=True)
class FindingRule:
    """What one finding means: its effect, the kinds of part it is seen on, its parameters, its text and source."""

    code: str
    title: str
    effect: Effect
    kinds: frozenset[Kind]
    text: str
    source: str
    parameters: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CautionText:
    """One caution: how loudly it speaks and its text, with `{name}` places for parameters."""

    code: str
    level: Level
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class RuleText:
    """One rule of judgement in words, with the check or figure that applies it and its source."""

    code: str
    title: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Practice:
    """One figure of machining practice: a value with its unit, and where it stands."""

    code: str
    value: Decimal
    unit: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Regulation:
    """One rule of law that a policy may turn on: drum oversize over nominal (mm), and what it binds."""

    code: str
    place: str
    binds: Binds
    kinds: frozenset[Kind]
    oversize: Decimal | None
    text: str
    source: str
    jurisdiction: str | None = None
    """The code of the place, by which a policy turns on all that holds there."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All catalogues of one pack, by code."""

    version: str
    findings: dict[str, FindingRule]
    cautions: dict[str, CautionText]
    rules: dict[str, RuleText]
    practice: dict[str, Practice]
    regulations: dict[str, Regulation]

    @property
    def jurisdictions(self) -> frozenset[str]:
        """The codes of the places whose laws are held."""
        return frozenset(law.jurisdiction for law in self.regulations.values() if law.jurisdiction is not None)

    def in_force(self, named: Iterable[str], jurisdictions: Iterable[str]) -> tuple[Regulation, ...]:
        """The laws that are named, and then all others of the places that are named; each once."""
        codes = dict.fromkeys(named)
        for place in jurisdictions:
            codes |= {code: None for code, law in self.regulations.items() if law.jurisdiction == place}
        return tuple(self.regulations[code] for code in codes)

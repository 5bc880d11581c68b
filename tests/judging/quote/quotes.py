"""Quotes on plain parts, judged each by itself: for examples, and random ones for the laws."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from tests.judging.samples import ROTOR, drum, rotor, verdict_on
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Application, AskedCut, Part
from turnrule.judging.policy import Policy
from turnrule.judging.quote_check import QuoteCheck, check_quote
from turnrule.judging.quote_lines import Charge, KnownPart, Quote, QuoteLine
from turnrule.judging.quote_words import FindingLevel, Leaning, Operation, QuoteCode
from turnrule.judging.words import Axle, Kind, Machining, PairRule, Side, Unit

D = Decimal
ALIKE = Policy(pair_rule=PairRule.MACHINE_BOTH)
BOTH = Policy(pair_rule=PairRule.REPLACE_BOTH)
FULL = Charge(D(50), D(20))
LEFT, RIGHT = Side.LEFT, Side.RIGHT
EACH = (LEFT, RIGHT)


def on(part: Part, side: Side, axle: Axle = Axle.FRONT, **vehicle: Any) -> Part:  # noqa: ANN401 - of an application
    """A part at its place on the invented vehicle."""
    about = {"make": "Corvane", "model": "Ostrel", "year": 2022, "brake_option": "B16", **vehicle}
    return replace(part, side=side, application=Application(axle=axle, **about))


def good(side: Side = LEFT, size: str = "25.5") -> Part:
    """A rotor that needs nothing."""
    return on(rotor(*[size] * 4, lateral_runout=D("0.02"), setup_runout=D(0)), side)


def uneven(side: Side = LEFT, size: str = "25.5") -> Part:
    """A rotor whose thickness varies too much: it is to be machined while it has the metal."""
    thick = str(D(size) + D("0.03"))
    return on(rotor(size, size, size, thick, lateral_runout=D("0.02"), setup_runout=D(0)), side)


def thin(side: Side = LEFT) -> Part:
    """A rotor past its discard limit of 24 mm."""
    return on(rotor("23.9", "23.9", "23.9", "23.9"), side)


def near(side: Side = LEFT) -> Part:
    """A rotor too near its discard limit for the gauge."""
    return on(rotor(*["24.001"] * 4, lateral_runout=D("0.02"), setup_runout=D(0)), side)


def good_drum(side: Side = LEFT) -> Part:
    """A drum that needs nothing."""
    return on(drum(*["280.5"] * 4, setup_runout=D(0)), side, Axle.REAR)


def known(part: Part, policy: Policy | None = None, limits: LimitSet | None = None, **more: Any) -> KnownPart:  # noqa: ANN401
    """A part with its own verdict under the sample limits, named by its side."""
    verdict = verdict_on(part, limits, policy=policy)
    return KnownPart(**{"name": (part.side or LEFT).value, "part": part, "verdict": verdict, **more})


def barred(permission: Machining) -> LimitSet:
    """The sample rotor's limits, whose maker has this to say of machining."""
    return replace(ROTOR, permission=permission)


def line(operation: Operation, *sides: Side, charge: Charge = FULL, **more: Any) -> QuoteLine:  # noqa: ANN401
    """A line about the front rotors of these sides."""
    return QuoteLine(**{
        "operation": operation, "axle": Axle.FRONT, "sides": sides, "kind": Kind.ROTOR, "charge": charge, **more
    })  # fmt: skip


def machine(*sides: Side, **more: Any) -> QuoteLine:  # noqa: ANN401 - of a line
    """A line that machines the front rotors of these sides."""
    return line(Operation.MACHINE, *sides, **more)


def renew(*sides: Side, **more: Any) -> QuoteLine:  # noqa: ANN401 - of a line
    """A line that replaces the front rotors of these sides."""
    return line(Operation.REPLACE, *sides, **more)


def cut(inboard: str, outboard: str) -> AskedCut:
    """The cut of a rotor."""
    return AskedCut(D(inboard), D(outboard))


def check(
    lines: Iterable[QuoteLine],
    *parts: KnownPart | Part,
    policy: Policy | None = None,
    **more: Any,  # noqa: ANN401
) -> QuoteCheck:
    """The check of a quote; a part alone is judged by itself first, under the same policy."""
    told = [part if isinstance(part, KnownPart) else known(part, policy) for part in parts]
    return check_quote(Quote(Unit.MM, tuple(lines), tuple(told), **more), policy or Policy())


def codes(found: QuoteCheck, level: FindingLevel | None = None) -> list[QuoteCode]:
    """The codes of what was found, loudest first; of one level where it is named."""
    return [one.code for one in found.findings if level in {None, one.level}]


def too_little(found: QuoteCheck) -> set[tuple[QuoteCode, Axle | None]]:
    """The contradictions by which too little is done, each with the axle that it is about."""
    return {
        (one.code, found.parts[one.parts[0]].target.place.axle)
        for one in found.findings
        if one.level is FindingLevel.CONTRADICTION and one.code.leaning is Leaning.TOO_LITTLE
    }

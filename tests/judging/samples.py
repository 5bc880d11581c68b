"""A small catalogue and plain parts for the engine's tests; the figures are made up unless a test says otherwise."""

from __future__ import annotations

import datetime
from decimal import Decimal

from turnrule.judging.catalogue import Catalogue, CautionText, FindingRule, Practice, Regulation
from turnrule.judging.cautions import PARAMETERS
from turnrule.judging.judge import judge
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import Part, Readings
from turnrule.judging.policy import Policy
from turnrule.judging.verdict import Check, Verdict
from turnrule.judging.words import Binds, CheckName, Effect, Kind, Level, Machining, Unit

TODAY = datetime.date(2026, 11, 2)
EVERY_KIND = frozenset(Kind)
D = Decimal


def _finding(code: str, effect: Effect) -> FindingRule:
    return FindingRule(code, code.replace("_", " "), effect, EVERY_KIND, f"Seen: {code}.", "a test")


CATALOGUE = Catalogue(
    version="test",
    findings={
        code: _finding(code, effect)
        for code, effect in (
            ("crack", Effect.REPLACE),
            ("hard_spot", Effect.MACHINE),
            ("pit", Effect.MEASURE),
            ("crazing", Effect.CAUTION),
        )
    }
    | {
        "vane_rust": FindingRule(
            "vane_rust", "vane rust", Effect.CAUTION, frozenset({Kind.ROTOR}), "Seen: vane rust.", "a test"
        )
    },
    cautions={
        code: CautionText(code, Level.WARNING, " ".join([code, *(f"{{{name}}}" for name in names)]), "a test")
        for code, names in PARAMETERS.items()
    },
    rules={},
    practice={
        "greatest_surface_roughness": Practice(
            "greatest_surface_roughness", D("0.002032"), "mm", "80 microinches", "common practice, no source"
        )
    }
    | {
        code: Practice(code, D(value), unit, code.replace("_", " "), "common practice, no source")
        for code, value, unit in (
            ("angle_on_part_uncertainty", "5", "deg"),
            ("covered_part_uncertainty", "18", "deg"),
            ("finish_cut_greatest", "0.1", "mm"),
            ("finish_cut_least", "0.05", "mm"),
            ("greatest_mount_runout", "0.025", "mm"),
        )
    },
    regulations={
        "turn_60": Regulation(
            "turn_60",
            "a place",
            Binds.MACHINING,
            frozenset({Kind.DRUM}),
            D("1.524"),
            "0.060 in over",
            "a law",
            "hill_state",
        ),
        "use_90": Regulation(
            "use_90", "a place", Binds.USE, frozenset({Kind.DRUM}), D("2.286"), "0.090 in over", "a law", "hill_state"
        ),
        "both_80": Regulation(
            "both_80", "a place", Binds.BOTH, frozenset({Kind.DRUM}), D("2.032"), "0.080 in over", "a law", "lake_state"
        ),
        "marked": Regulation(
            "marked", "a place", Binds.USE, EVERY_KIND, None, "the marking binds", "a law", "lake_state"
        ),
    },
)

ROTOR = LimitSet(
    Kind.ROTOR,
    nominal=D("26"),
    machining=D("24.6"),
    discard=D("24"),
    maximum_lateral_runout=D("0.05"),
    maximum_thickness_variation=D("0.013"),
    maximum_taper=D("0.05"),
    permission=Machining.PERMITTED,
)
DRUM = LimitSet(
    Kind.DRUM,
    nominal=D("280"),
    machining=D("281.5"),
    discard=D("282"),
    maximum_out_of_round=D("0.1"),
    maximum_taper=D("0.1"),
    permission=Machining.PERMITTED,
)


def record_of(limits: LimitSet, review_due: datetime.date | None = None) -> Record:
    """A released record with these figures."""
    return Record("L-1", 1, limits, "a service manual, table 3", review_due)


def sizes(*values: str) -> tuple[Decimal, ...]:
    """Readings from text."""
    return tuple(D(value) for value in values)


def rotor(*thickness: str, **readings: object) -> Part:
    """A rotor with these thicknesses (mm) and other readings."""
    return Part(Unit.MM, Kind.ROTOR, Readings(track=sizes(*thickness), **readings))  # type: ignore[arg-type]


def drum(*diameter: str, **readings: object) -> Part:
    """A drum with these diameters (mm) and other readings."""
    return Part(Unit.MM, Kind.DRUM, Readings(track=sizes(*diameter), **readings))  # type: ignore[arg-type]


def verdict_on(
    part: Part,
    limits: LimitSet | None = None,
    *,
    policy: Policy | None = None,
    caller: LimitSet | None = None,
    review_due: datetime.date | None = None,
    marking_only: bool = False,
) -> Verdict:
    """The verdict on a part under the sample limits of its kind, unless told otherwise."""
    known = limits if limits is not None else (ROTOR if part.kind.is_rotor else DRUM)
    record = None if marking_only or (caller is not None and limits is None) else record_of(known, review_due)
    return judge(part, record=record, caller=caller, policy=policy or Policy(), catalogue=CATALOGUE, on=TODAY)


def checks_named(verdict: Verdict, name: CheckName) -> list[Check]:
    """The checks of this name, in the answer's order."""
    return [check for check in verdict.checks if check.check is name]


def codes(verdict: Verdict) -> set[str]:
    """The codes of the cautions."""
    return {caution.code for caution in verdict.cautions}

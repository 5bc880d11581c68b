"""A shop's or fleet's policy: it settles what a figure needs, and otherwise only tightens.

Lengths in mm, distances in km. The default adds nothing to the reference.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading


@dataclass(frozen=True, slots=True)
class InstrumentDefaults:
    """What is taken of the gauge where the request is silent (mm)."""

    resolution: Decimal = Decimal("0.01")
    expanded_uncertainty: Decimal = Decimal("0.005")
    repeatability: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Policy:
    """One revision of a policy, with everything that it inherits filled in."""

    name: str = "default"
    revision: int = 1
    decision_rule: DecisionRule = DecisionRule.GUARDED
    instrument: InstrumentDefaults = InstrumentDefaults()
    minimum_points: int = 4
    require: frozenset[Reading] = frozenset()
    discard_margin: Decimal = Decimal(0)
    machining_margin: Decimal = Decimal(0)
    wear_allowance: Decimal = Decimal(0)
    derive_machining_limit: bool = False
    accept_caller_limits: bool = True
    maximum_runout: Decimal | None = None
    maximum_thickness_variation: Decimal | None = None
    maximum_out_of_round: Decimal | None = None
    maximum_taper: Decimal | None = None
    groove_limit: Decimal = Decimal("0.38")
    minimum_cut: Decimal = Decimal("0.05")
    total_cut: Decimal | None = None
    face_balance: Decimal | None = None
    axle_difference: Decimal | None = None
    pair_rule: PairRule = PairRule.ADVISE
    remaining_distance_km: Decimal | None = None
    findings: dict[str, Effect] = field(default_factory=dict)
    regulations: tuple[str, ...] = ()
    jurisdictions: tuple[str, ...] = ()
    limits_review_due: Overdue = Overdue.CAUTION
    calibration_overdue: Overdue = Overdue.CAUTION

    @property
    def source(self) -> str:
        """How a trace names this policy."""
        return f"policy {self.name}, revision {self.revision}"

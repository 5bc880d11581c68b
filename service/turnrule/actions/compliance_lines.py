"""What a compliance report tells: a rule that was not kept, the verdicts that show it, and what to do about it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import StrEnum

from turnrule.judging.words import Axle, Kind


class Rule(StrEnum):
    """What was asked for and not got."""

    FEW_POINTS = "few_points"
    GAUGE_OVERDUE = "gauge_overdue"
    READING_MISSING = "reading_missing"
    LIMITS_WITHDRAWN = "limits_withdrawn"
    SINGLE_SIDE = "single_side"
    AGAINST_VERDICT = "machined_against_verdict"
    NOT_MEASURED_AFTER = "not_measured_after"


RULES = {
    Rule.FEW_POINTS: "Fewer readings on a track than the policy asks for.",
    Rule.GAUGE_OVERDUE: "The gauge's calibration was overdue on the day.",
    Rule.READING_MISSING: "A reading that the policy requires was not taken.",
    Rule.LIMITS_WITHDRAWN: "The limits that it rests on were withdrawn since.",
    Rule.SINGLE_SIDE: "One side of an axle alone, where the policy asks for both.",
    Rule.AGAINST_VERDICT: "Machined although the verdict, or a limit, spoke against it.",
    Rule.NOT_MEASURED_AFTER: "To be machined, and never measured afterwards.",
}
"""Each rule in a sentence."""


@dataclass(frozen=True, slots=True)
class Windows:
    """How long what belongs together may take.

    `pair_days` may lie between the verdicts on the two sides of an axle that were not judged together; `after_days`
    between a verdict that a part is to be machined and its measurement afterwards.
    """

    pair_days: int = 7
    after_days: int = 14

    @property
    def pair(self) -> datetime.timedelta:
        """The first as a duration."""
        return datetime.timedelta(days=self.pair_days)

    @property
    def after(self) -> datetime.timedelta:
        """The second as a duration."""
        return datetime.timedelta(days=self.after_days)


@dataclass(frozen=True, slots=True)
class ComplianceLine:
    """A rule that was not kept: the verdict that shows it first among `verdict_ids`, then those that it hangs on."""

    rule: Rule
    verdict_ids: tuple[str, ...]
    axle_id: str | None
    judged_at: datetime.datetime
    site: str | None
    vehicle: str | None
    reference: str | None
    kind: Kind
    axle: Axle | None
    side: str | None
    policy_name: str
    policy_revision: int
    evidence: str
    what_to_do: str

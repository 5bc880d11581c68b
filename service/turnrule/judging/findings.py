"""Findings: what a person saw, weighed by the catalogue and raised, never lowered, by the policy."""

from __future__ import annotations

from dataclasses import dataclass

from turnrule.judging.catalogue import Catalogue, FindingRule
from turnrule.judging.parts import Part, ReportedFinding
from turnrule.judging.policy import Policy
from turnrule.judging.words import Effect


@dataclass(frozen=True, slots=True)
class Weighed:
    """A reported finding with its rule and the effect that it has under this policy."""

    finding: ReportedFinding
    rule: FindingRule
    effect: Effect
    raised: bool


def weigh(part: Part, policy: Policy, catalogue: Catalogue) -> tuple[Weighed, ...]:
    """Every reported finding with its effect; the codes must be the catalogue's (see `faults`)."""
    weighed = []
    for finding in part.findings:
        rule = catalogue.findings[finding.code]
        wanted = policy.findings.get(finding.code, rule.effect)
        effect = max(rule.effect, wanted, key=lambda effect: effect.rank)
        weighed.append(Weighed(finding, rule, effect, effect is not rule.effect))
    return tuple(weighed)


def needs_depth(part: Part, weighed: Weighed) -> bool:
    """True where the finding asks for a depth and none was given: neither with it nor as its face's groove depth.

    A finding that names no face is content with the groove depth of any: it was measured where it was seen.
    """
    if weighed.effect is not Effect.MEASURE or weighed.finding.depth is not None:
        return False
    measured = part.readings.grooves
    return not measured if weighed.finding.face is None else weighed.finding.face not in measured

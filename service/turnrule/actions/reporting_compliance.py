"""What the policies asked for and did not get, verdict by verdict; then axle by axle, in the order of vehicles.

What one verdict shows by itself is told while the verdicts are walked through. What several show together is told
after that, from rows that were put in order in passing files: memory grows with the verdicts on one axle of one
vehicle, and not with all of them.
"""

from __future__ import annotations

import datetime
import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from turnrule.actions.compliance_lines import ComplianceLine, Rule, Windows
from turnrule.actions.compliance_pairs import pair_lines
from turnrule.actions.compliance_parts import Seen, day, line, seen
from turnrule.actions.compliance_work import work_lines
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import read_exact
from turnrule.actions.policies import recorded_policy
from turnrule.actions.refusals import RefusedError
from turnrule.actions.report_scope import Scope, Told, nothing_told, walk
from turnrule.actions.sorted_rows import SortedRows
from turnrule.actions.withdrawn_limits import WithdrawnLimits
from turnrule.judging.policy import Policy
from turnrule.judging.words import CheckName, Outcome
from turnrule.store.port import VerdictRecord

TELL_EVERY = 1000
"""After so many verdicts the walk tells how far it is: whoever waits sees it go on."""

_OVERDUE = "calibration_overdue"


@dataclass(frozen=True, slots=True)
class ComplianceSoFar:
    """How many verdicts were looked at."""

    verdicts: int


@dataclass(frozen=True, slots=True)
class ComplianceDone:
    """The end: how many verdicts the report is about, and how many lines there were of each rule."""

    verdicts: int
    rules: Mapping[Rule, int]


Step = ComplianceLine | ComplianceSoFar | ComplianceDone


def report_compliance(
    desk: Desk, scope: Scope, windows: Windows | None = None, told: Told = nothing_told
) -> Iterator[Step]:
    """Every rule that a verdict of the scope shows was not kept; the last thing told is `ComplianceDone`.

    Raises `StoreError`.
    """
    windows, now = windows or Windows(), desk.clock()
    counted: Counter[Rule] = Counter()
    about = looked_at = 0
    policies = _Policies(desk)
    withdrawn = WithdrawnLimits(desk)
    with SortedRows[Seen](key=_place) as rows:
        for record in walk(desk, scope.parts, told):
            covered = scope.covers(record)
            looked_at += 1
            about += covered
            if looked_at % TELL_EVERY == 0:
                yield ComplianceSoFar(looked_at)
            answer = read_exact(record.answer)
            one = seen(record, answer, told=covered)
            if one.vehicle is not None and one.axle is not None:
                rows.add(one)
            if covered:
                for found in _alone(record, one, answer, policies, withdrawn):
                    counted[found.rule] += 1
                    yield found
        for _, axle in itertools.groupby(rows, key=lambda one: _place(one)[:-1]):
            for found in _together(list(axle), policies, windows, now):
                counted[found.rule] += 1
                yield found
    yield ComplianceDone(about, {rule: counted[rule] for rule in Rule})


def _place(one: Seen) -> tuple[str, str, str, int]:
    """Verdicts of one vehicle, axle and kind of part stand together, in the order of recording."""
    return one.vehicle or "", one.axle or "", one.kind, one.sequence


class _Policies:
    """The policy revisions that verdicts were judged under; one that cannot be had any more asks for nothing."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._known: dict[tuple[str, int], Policy] = {}

    def of(self, one: Seen) -> Policy:
        key = one.policy_name, one.policy_revision
        if key not in self._known:
            try:
                self._known[key] = recorded_policy(self._desk, *key)
            except RefusedError:
                self._known[key] = Policy(*key)
        return self._known[key]


def _alone(
    record: VerdictRecord,
    one: Seen,
    answer: Any,  # noqa: ANN401 - the answer's document
    policies: _Policies,
    withdrawn: WithdrawnLimits,
) -> Iterator[ComplianceLine]:
    """What one verdict shows by itself."""
    for check in answer["checks"]:
        if check["check"] == CheckName.MEASUREMENT_POINTS and check["outcome"] == Outcome.FAIL:
            evidence = f"{check['value']} readings on a track, and the policy asks for {check['limit']}."
            yield line(Rule.FEW_POINTS, one, (), evidence, "Measure again at as many points as the policy asks for.")
    for caution in answer["cautions"]:
        if caution["code"] == _OVERDUE:
            todo = "Have the gauge calibrated; measure again whatever came close to a limit with it."
            yield line(Rule.GAUGE_OVERDUE, one, (), caution["text"], todo)
    missing = [name for name in answer["missing"] if name in policies.of(one).require]
    if missing:
        listed = ", ".join(name.replace("_", " ") for name in missing)
        evidence = f"The policy requires {listed}, and the request did not give it."
        todo = f"Take what is missing ({listed}), and have the part judged again."
        yield line(Rule.READING_MISSING, one, (), evidence, todo)
    gone = withdrawn.of(record)
    if gone is not None:
        evidence = f"{gone.limits_id} was withdrawn on {day(gone.withdrawn_at)}: {gone.reason}"
        todo = "Have the part judged again under the limits that hold; the call-back list says how urgent it is."
        yield line(Rule.LIMITS_WITHDRAWN, one, (), evidence, todo)


def _together(
    axle: Sequence[Seen], policies: _Policies, windows: Windows, now: datetime.datetime
) -> Iterator[ComplianceLine]:
    """What the verdicts on one axle show together."""
    yield from pair_lines(axle, lambda one: policies.of(one).pair_rule, windows, now)
    for side in sorted({one.side for one in axle if one.side is not None}):
        yield from work_lines([one for one in axle if one.side == side], windows, now)

"""One stored verdict as a compliance report looks at it."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from turnrule.actions.compliance_lines import ComplianceLine, Rule
from turnrule.actions.numbers import read_exact
from turnrule.judging.lengths import to_mm
from turnrule.judging.words import Axle, CheckName, Kind, Machining, Outcome, Ruling, Stage, Unit
from turnrule.store.port import VerdictRecord


class Seen(NamedTuple):
    """What rules need of a verdict. Sizes are in mm, `worn` the one nearest its limit and `best` the farthest.

    `told` where the report is about it; others only show what became of the same axle.
    """

    sequence: int
    id: str
    judged_at: datetime.datetime
    site: str | None
    vehicle: str | None
    reference: str | None
    kind: Kind
    axle: Axle | None
    side: str | None
    ruling: Ruling
    policy_name: str
    policy_revision: int
    axle_id: str | None
    finished: bool
    before: str | None
    prohibited: bool
    past_machining: bool
    worn: Decimal | None
    best: Decimal | None
    told: bool


def seen(record: VerdictRecord, answer: Any, *, told: bool) -> Seen:  # noqa: ANN401 - the answer's document
    """The verdict of a record with this answer."""
    request = read_exact(record.request)
    unit, figures = Unit(answer["unit"]), answer["figures"]
    rotor = record.kind.is_rotor
    names = ("least_thickness", "greatest_thickness") if rotor else ("greatest_diameter", "least_diameter")
    worn, best = (None if figures[name] is None else to_mm(figures[name], unit) for name in names)
    before = request.get("before")
    return Seen(
        sequence=record.sequence,
        id=record.id,
        judged_at=record.judged_at,
        site=record.site,
        vehicle=record.vehicle,
        reference=record.reference,
        kind=record.kind,
        axle=record.axle,
        side=record.side,
        ruling=record.ruling,
        policy_name=record.policy_name,
        policy_revision=record.policy_revision,
        axle_id=record.axle_id,
        finished=request.get("stage") == Stage.AFTER_MACHINING,
        before=before if isinstance(before, str) else None,
        prohibited=answer["limits"]["permission"] == Machining.PROHIBITED,
        past_machining=any(
            check["check"] == CheckName.MACHINING_LIMIT and check["outcome"] == Outcome.FAIL
            for check in answer["checks"]
        ),
        worn=worn,
        best=best,
        told=told,
    )


def line(rule: Rule, one: Seen, others: tuple[str, ...], evidence: str, what_to_do: str) -> ComplianceLine:
    """A line about a verdict, and others that it hangs on."""
    return ComplianceLine(
        rule=rule,
        verdict_ids=(one.id, *others),
        axle_id=one.axle_id,
        judged_at=one.judged_at,
        site=one.site,
        vehicle=one.vehicle,
        reference=one.reference,
        kind=one.kind,
        axle=one.axle,
        side=one.side,
        policy_name=one.policy_name,
        policy_revision=one.policy_revision,
        evidence=evidence,
        what_to_do=what_to_do,
    )


def day(at: datetime.datetime) -> str:
    """A moment's day, as sentences name it."""
    return f"{at:%Y-%m-%d}"

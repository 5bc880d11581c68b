"""The parameters of the reports and of the feed of events."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from turnrule.actions.compliance_lines import Windows
from turnrule.actions.report_scope import Scope
from turnrule.actions.reporting_verdicts import By
from turnrule.api.bounds import Within
from turnrule.api.fields import Choice, Instant, Text, WholeNumber
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.queries import PageQuery
from turnrule.api.shapes import Shape
from turnrule.judging.words import Axle, Kind, Unit

MOST_DAYS = 366


class ScopeQuery(Shape):
    """Which verdicts a report is about."""

    site = Text(63, metadata={"description": "The site whose key sent the request."})
    vehicle = Text(80, metadata={"description": "The caller's own name for the vehicle."})
    make = Text(80, metadata={"description": "The vehicle's maker; case and spacing do not matter."})
    model = Text(80, metadata={"description": "The vehicle's model; case and spacing do not matter."})
    axle = Choice(Axle, metadata={"description": "The axle."})
    kind = Choice(Kind, metadata={"description": "The kind of part."})
    since = Instant(metadata={"description": "Judged at this moment or later."})
    until = Instant(metadata={"description": "Judged before this moment."})


class VerdictReportQuery(ScopeQuery):
    """How the verdicts are put into groups, and the unit of every margin."""

    unit: fields.Field[str] = Choice(
        Unit,
        required=True,
        metadata={"description": "The unit of every length of the report; it is needed and never assumed."},
    )
    by: fields.Field[str] = Choice(
        By,
        metadata={
            "description": "Count by this: a group for each, and one for what does not say. Months are those of UTC; "
            "makes that differ in case and spacing alone are one. Left out: everything together."
        },
    )
    then_by: fields.Field[str] = Choice(
        By, metadata={"description": "Count by this as well, within each group; another than `by`, which is needed."}
    )


class ComplianceQuery(ScopeQuery):
    """How long what belongs together may take."""

    pair_days = WholeNumber(
        Within(least=0, most=MOST_DAYS),
        text=True,
        load_default=Windows().pair_days,
        metadata={
            "description": "Verdicts on the two sides of an axle that were not judged together belong together within "
            "so many days."
        },
    )
    after_days = WholeNumber(
        Within(least=0, most=MOST_DAYS),
        text=True,
        load_default=Windows().after_days,
        metadata={"description": "A part that was to be machined is measured afterwards within so many days."},
    )


class CallBackQuery(ScopeQuery):
    """Which newest verdicts the list is about."""


class EventsQuery(PageQuery):
    """Where in the feed."""


VERDICT_REPORT, COMPLIANCE, CALL_BACKS = VerdictReportQuery(), ComplianceQuery(), CallBackQuery()
EVENTS = EventsQuery()


def scope_of(values: dict[str, Any], bound: str | None) -> Scope:
    """The scope that parameters ask for, for somebody who is bound to a site or to none."""
    return Scope(**{name: values.get(name) for name in ScopeQuery().fields}, bound=bound)


def windows_of(values: dict[str, Any]) -> Windows:
    """The windows that parameters ask for."""
    default = Windows()
    return Windows(values.get("pair_days", default.pair_days), values.get("after_days", default.after_days))


def groups_of(values: dict[str, Any]) -> tuple[By, ...]:
    """What a report is grouped by. Raises the problem 400 where the second says nothing beside the first."""
    by, then_by = values.get("by"), values.get("then_by")
    if then_by is not None and by in {None, then_by}:
        detail = "then_by counts within the groups of by: give by as well, and another one"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("then_by", "nothing_to_group", detail)])
    return tuple(By(one) for one in (by, then_by) if one is not None)

"""Reports as the JSON documents that are sent."""

from __future__ import annotations

from decimal import ROUND_FLOOR

from turnrule.actions.answers import Json, moment
from turnrule.actions.call_back_lines import CallBack, CallBackDone, CalledPart
from turnrule.actions.compliance_lines import ComplianceLine
from turnrule.actions.desk import Desk
from turnrule.actions.margins import Spread
from turnrule.actions.numbers import Lengths
from turnrule.actions.reporting_compliance import ComplianceDone
from turnrule.actions.reporting_verdicts import Group, VerdictReport
from turnrule.judging.words import Unit

FIGURES = ("least", "lower_quartile", "median", "upper_quartile", "greatest")
"""The figures of a spread, in rising order."""

_CAUTIONS = ("follow_service_data",)


def cautions_document(desk: Desk) -> list[Json]:
    """What stands beside every report, by the catalogue."""
    entries = [desk.pack.catalogue.cautions[code] for code in _CAUTIONS]
    return [{"code": one.code, "level": one.level, "text": one.text} for one in entries]


def verdict_report_document(desk: Desk, report: VerdictReport, unit: Unit) -> Json:
    """Verdicts counted, with how their margins spread."""
    length = Lengths(unit)
    return {
        "unit": unit,
        "by": list(report.by),
        "total": _group(report.total, length),
        "groups": [
            {"group": dict(zip(map(str, report.by), group.names, strict=True)), **_group(group, length)}
            for group in report.groups
        ],
        "cautions": cautions_document(desk),
    }


def _group(group: Group, length: Lengths) -> Json:
    return {
        "verdicts": group.verdicts,
        "rulings": {str(ruling): count for ruling, count in group.rulings.items()},
        "margins": {name: spread_document(spread, length) for name, spread in group.margins.items()},
    }


def spread_document(spread: Spread, length: Lengths) -> Json:
    """How margins spread; in inches none is shown greater than it is."""
    return {"known": spread.known} | {name: length(getattr(spread, name), ROUND_FLOOR) for name in FIGURES}


def compliance_document(line: ComplianceLine) -> Json:
    """A rule that was not kept."""
    return {
        "rule": line.rule,
        "verdict_ids": list(line.verdict_ids),
        "axle_id": line.axle_id,
        "judged_at": moment(line.judged_at),
        "site": line.site,
        "vehicle": line.vehicle,
        "reference": line.reference,
        "kind": line.kind,
        "axle": line.axle,
        "side": line.side,
        "policy": {"name": line.policy_name, "revision": line.policy_revision},
        "evidence": line.evidence,
        "what_to_do": line.what_to_do,
    }


def compliance_done(desk: Desk, done: ComplianceDone) -> Json:
    """The end of a compliance report."""
    rules = {str(rule): count for rule, count in done.rules.items()}
    return {"done": True, "verdicts": done.verdicts, "rules": rules, "cautions": cautions_document(desk)}


def call_back_document(entry: CallBack) -> Json:
    """One axle of one vehicle."""
    return {
        "urgency": entry.first.urgency,
        "vehicle": entry.vehicle,
        "axle": entry.axle,
        "kind": entry.kind,
        "site": entry.first.site,
        "what_to_do": entry.first.what_to_do,
        "parts": [_part(part) for part in entry.parts],
    }


def _part(part: CalledPart) -> Json:
    return {
        "side": part.side,
        "verdict_id": part.verdict_id,
        "judged_at": moment(part.judged_at),
        "site": part.site,
        "reference": part.reference,
        "verdict": part.ruling,
        "comes_out_as": part.now,
        "reasons": list(part.reasons),
        "urgency": part.urgency,
        "what_to_do": part.what_to_do,
    }


def call_backs_done(desk: Desk, done: CallBackDone) -> Json:
    """The end of a call-back list."""
    urgencies = {str(urgency): count for urgency, count in done.urgencies.items()}
    return {
        "done": True,
        "release": done.release,
        "parts": done.parts,
        "urgencies": urgencies,
        "cautions": cautions_document(desk),
    }

"""Verdicts, what was asked for in vain, and the pack's catalogues, as the JSON documents that are sent."""

from __future__ import annotations

import orjson

from turnrule.actions.answers import Json, moment
from turnrule.judging.catalogue import CautionText, FindingRule, RuleText
from turnrule.store.port import Miss, VerdictRecord


def miss_document(miss: Miss) -> Json:
    """One application that was asked for and not found."""
    return {
        "make": miss.make,
        "model": miss.model,
        "year": miss.year,
        "axle": miss.axle,
        "kind": miss.kind,
        "brake_option": miss.brake_option,
        "count": miss.count,
        "first_at": moment(miss.first_at),
        "last_at": moment(miss.last_at),
    }


def verdict_line(record: VerdictRecord) -> Json:
    """A verdict as a list shows it; the whole of it stands under its own address."""
    return {
        "id": record.id,
        "sequence": record.sequence,
        "judged_at": moment(record.judged_at),
        "verdict": record.ruling,
        "kind": record.kind,
        "make": record.make,
        "model": record.model,
        "year": record.year,
        "axle": record.axle,
        "side": record.side,
        "axle_id": record.axle_id,
        "vehicle": record.vehicle,
        "reference": record.reference,
        "site": record.site,
        "key": record.key_name,
        "release": record.release,
        "policy": {"name": record.policy_name, "revision": record.policy_revision},
        "limits_id": record.limits_id,
        "limits_revision": record.limits_revision,
        "digest": record.digest,
    }


def whole_verdict(record: VerdictRecord) -> bytes:
    """The answer as it was sent, with the request as it was read and how it was recorded.

    The answer's own bytes are kept: what is added stands behind them.
    """
    beside = orjson.dumps(
        {
            "request": orjson.Fragment(record.request),
            "recorded": {
                "sequence": record.sequence,
                "key": record.key_name,
                "site": record.site,
                "axle_id": record.axle_id,
            },
        }
    )
    return record.answer[:-1] + b"," + beside[1:]


def finding_document(rule: FindingRule) -> Json:
    """One finding of the catalogue."""
    return {
        "code": rule.code,
        "title": rule.title,
        "effect": rule.effect,
        "kinds": sorted(rule.kinds),
        "parameters": list(rule.parameters),
        "text": rule.text,
        "source": rule.source,
    }


def caution_document(caution: CautionText) -> Json:
    """One caution of the catalogue; its text has places in braces, which a verdict fills in."""
    return {"code": caution.code, "level": caution.level, "text": caution.text, "source": caution.source}


def rule_document(rule: RuleText) -> Json:
    """One rule of judgement in words."""
    return {"code": rule.code, "title": rule.title, "text": rule.text, "source": rule.source}

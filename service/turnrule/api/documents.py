"""What the store and the pack hold, as the JSON documents that are sent."""

from __future__ import annotations

from decimal import Decimal

import orjson

from turnrule.actions.answers import Json, moment, source_document
from turnrule.actions.numbers import number
from turnrule.api.limits_schemas import FigureNames, names_for
from turnrule.judging.catalogue import CautionText, FindingRule, RuleText
from turnrule.store.port import FitsTo, LimitRevision, Miss, Release, VerdictRecord


def limits_document(row: LimitRevision) -> Json:
    """One revision of a limits record: each value as printed, in the printed unit, and as exact millimetres."""
    limits = row.limits
    names = names_for(limits.kind)
    sizes: dict[str, Decimal | None] = {
        name: getattr(limits, figure)
        for figure, name in zip(FigureNames._fields, names, strict=True)
        if name is not None
    }
    return {
        "limits_id": row.limits_id,
        "revision": row.revision,
        "unit": row.printed_unit,
        "kind": limits.kind,
        "application": _fits(row.fits),
        **{name: orjson.Fragment(row.printed[name]) for name in sizes if name in row.printed},
        "millimetres": {name: number(size) for name, size in sizes.items() if size is not None},
        "machining": limits.permission,
        "construction": limits.construction,
        "expansion_per_k": number(limits.expansion_per_k),
        "source": source_document(row.source),
        "effective_from": row.effective_from,
        "effective_to": row.effective_to,
        "review_due": row.review_due,
        "entered_by": row.entered_by,
        "verified_by": row.verified_by,
        "note": row.note,
    }


def _fits(fits: FitsTo) -> Json:
    return {
        "make": fits.make,
        "model": fits.model,
        "year_from": fits.year_from,
        "year_to": fits.year_to,
        "axle": fits.axle,
        "brake_option": fits.brake_option,
    }


def release_document(release: Release) -> Json:
    """One release."""
    return {
        "number": release.number,
        "published_at": moment(release.published_at),
        "published_by": release.published_by,
        "notes": release.notes,
        "digest": release.digest,
        "records": release.records,
    }


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
        "vehicle": record.vehicle,
        "reference": record.reference,
        "site": record.site,
        "key": record.key_name,
        "release": record.release,
        "policy": {"name": record.policy_name, "revision": record.policy_revision},
        "limits_id": record.limits_id,
        "digest": record.digest,
    }


def whole_verdict(record: VerdictRecord) -> bytes:
    """The answer as it was sent, with the request as it was read and how it was recorded.

    The answer's own bytes are kept: what is added stands behind them.
    """
    beside = orjson.dumps(
        {
            "request": orjson.Fragment(record.request),
            "recorded": {"sequence": record.sequence, "key": record.key_name, "site": record.site},
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

"""The check of a quote as the JSON document that is sent; a figure that could not be had is null and never left out."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import orjson

from turnrule.actions.answers import Json, moment
from turnrule.actions.checking_quotes import CheckedPart, CheckedQuote
from turnrule.actions.numbers import Lengths, number
from turnrule.judging import ENGINE
from turnrule.judging.quote_check import ToldPart, quote_cautions, quote_summary
from turnrule.judging.quote_costs import Way
from turnrule.judging.quote_findings import Evidence, QuoteFinding
from turnrule.judging.quote_targets import Work
from turnrule.judging.quote_words import Measure
from turnrule.judging.verdict import Caution
from turnrule.judging.words import Sense
from turnrule.pack import Pack

QUOTED = {Work.NONE: "nothing", Work.MACHINED: "machine", Work.REPLACED: "replace"}
"""What a quote does to a part, in the words of its operations."""


def quote_answer(pack: Pack, checked: CheckedQuote) -> bytes:
    """The bytes that are sent."""
    quote, check, policy = checked.quote, checked.check, checked.policy
    length = Lengths(quote.unit)
    document: Json = {
        "agrees": check.agrees,
        "summary": quote_summary(check),
        "unit": quote.unit,
        "currency": quote.currency,
        "sum": number(check.sum),
        "total": number(quote.total),
        "findings": [_finding(one, length) for one in check.findings],
        "parts": [_part(told, checked, length) for told in check.parts],
        "cautions": [_caution(one) for one in quote_cautions(check, pack.catalogue)],
        "policy": {"name": policy.name, "revision": policy.revision},
        "pack": {"version": pack.version, "digest": pack.digest},
        "engine": ENGINE,
        "checked_at": moment(checked.at),
    }
    return orjson.dumps(document)


def _caution(caution: Caution) -> Json:
    return {"code": caution.code, "level": caution.level, "text": caution.text}


def _finding(one: QuoteFinding, length: Lengths) -> Json:
    return {
        "code": one.code,
        "level": one.level,
        "leaning": one.code.leaning,
        "sentence": one.sentence,
        "lines": list(one.lines),
        "parts": list(one.parts),
        "evidence": None if one.evidence is None else _evidence(one.evidence, length),
    }


def _evidence(held: Evidence, length: Lengths) -> Json:
    """What a finding rests on; a limit is never shown laxer, and a margin never greater, than it is."""
    if held.measure is Measure.LENGTH:
        safe = ROUND_CEILING if held.sense is Sense.AT_LEAST else ROUND_FLOOR
        value, limit, margin = length(held.value), length(held.limit, safe), length(held.margin, ROUND_FLOOR)
        unit: str | None = length.unit
    else:
        value, limit, margin = number(held.value), number(held.limit), number(held.margin)
        unit = held.measure
    return {
        "check": held.check,
        "quantity": held.quantity,
        "value": value,
        "limit": limit,
        "margin": margin,
        "sense": held.sense,
        "unit": unit,
        "verdict_id": held.verdict_id,
    }


def _part(told: ToldPart, checked: CheckedQuote, length: Lengths) -> Json:
    target = told.target
    known, place, verdict = target.known, target.place, target.known.verdict
    given = checked.parts[target.number] if target.number < len(checked.parts) else CheckedPart(known)
    costs = told.ways.costs
    return {
        "name": known.name,
        "axle": place.axle,
        "side": place.side,
        "kind": place.kind,
        "lines": list(target.lines),
        "quoted": QUOTED[told.quoted],
        "verdict": None if verdict is None else verdict.ruling,
        "verdict_id": known.verdict_id,
        "summary": None if verdict is None else verdict.summary,
        "margins": None
        if verdict is None
        else {
            "to_machining_limit": length(verdict.margins.to_machining_limit, ROUND_FLOOR),
            "to_discard_limit": length(verdict.margins.to_discard_limit, ROUND_FLOOR),
            "guard_band": length(verdict.margins.guard_band, ROUND_CEILING),
        },
        "most_total_cut": None if verdict is None else length.to_seven(verdict.room.most_total_cut, ROUND_FLOOR),
        "outdated": known.outdated,
        "costs": {
            "machining": _way(told.ways.machining, costs.machining),
            "replacing": _way(told.ways.replacing, costs.replacing),
            "cheaper": costs.cheaper,
        },
        "cautions": [] if verdict is None else [_caution(one) for one in verdict.cautions],
        **_basis(given),
    }


def _way(way: Way, per_1000_km: Decimal | None) -> Json:
    """A price with the parts that share it, the distance that it buys each, and what 1,000 km of one part cost."""
    return {
        "price": number(way.price),
        "shared_by": way.shared_by,
        "distance_km": number(way.distance_km),
        "per_1000_km": number(per_1000_km),
    }


def _basis(given: CheckedPart) -> Json:
    """What the part was judged under."""
    if given.reached is None:
        return {"release": None, "policy": None}
    basis = given.reached.basis
    return {"release": basis.release, "policy": {"name": basis.policy_name, "revision": basis.policy_revision}}

"""A verdict as the JSON document that is sent: the contract's names, the caller's unit, exact decimals.

A figure that could not be had is null and never left out, so that every answer about one kind of part has the
same names. The document's digest is taken over everything but the id, the moment and the digest itself: two
judgements of the same request under the same release, policy, pack and engine have the same one.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import orjson

from turnrule.actions.lathe_answers import heat_document, lathe_named, passes_document, plan_document
from turnrule.actions.life_answers import life_document
from turnrule.actions.metal_answers import gauge_document, metal_document
from turnrule.actions.numbers import Lengths, canonical, digest_of, number
from turnrule.actions.planning import AtTheLathe, PlannedCut
from turnrule.judging.limits import Governing
from turnrule.judging.parts import Part
from turnrule.judging.verdict import Check, Figures, Harmonic, JudgedCut, Limits, Margins, Room, Verdict
from turnrule.judging.words import Face, Sense
from turnrule.store.port import Source

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class Basis:
    """What a verdict was judged under, so that it can be judged again."""

    release: int | None
    policy_name: str
    policy_revision: int
    pack_version: str
    pack_digest: str
    engine: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The bytes that are sent, and their digest."""

    content: bytes
    digest: str


def answer_of(
    verdict: Verdict,
    part: Part,
    source: Source | None,
    basis: Basis,
    *,
    id: str,  # noqa: A002 - the contract's name
    judged_at: datetime.datetime,
    work: AtTheLathe | None = None,
) -> Answer:
    """The answer to a request about `part`; `source` is the governing record's document, if there is one."""
    document = document_of(verdict, part, source, basis, work)
    digest = digest_of(canonical(document))
    whole = {"id": id, **document, "judged_at": moment(judged_at), "digest": digest}
    return Answer(orjson.dumps(whole), digest)


def moment(at: datetime.datetime) -> str:
    """A moment as RFC 3339 in UTC, to the microsecond."""
    return at.astimezone(datetime.UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def document_of(
    verdict: Verdict, part: Part, source: Source | None, basis: Basis, work: AtTheLathe | None = None
) -> Json:
    """The answer without what differs from one time to the next; `work` is what follows at the lathe, if anything."""
    work = work or AtTheLathe(part.lathe)
    length = Lengths(part.unit)
    rotor = part.kind.is_rotor
    return {
        "verdict": verdict.ruling,
        "summary": verdict.summary,
        "unit": part.unit,
        "kind": part.kind,
        "governing": _deciding(verdict, length),
        "figures": _figures(verdict.figures, length, rotor=rotor),
        "instrument": gauge_document(verdict.gauge, length),
        "margins": _margins(verdict.margins, length),
        "room": _room(verdict.room, length, rotor=rotor),
        "limits": limits_document(verdict.limits, length, source, rotor=rotor),
        "lathe": lathe_named(work),
        "cut": _cut(verdict.cut, work.cut, length),
        "life": life_document(verdict.life, length, rotor=rotor),
        "metal_taken": metal_document(verdict.metal, length, rotor=rotor),
        "heat": heat_document(work.heating),
        "checks": [check_document(check, length) for check in verdict.checks],
        "missing": list(verdict.missing),
        "cautions": [{"code": c.code, "level": c.level, "text": c.text} for c in verdict.cautions],
        "next_steps": list(verdict.next_steps),
        **basis_document(basis),
    }


def basis_document(basis: Basis) -> Json:
    """What a verdict was judged under."""
    return {
        "release": basis.release,
        "policy": {"name": basis.policy_name, "revision": basis.policy_revision},
        "pack": {"version": basis.pack_version, "digest": basis.pack_digest},
        "engine": basis.engine,
    }


def _deciding(verdict: Verdict, length: Lengths) -> Json | None:
    """The check that decides, shown as it stands among the checks."""
    governing = verdict.governing
    if governing is None:
        return None
    held = next(check for check in verdict.checks if check.check is governing.check and check.limit == governing.limit)
    return {
        "check": governing.check,
        "limit": _limit_of(held, length),
        "unit": _unit_of(held, length),
        "origin": governing.origin,
    }


def _limit_of(check: Check, length: Lengths) -> orjson.Fragment | None:
    """A check's limit; in inches it is never shown laxer than it is."""
    return length(check.limit, _safe(check.sense)) if check.measure == "length" else number(check.limit)


def _unit_of(check: Check, length: Lengths) -> str | None:
    return length.unit if check.measure == "length" else check.measure


def _figures(figures: Figures, length: Lengths, *, rotor: bool) -> Json:
    size, variation = ("thickness", "thickness_variation") if rotor else ("diameter", "out_of_round")
    document: Json = {
        f"least_{size}": length(figures.least),
        f"greatest_{size}": length(figures.greatest),
        f"mean_{size}": length(figures.mean),
        variation: length(figures.variation),
        "taper": length(figures.taper),
    }
    if rotor:
        document["lateral_runout"] = length(figures.lateral_runout)
        document["lateral_runout_harmonic"] = _harmonic(figures.harmonic, length)
    return document | {
        "runout_to_be_trued": length(figures.runout_to_true),
        f"clean_up_{size}": length(figures.clean_up),
        f"{size}_after_cut": length(figures.after_cut),
        "wear_per_1000_km": length(figures.wear_per_1000_km),
        "remaining_distance": None
        if figures.remaining_km is None
        else {"value": number(figures.remaining_km), "unit": "km"},
    }


def _harmonic(harmonic: Harmonic | None, length: Lengths) -> Json | None:
    if harmonic is None:
        return None
    return {
        "amplitude": length(harmonic.amplitude),
        "angle": number(harmonic.angle),
        "residual": length(harmonic.residual),
    }


def _margins(margins: Margins, length: Lengths) -> Json:
    return {
        "to_machining_limit": length(margins.to_machining_limit, ROUND_FLOOR),
        "to_discard_limit": length(margins.to_discard_limit, ROUND_FLOOR),
        "guard_band": length(margins.guard_band, ROUND_CEILING),
    }


def _room(room: Room, length: Lengths, *, rotor: bool) -> Json:
    """Room rounded to its safe side, so that judging again at these figures agrees."""
    safe = ROUND_CEILING if rotor else ROUND_FLOOR
    return {
        "most_total_cut": length.to_seven(room.most_total_cut, ROUND_FLOOR),
        "most_cut_per_face": length.to_seven(room.most_cut_per_face, ROUND_FLOOR),
        "least_thickness_needed" if rotor else "greatest_diameter_allowed": length.to_seven(room.reading_needed, safe),
        "settled_by": [
            {
                "check": settling.check,
                "missing": settling.missing,
                "reading_needed": length.to_seven(settling.reading_needed, safe),
                "expanded_uncertainty_at_most": length.to_seven(settling.expanded_uncertainty_at_most, ROUND_FLOOR),
            }
            for settling in room.settled_by
        ],
    }


def limits_document(limits: Limits, length: Lengths, source: Source | None, *, rotor: bool) -> Json:
    """The limits that govern, by what they bind."""
    forms: dict[str, Governing | None] = (
        {"lateral_runout": limits.lateral_runout, "thickness_variation": limits.thickness_variation}
        if rotor
        else {"out_of_round": limits.out_of_round}
    )
    bound = {"discard": limits.discard, "machining": limits.machining, **forms, "taper": limits.taper}
    return {
        **{name: _governing(governing, length) for name, governing in bound.items()},
        "groove_depth": _governing(limits.groove_depth, length),
        "permission": limits.permission,
        "limits_id": limits.limits_id,
        "revision": limits.revision,
        "source": source_document(source),
    }


def source_document(source: Source | None) -> Json | None:
    """A limit's document as answers show it."""
    if source is None:
        return None
    return {
        "document": source.document,
        "publisher": source.publisher,
        "section": source.section,
        "edition": source.edition,
        "issued": source.issued,
    }


def _governing(governing: Governing | None, length: Lengths) -> Json | None:
    if governing is None:
        return None
    return {
        "value": length(governing.value, _safe(governing.sense)),
        "sense": governing.sense,
        "origin": governing.origin,
        "source": governing.source,
        "others": [
            {"value": length(other.value, _safe(governing.sense)), "origin": other.origin, "source": other.source}
            for other in governing.others
        ],
    }


def _safe(sense: Sense | None) -> str:
    """A limit shown in inches is never shown laxer than it is."""
    return ROUND_CEILING if sense is Sense.AT_LEAST else ROUND_FLOOR


def _cut(cut: JudgedCut | None, planned: PlannedCut | None, length: Lengths) -> Json | None:
    if cut is None:
        return None
    least = cut.least_cleaning
    return {
        **depths_document(cut.depths, length),
        "zero": cut.zero,
        "asked": cut.asked,
        "allowed": cut.allowed,
        "cleans_up": cut.cleans_up,
        "least_cleaning": None
        if least is None
        else {**depths_document(least, length), "allowed": cut.least_cleaning_allowed},
        "passes": passes_document(planned, length),
        "plan": plan_document(planned, length),
    }


def depths_document(depths: Mapping[Face, Decimal], length: Lengths) -> Json:
    """The depths of a cut, face by face; in inches never shown shallower than they are."""
    return {face.value: length(depth, ROUND_CEILING) for face, depth in depths.items()}


def check_document(check: Check, length: Lengths) -> Json:
    """One check: what was held against which limit, and what came of it."""
    counted: Callable[[Decimal | None], object] = length if check.measure == "length" else number
    return {
        "check": check.check,
        "outcome": check.outcome,
        "quantity": check.quantity,
        "value": counted(check.value),
        "limit": _limit_of(check, length),
        "sense": check.sense,
        "unit": _unit_of(check, length),
        "guard_band": length(check.guard_band, ROUND_CEILING),
        "probability": number(check.probability),
        "origin": check.origin,
        "source": check.source,
        "reason": check.reason,
    }

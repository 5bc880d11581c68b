"""The judgement of an axle as the JSON document that is sent: what is done with each side, why, and its own verdict.

The digest is taken over the document without the axle's id, the moment and the digest itself, and without the id and
the whole text of each side's verdict: that is covered by the digest of its own, which stays.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

import orjson

from turnrule.actions.answers import Answer, Json, basis_document, check_document, depths_document, moment
from turnrule.actions.numbers import Lengths, canonical, digest_of
from turnrule.actions.reaching_axles import AxleReached, NewPart
from turnrule.judging.axle import SideRuling
from turnrule.judging.axle_sentences import axle_sentences, axle_summary, side_sentence
from turnrule.judging.catalogue import Catalogue
from turnrule.judging.verdict import Caution
from turnrule.judging.words import Level, Ruling, Side, Unit

_LOUDEST_FIRST = tuple(reversed(Level))
_PARTNER = "axle_partner"


@dataclass(frozen=True, slots=True)
class SideAnswer:
    """The answer that tells a side's own verdict, and the id that it is kept under."""

    verdict_id: str
    answer: Answer


def axle_answer_of(
    catalogue: Catalogue,
    reached: AxleReached,
    answers: Mapping[Side, SideAnswer],
    *,
    id: str,  # noqa: A002 - the contract's name
    judged_at: datetime.datetime,
) -> Answer:
    """The answer to a request about an axle, with the answers of its sides in it."""
    digests = {side: one.answer.digest for side, one in answers.items()}
    document = axle_document(catalogue, reached, digests)
    digest = digest_of(canonical(document))
    told = {side.value: _whole(document, side, answers.get(side)) for side in Side}
    whole = {"id": id, **document, "sides": told, "judged_at": moment(judged_at), "digest": digest}
    return Answer(orjson.dumps(whole), digest)


def _whole(document: Json, side: Side, given: SideAnswer | None) -> Json | None:
    """A side with the whole of its own verdict, to the byte as it is kept."""
    sides = document["sides"]
    shown = sides[side.value] if isinstance(sides, dict) else None
    if given is None or not isinstance(shown, dict):
        return None
    return {"verdict_id": given.verdict_id, **shown, "judgement": orjson.Fragment(given.answer.content)}


def axle_document(catalogue: Catalogue, reached: AxleReached, digests: Mapping[Side, str]) -> Json:
    """The answer without what differs from one time to the next, and without the whole of the sides' verdicts."""
    axle, part = reached.axle, next(iter(reached.sides.values())).read.request.part
    length = Lengths(part.unit)
    rulings = {Side.LEFT: axle.left, Side.RIGHT: axle.right}
    return {
        "verdict": axle.ruling,
        "summary": axle_summary(axle),
        "sentences": list(axle_sentences(axle)),
        "unit": part.unit,
        "kind": part.kind,
        "pair_rule": axle.pair_rule,
        "sides": {
            side.value: None if one is None else _side(reached, one, digests[side], part.unit)
            for side, one in rulings.items()
        },
        "missing": list(axle.missing),
        "checks": [check_document(check, length) for check in axle.checks],
        "cautions": _cautions(catalogue, reached),
        **basis_document(reached.basis),
    }


def _side(reached: AxleReached, one: SideRuling, digest: str, unit: Unit) -> Json:
    """What is done with a side in the end, why, and what its own verdict says."""
    given, length = reached.sides[one.side], Lengths(unit)
    size = "thickness" if given.read.request.part.kind.is_rotor else "diameter"
    new_part = given.new_part if one.ruling is Ruling.REPLACE else None
    return {
        "verdict_digest": digest,
        "verdict": one.ruling,
        "own_verdict": one.own,
        "sentence": side_sentence(one),
        "reasons": list(one.reasons),
        "passed_by_itself": one.passed_itself,
        "because_of_partner": one.because_of_partner,
        "cut": None if one.cut is None else depths_document(one.cut, length),
        f"final_{size}": length(one.size),
        "new_part": _new_part(new_part, size, length),
    }


def _new_part(new_part: NewPart | None, size: str, length: Lengths) -> Json | None:
    return None if new_part is None else {size: length(new_part.size), "origin": new_part.origin}


def _cautions(catalogue: Catalogue, reached: AxleReached) -> list[Json]:
    """The cautions of both sides, each once, and that of every axle; the loudest first, whichever side raises them."""
    entry = catalogue.cautions[_PARTNER]
    places: dict[Caution, int] = {Caution(_PARTNER, entry.level, entry.text): 0}
    about: dict[Caution, list[Side]] = {caution: list(Side) for caution in places}
    for side in (side for side in Side if side in reached.sides):
        for place, caution in enumerate(reached.sides[side].reached.verdict.cautions):
            places[caution] = min(place, places.get(caution, place))
            about.setdefault(caution, []).append(side)
    ordered = sorted(places, key=lambda one: (_LOUDEST_FIRST.index(one.level), places[one], one.code, one.text))
    return [{"code": one.code, "level": one.level, "text": one.text, "sides": about[one]} for one in ordered]

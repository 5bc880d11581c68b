"""What the contract says of axle verdicts: the schemas of their answers and records, and their operations."""

from __future__ import annotations

from turnrule.actions.reaching_axles import NewSizeFrom
from turnrule.api import queries
from turnrule.api.contract_operation import VERDICTS, Operation, Success, for_ever, link, listing
from turnrule.api.contract_parts import (
    DIGEST,
    VERDICT_ID,
    Schema,
    both,
    either_kind,
    moment,
    number,
    or_null,
    page,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.planning_words import PairReason
from turnrule.judging.words import Kind, Level, PairRule, Ruling, Side, Unit


def axle_schemas() -> dict[str, Schema]:
    """Every schema of axle verdicts, by its name among the components."""
    return {
        "AxleVerdict": either_kind(
            "RotorAxleVerdict", "DrumAxleVerdict", "The verdict on the two parts of an axle, as it was recorded."
        ),
        "RotorAxleVerdict": _axle_verdict(rotor=True),
        "DrumAxleVerdict": _axle_verdict(rotor=False),
        "RotorAxleSide": _side(rotor=True),
        "DrumAxleSide": _side(rotor=False),
        "AxleCaution": _caution(),
        **_recorded(),
        "AxleVerdictLine": _line(),
        "AxleVerdictPage": page(ref("AxleVerdictLine"), "Recorded axle verdicts, oldest first."),
    }


def _axle_verdict(*, rotor: bool) -> Schema:
    kind = "Rotor" if rotor else "Drum"
    side = ref(f"{kind}AxleSide")
    sides = thing(
        "What is done with each side.",
        {one.value: or_null(side | {"description": f"The {one.value} side; null where not measured."}) for one in Side},
    )
    return thing(
        f"The verdict on the {'rotors' if rotor else 'drums or parking drums'} of an axle.",
        {
            "id": text("The axle verdict's own id; ids sort by time.", pattern=VERDICT_ID),
            "verdict": words(
                Ruling, "The worse of the two sides; never better than inconclusive where one is missing."
            ),
            "summary": text("One sentence that can be read to a customer: what is done with each side."),
            "sentences": several(
                text("A sentence."), "Each side, what was not measured, what the policy asks of a pair."
            ),
            "unit": words(Unit, "The unit of every length in this answer: the request's."),
            "kind": words([word for word in Kind if word.is_rotor is rotor], "The kind of part."),
            "pair_rule": words(PairRule, "What the policy asks of the two parts of an axle."),
            "sides": sides,
            "missing": several(words(Side, "A side."), "The sides that were not measured."),
            "checks": several(
                ref("Check"),
                "The difference of the sides, at each step at which it was another one; the last is how they end.",
            ),
            "cautions": several(ref("AxleCaution"), "Those of both sides and of every axle, the loudest first."),
            "release": or_null(whole("The release of the limits; null while there is none.", minimum=1)),
            "policy": ref("PolicyRevisionName", "The policy that both sides were judged under."),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "judged_at": moment("When both sides were judged; the day of dates that fall due is taken from it."),
            "digest": text(
                "SHA-256 of this answer without id, judged_at and digest, and without verdict_id and judgement of each "
                "side: JSON with sorted names, no spaces, UTF-8. A judgement has a digest of its own: verdict_digest.",
                pattern=DIGEST,
            ),
        },
    )


def _side(*, rotor: bool) -> Schema:
    kind, size = ("Rotor", "thickness") if rotor else ("Drum", "diameter")
    faces = ("inboard", "outboard") if rotor else ("depth",)
    depths = {face: number("Depth off this face." if rotor else "Depth on the radius.", minimum=0) for face in faces}
    cut = thing("What is taken off it in the end.", depths)
    new_part = thing(
        "The new part that was counted with.",
        {
            size: number(f"Its {size}."),
            "origin": words(
                NewSizeFrom,
                "`new_part` of the request, the nominal size of the `reference`, or of the `caller`'s limits.",
            ),
        },
    )
    return thing(
        "One side of an axle: what is done with it in the end, why, and its own verdict.",
        {
            "verdict_id": text("The id that its own verdict is kept under.", pattern=VERDICT_ID),
            "verdict_digest": text("The digest of its own verdict.", pattern=DIGEST),
            "verdict": words(Ruling, "What is done with it in the end."),
            "own_verdict": words(Ruling, "The verdict on this part by itself."),
            "sentence": text("A sentence on this side; it says so where its partner is the reason."),
            "reasons": several(
                words(PairReason, "A reason."), "Why the pair makes something else of it, or of its cut."
            ),
            "passed_by_itself": truth("Whether it may stay in service by itself, as it is or machined."),
            "because_of_partner": truth("Whether it would have come out better by itself."),
            "cut": {
                "description": "What is taken off it in the end; null for nothing.",
                "oneOf": [cut, {"type": "null"}],
            },
            f"final_{size}": or_null(number(f"The {size} that it ends at, or that of the new part; null: not known.")),
            "new_part": {
                "description": "Where it is replaced and the size of a new one is known: that size, and what says so.",
                "oneOf": [new_part, {"type": "null"}],
            },
            "judgement": ref(f"{kind}Verdict", "The whole verdict on this part by itself, as it is kept."),
        },
    )


def _caution() -> Schema:
    return thing(
        "A caution of the catalogue, filled in.",
        {
            "code": text("Its code in the catalogue of cautions."),
            "level": words(Level, "How loudly it speaks."),
            "text": text("What it says."),
            "sides": several(words(Side, "A side."), "The sides that it is about."),
        },
    )


def _recorded() -> dict[str, Schema]:
    recorded = thing(
        "How the axle verdict was recorded.",
        {
            "sequence": whole("Its place in the order of recording.", minimum=1),
            "key": text("The name of the key that the request came under."),
            "site": or_null(text("The site that the key is bound to.")),
        },
    )
    behind = thing("What stands behind the answer.", {"request": ref("AxleVerdictRequest"), "recorded": recorded})
    said = "The answer as it was sent, with the request as it was read and how it was recorded."
    return {
        "RecordedAxleVerdict": either_kind("RecordedRotorAxleVerdict", "RecordedDrumAxleVerdict", said),
        "RecordedRotorAxleVerdict": both("RotorAxleVerdict", behind, said),
        "RecordedDrumAxleVerdict": both("DrumAxleVerdict", behind, said),
    }


def _line() -> Schema:
    own = "The id of the {side} side's own verdict; null where it was not measured."
    return thing(
        "A recorded axle verdict in short.",
        {
            "id": text("The axle verdict's id.", pattern=VERDICT_ID),
            "sequence": whole("Its place in the order of recording.", minimum=1),
            "judged_at": moment("When it was judged."),
            "verdict": words(Ruling, "The verdict."),
            "kind": words(Kind, "The kind of part."),
            **{f"{side}_verdict_id": or_null(text(own.format(side=side), pattern=VERDICT_ID)) for side in Side},
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "reference": or_null(text("The caller's own job number.")),
            "site": or_null(text("The site whose key sent the request.")),
            "key": text("The name of the key that it came under."),
            "digest": text("The answer's digest.", pattern=DIGEST),
        },
    )


_LINKS = {
    "record": link("readAxleVerdict", "The axle verdict with its request.", axle_id="$response.body#/id"),
    "policy": link("readPolicy", "The policy that it was judged under.", name="$response.body#/policy/name"),
    "left": link("readVerdict", "The left side's own verdict.", verdict_id="$response.body#/sides/left/verdict_id"),
    "right": link("readVerdict", "The right side's own verdict.", verdict_id="$response.body#/sides/right/verdict_id"),
}

AXLE_OPERATIONS = (
    Operation(
        "judgeAxle",
        "post",
        "/v1/axle-verdicts",
        VERDICTS,
        "Judge the two parts of an axle",
        "Judges each side as `POST /v1/verdicts` would judge it by itself, then the pair: how far the sides end apart, "
        "and what the policy's pair rule asks. What both sides share stands beside `left` and `right`, once; what is "
        "given within a side takes the place of it, whole. A side that is left out leaves the axle inconclusive. All "
        "three verdicts are recorded together before they are answered.",
        (
            Success(
                201,
                "The verdict on the axle, recorded with those on its sides. With an Idempotency-Key that came before: "
                "the first answer again, to the byte.",
                "AxleVerdict",
                ("Location", "Idempotency-Replayed"),
                links=_LINKS,
            ),
        ),
        scopes=("verdicts",),
        body="AxleVerdictRequest",
        parameters=("Idempotency-Key",),
        problems=("BadBodyOrHeader", "BodyTooLarge", "UnsupportedMediaType", "RequestRefused"),
    ),
    Operation(
        "listAxleVerdicts",
        "get",
        "/v1/axle-verdicts",
        VERDICTS,
        "List recorded axle verdicts",
        "Recorded axle verdicts in short, in the order of recording. A key that is bound to a site sees that site's "
        "only.",
        (
            listing(
                "AxleVerdictPage",
                "A page of recorded axle verdicts.",
                "listAxleVerdicts",
                {"first": link("readAxleVerdict", "The first of them.", axle_id="$response.body#/items/0/id")},
            ),
        ),
        scopes=("verdicts", "reports"),
        query=queries.AXLES,
        problems=("BadParameters",),
    ),
    Operation(
        "readAxleVerdict",
        "get",
        "/v1/axle-verdicts/{axle_id}",
        VERDICTS,
        "Read one axle verdict",
        "The answer as it was sent, byte for byte, followed by the request that it answered and how it was recorded.",
        (for_ever("RecordedAxleVerdict", "The axle verdict with its request.", links=_LINKS),),
        scopes=("verdicts", "reports"),
        parameters=("axle_id",),
        problems=("BadParameters", "NotFound"),
    ),
)

"""The schemas of what a verdict rests on: the limits that govern, the cut, the checks, the cautions."""

from __future__ import annotations

from turnrule.api.contract_parts import (
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    Schema,
    day,
    number,
    or_null,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.words import CheckName, Level, Machining, Origin, Outcome, Sense, Zero


def check_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "GoverningLimit": _governing_limit(),
        "RotorGoverningLimits": _governing_limits(rotor=True),
        "DrumGoverningLimits": _governing_limits(rotor=False),
        "RotorJudgedCut": _judged_cut("Rotor", {"inboard": "the inboard face", "outboard": "the outboard face"}),
        "DrumJudgedCut": _judged_cut("Drum", {"depth": "the radius; it counts twice on the diameter"}),
        "Check": _check(),
        "GivenCaution": _given_caution(),
        "Source": _source(),
    }


def _governing_limit() -> Schema:
    origin = words(Origin, "Where the limit comes from.")
    cited = or_null(text("The document, policy or law, in one line."))
    other = thing(
        "A limit that does not govern.",
        {"value": number("The limit."), "origin": origin, "source": cited},
    )
    return thing(
        "The strictest of the limits that were at hand, with the others.",
        {
            "value": number("The limit; shown in inches it is never laxer than it is."),
            "sense": words(Sense, "Which side of the limit is safe."),
            "origin": origin,
            "source": cited,
            "others": several(other, "The limits that do not govern."),
        },
    )


def _governing_limits(*, rotor: bool) -> Schema:
    forms = ("lateral_runout", "thickness_variation") if rotor else ("out_of_round",)
    names = ("discard", "machining", *forms, "taper")
    return thing(
        "The limits that govern, by what they bind; null where none is known.",
        {
            **{name: or_null(ref("GoverningLimit")) for name in names},
            "groove_depth": ref("GoverningLimit"),
            "permission": words(Machining, "What the record says of machining the part at all."),
            "limits_id": or_null(text("The limits record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID)),
            "revision": or_null(whole("Its revision.", minimum=1)),
            "source": or_null(ref("Source")),
        },
    )


def _source() -> Schema:
    """The document that limits were read from."""
    return thing(
        "The document that limits were read from.",
        {
            "document": text("Its title."),
            "publisher": text("Who publishes it."),
            "section": text("Section, page or table where the values stand."),
            "edition": text("The edition, as the document names it."),
            "issued": or_null(day("The day on which this edition was issued.")),
        },
    )


def _judged_cut(kind: str, faces: dict[str, str]) -> Schema:
    depths = {face: number(f"Depth off {place}.", minimum=0) for face, place in faces.items()}
    allowed = or_null(truth("Whether every check after it passes; null where a limit for that is missing."))
    least = thing("The least cut that cleans up.", {**depths, "allowed": allowed})
    return thing(
        "A cut, asked for or planned.",
        {
            **depths,
            "zero": words(Zero, "Where the tool stands when the depth is counted as zero."),
            "asked": truth("True where the request asked for it, false where it was planned here."),
            "allowed": allowed,
            "cleans_up": truth("Whether it leaves no uncut place."),
            "passes": several(
                ref(f"{kind}Pass"), "The passes in their order, for the lathe that the request names; else none."
            ),
            "plan": or_null(
                ref(f"{kind}PassPlan", "The passes as a whole, or why there are none; null where no profile is named.")
            ),
            "least_cleaning": _or_null_thing(
                least, "Where the cut asked for leaves uncut places: the least that does not."
            ),
        },
    )


def _or_null_thing(schema: Schema, description: str) -> Schema:
    """An object written out in its place, or null."""
    return {"description": description, "oneOf": [schema, {"type": "null"}]}


def _check() -> Schema:
    return thing(
        "One check: what was held against which limit, and what came of it.",
        {
            "check": words(CheckName, "The check; one may stand twice, for two cuts."),
            "outcome": words(Outcome, "What came of it; unproven is nearer to the limit than the gauge can tell."),
            "quantity": or_null(text("The figure that was held against the limit.")),
            "value": or_null(number("Its value.")),
            "limit": or_null(number("The limit.")),
            "sense": or_null(words(Sense, "Which side of the limit is safe.")),
            "unit": or_null(text("What value and limit are counted in: mm, in, km, points; null for none of these.")),
            "guard_band": or_null(number("What was kept between value and limit.", minimum=0)),
            "probability": or_null(
                number("Probability that the true value conforms (JCGM 106). It decides nothing.", minimum=0, maximum=1)
            ),
            "origin": or_null(words(Origin, "Where the limit comes from.")),
            "source": or_null(text("The limit's document, policy or law.")),
            "reason": or_null(text("Why it came out so, where the figures do not say it.")),
        },
    )


def _given_caution() -> Schema:
    return thing(
        "A caution of the catalogue, filled in.",
        {
            "code": text("Its code in the catalogue of cautions."),
            "level": words(Level, "How loudly it speaks."),
            "text": text("What it says."),
        },
    )

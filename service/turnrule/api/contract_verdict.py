"""The schemas of a verdict as it is answered: figures, limits, checks, margins, room, cautions."""

from __future__ import annotations

from turnrule.api.contract_parts import (
    DIGEST,
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    VERDICT_ID,
    Schema,
    day,
    either_kind,
    moment,
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
from turnrule.judging.words import (
    CheckName,
    Kind,
    Level,
    Machining,
    Origin,
    Outcome,
    Ruling,
    Sense,
    Unit,
    Zero,
)


def verdict_schemas() -> dict[str, Schema]:
    """Every schema of a verdict's answer, by its name among the components."""
    return {
        "Verdict": either_kind("RotorVerdict", "DrumVerdict", "The verdict on one part, as it was recorded."),
        "RotorVerdict": _verdict(rotor=True),
        "DrumVerdict": _verdict(rotor=False),
        "RotorFigures": _rotor_figures(),
        "DrumFigures": _drum_figures(),
        "Harmonic": _harmonic(),
        "DeciderOfVerdict": _decider(),
        "Margins": _margins(),
        "RotorRoom": _room("least_thickness_needed", "The least thickness that today's reading would have to be."),
        "DrumRoom": _room("greatest_diameter_allowed", "The greatest diameter that today's reading might be."),
        "Settling": _settling(),
        "GoverningLimit": _governing_limit(),
        "RotorGoverningLimits": _governing_limits(rotor=True),
        "DrumGoverningLimits": _governing_limits(rotor=False),
        "RotorJudgedCut": _judged_cut({"inboard": "the inboard face", "outboard": "the outboard face"}),
        "DrumJudgedCut": _judged_cut({"depth": "the radius; it counts twice on the diameter"}),
        "Check": _check(),
        "GivenCaution": _given_caution(),
        "Source": source_schema(),
        "PolicyRevisionName": thing(
            "A policy and its revision.",
            {"name": text("The policy's name."), "revision": whole("The revision, from 1.", minimum=1)},
        ),
        "PackName": thing(
            "The reference pack that catalogues and practice figures came from.",
            {"version": text("The pack's version."), "digest": text("SHA-256 of its content.", pattern=DIGEST)},
        ),
        "RemainingDistance": thing(
            "A distance that is left.", {"value": whole("Kilometres, rounded down."), "unit": text("km", const="km")}
        ),
    }


def _verdict(*, rotor: bool) -> Schema:
    kind = "Rotor" if rotor else "Drum"
    kinds = [word for word in Kind if word.is_rotor is rotor]
    return thing(
        f"The verdict on a {'rotor' if rotor else 'drum or parking drum'}. A figure that could not be had is null.",
        {
            "id": text("The verdict's own id; ids sort by time.", pattern=VERDICT_ID),
            "verdict": words(Ruling, "From best to worst: serviceable, machine, inconclusive, replace."),
            "summary": text("One sentence that can be read to a customer."),
            "unit": words(Unit, "The unit of every length in this answer: the request's."),
            "kind": words(kinds, "The kind of part."),
            "governing": or_null(ref("DeciderOfVerdict", "The check that decides; null where none does.")),
            "figures": ref(f"{kind}Figures"),
            "margins": ref("Margins"),
            "room": ref(f"{kind}Room"),
            "limits": ref(f"{kind}GoverningLimits"),
            "cut": or_null(ref(f"{kind}JudgedCut", "The cut that was judged; null where none was.")),
            "checks": several(ref("Check"), "Every check, in the order in which they are made."),
            "missing": several(
                text("A reading, or a limit that is not known."), "What a decided verdict would have needed."
            ),
            "cautions": several(ref("GivenCaution"), "What to mind, the loudest first; one always defers to the maker."),
            "next_steps": several(text("A sentence."), "What to do next, in order."),
            "release": or_null(whole("The release of the limits; null while there is none.", minimum=1)),
            "policy": ref("PolicyRevisionName", "The policy that it was judged under."),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "judged_at": moment("When it was judged; the day of dates that fall due is taken from it."),
            "digest": text(
                "SHA-256 of this answer without id, judged_at and digest: JSON with sorted names, no spaces, UTF-8.",
                pattern=DIGEST,
            ),
        },
    )


def _decider() -> Schema:
    return thing(
        "The check that decides the verdict.",
        {
            "check": words(CheckName, "The check."),
            "limit": or_null(number("Its limit, as the check has it; null where there is none.")),
            "unit": or_null(text("What limit is counted in: mm, in, km, points; null where it is none of these.")),
            "origin": or_null(words(Origin, "Where the limit comes from.")),
        },
    )


def _length(description: str) -> Schema:
    return or_null(number(description))


def _sizes(size: str) -> dict[str, Schema]:
    return {
        f"least_{size}": _length(f"Least {size} over all readings, at 20 C where the part's temperature was given."),
        f"greatest_{size}": _length(f"Greatest {size} over all readings."),
        f"mean_{size}": _length(f"Mean {size}, to the seventh decimal of a mm."),
    }


def _after_the_cut(size: str) -> dict[str, Schema]:
    return {
        "runout_to_be_trued": _length("Runout that the cut has to take out."),
        f"clean_up_{size}": _length(f"The {size} that is left once the part just runs true, before any cut."),
        f"{size}_after_cut": _length(f"The {size} after the cut that was judged."),
        "wear_per_1000_km": _length("Wear over 1,000 km, from the history."),
        "remaining_distance": or_null(ref("RemainingDistance", "Distance left to the discard limit at that wear.")),
    }


def _rotor_figures() -> Schema:
    return thing(
        "What the readings of a rotor come to.",
        {
            **_sizes("thickness"),
            "thickness_variation": _length("Greatest less least thickness of one track; the larger of two tracks."),
            "taper": _length("Difference of the means of the outer and the inner track."),
            "lateral_runout": _length("Lateral runout, total indicator reading."),
            "lateral_runout_harmonic": or_null(ref("Harmonic")),
            **_after_the_cut("thickness"),
        },
    )


def _drum_figures() -> Schema:
    return thing(
        "What the readings of a drum come to.",
        {
            **_sizes("diameter"),
            "out_of_round": _length("Greatest less least diameter of one track; the larger of two tracks."),
            "taper": _length("Difference of the means of the two tracks."),
            **_after_the_cut("diameter"),
        },
    )


def _harmonic() -> Schema:
    return thing(
        "The part of an indicator trace that goes once around: a fault of mount or hub shows in it.",
        {
            "amplitude": number("Half of its total indicator reading."),
            "angle": number("Degrees from the first reading to its peak.", minimum=0, exclusiveMaximum=360),
            "residual": number("The range of the trace without it: warp and hard spots."),
        },
    )


def _margins() -> Schema:
    return thing(
        "How far the deciding size stays inside its limits; negative where it is past one.",
        {
            "to_machining_limit": _length("To the machining limit, rounded down."),
            "to_discard_limit": _length("To the discard limit, rounded down."),
            "guard_band": number("The gauge's expanded uncertainty U (k = 2), kept from strength limits.", minimum=0),
        },
    )


def _room(needed: str, description: str) -> Schema:
    return thing(
        "The question solved backwards; rounded so that judging again at these figures agrees.",
        {
            "most_total_cut": _length("The most that may still come off in total; null where nothing may."),
            "most_cut_per_face": _length("The same for each face at an equal cut; of a drum, the depth on the radius."),
            needed: _length(description),
            "settled_by": several(ref("Settling"), "For each undecided check: what would settle it."),
        },
    )


def _settling() -> Schema:
    return thing(
        "What would settle an undecided check.",
        {
            "check": words(CheckName, "The check."),
            "missing": or_null(text("The figure that is missing.")),
            "reading_needed": _length("The size that would pass with today's gauge."),
            "expanded_uncertainty_at_most": _length("How fine a gauge would pass today's size."),
        },
    )


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


def source_schema() -> Schema:
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


def _judged_cut(faces: dict[str, str]) -> Schema:
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
            "least_cleaning": or_null_thing(least, "Where the cut asked for leaves uncut places: the least that does not."),
        },
    )


def or_null_thing(schema: Schema, description: str) -> Schema:
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
                number(
                    "Probability that the true value conforms (JCGM 106). It decides nothing.", minimum=0, maximum=1
                )
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

"""The schemas of what was recorded and released: verdicts as records, limits, releases."""

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
    page,
    ref,
    text,
    thing,
    whole,
    words,
)
from turnrule.api.limits_schemas import DRUM_NAMES, ROTOR_NAMES, FigureNames
from turnrule.judging.words import (
    Axle,
    Construction,
    Kind,
    Machining,
    Ruling,
    Side,
    Unit,
)


def record_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {**_verdict_records(), **_limits(), **_releases()}


def _verdict_records() -> dict[str, Schema]:
    recorded = thing(
        "How the verdict was recorded.",
        {
            "sequence": whole("Its place in the order of recording.", minimum=1),
            "key": text("The name of the key that the request came under."),
            "site": or_null(text("The site that the key is bound to.")),
        },
    )
    return {
        "RecordedVerdict": {
            "description": "The answer as it was sent, with the request as it was read and how it was recorded.",
            "allOf": [
                ref("Verdict"),
                thing("What stands behind the answer.", {"request": ref("VerdictRequest"), "recorded": recorded}),
            ],
        },
        "VerdictLine": _verdict_line(),
        "VerdictPage": page(ref("VerdictLine"), "Recorded verdicts, oldest first."),
    }


def _verdict_line() -> Schema:
    return thing(
        "A recorded verdict in short.",
        {
            "id": text("The verdict's id.", pattern=VERDICT_ID),
            "sequence": whole("Its place in the order of recording.", minimum=1),
            "judged_at": moment("When it was judged."),
            "verdict": words(Ruling, "The verdict."),
            "kind": words(Kind, "The kind of part."),
            "make": or_null(text("The vehicle's maker.")),
            "model": or_null(text("The vehicle's model.")),
            "year": or_null(whole("The model year.")),
            "axle": or_null(words(Axle, "The axle.")),
            "side": or_null(words(Side, "The side of the axle.")),
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "reference": or_null(text("The caller's own job number.")),
            "site": or_null(text("The site whose key sent the request.")),
            "key": text("The name of the key that it came under."),
            "release": or_null(whole("The release that it was judged under.", minimum=1)),
            "policy": ref("PolicyRevisionName"),
            "limits_id": or_null(text("The limits record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID)),
            "digest": text("The answer's digest.", pattern=DIGEST),
        },
    )


def _limits() -> dict[str, Schema]:
    fits = thing(
        "The vehicles that a record is for.",
        {
            "make": text("The maker."),
            "model": text("The model."),
            "year_from": whole("First model year, included."),
            "year_to": or_null(whole("Last model year, included; null while it is still built.")),
            "axle": words(Axle, "The axle."),
            "brake_option": or_null(text("The brake option, where there is more than one.")),
        },
    )
    return {
        "LimitsFit": fits,
        "RotorLimitsRecord": _limits_record(ROTOR_NAMES, "rotor", [Kind.ROTOR]),
        "DrumLimitsRecord": _limits_record(DRUM_NAMES, "drum or parking drum", [Kind.DRUM, Kind.PARKING_DRUM]),
        "LimitsRecord": either_kind("RotorLimitsRecord", "DrumLimitsRecord", "One revision of a limits record."),
        "LimitsPage": page(
            ref("LimitsRecord"),
            "Limits records that govern, by their id.",
            {
                "release": or_null(whole("The release that was looked in; null while there is none.", minimum=1)),
                "on": day("The day that was looked at."),
            },
        ),
    }


def _limits_record(names: FigureNames, kind: str, kinds: list[Kind]) -> Schema:
    figures = [name for name in names if name is not None]
    printed = {name: number("As the document prints it, in the record's unit.") for name in figures}
    exact = {name: number("In mm, exactly.") for name in figures}
    return thing(
        f"One revision of the limits of a {kind}. A value that the document does not give is left out, never guessed.",
        {
            "limits_id": text("The record's id.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID),
            "revision": whole("The revision, from 1.", minimum=1),
            "unit": words(Unit, "The unit of the values as printed."),
            "kind": words(kinds, "The kind of part."),
            "application": ref("LimitsFit"),
            "millimetres": thing("The same values in exact millimetres, whatever the unit.", {}, exact),
            "machining": words(Machining, "What the document says of machining the part at all."),
            "construction": or_null(words(Construction, "How the part is built.")),
            "expansion_per_k": or_null(number("Linear expansion per kelvin, where it is not that of grey iron.")),
            "source": ref("Source"),
            "effective_from": day("The first day on which these limits hold."),
            "effective_to": or_null(day("The first day on which they hold no longer.")),
            "review_due": or_null(day("The day until which they are to be looked at again.")),
            "entered_by": text("Who entered them."),
            "verified_by": text("Who entered them again without seeing the first entry."),
            "note": or_null(text("What else a reader should know.")),
        },
        printed,
    )


def _releases() -> dict[str, Schema]:
    release = thing(
        "A numbered, immutable set of verified limits.",
        {
            "number": whole("The release, from 1.", minimum=1),
            "published_at": moment("When it was published."),
            "published_by": text("Who published it."),
            "notes": text("What it brings."),
            "digest": text("SHA-256 of its content.", pattern=DIGEST),
            "records": whole("How many records it holds.", minimum=0),
        },
    )
    return {"Release": release, "ReleasePage": page(ref("Release"), "Releases, oldest first.")}

"""The schemas of verdicts as they were recorded."""

from __future__ import annotations

from turnrule.api.contract_parts import (
    DIGEST,
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    VERDICT_ID,
    Schema,
    both,
    either_kind,
    moment,
    or_null,
    page,
    ref,
    text,
    thing,
    whole,
    words,
)
from turnrule.judging.words import (
    Axle,
    Kind,
    Ruling,
    Side,
)


def record_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return _verdict_records()


def _verdict_records() -> dict[str, Schema]:
    recorded = thing(
        "How the verdict was recorded.",
        {
            "sequence": whole("Its place in the order of recording.", minimum=1),
            "key": text("The name of the key that the request came under."),
            "site": or_null(text("The site that the key is bound to.")),
            "axle_id": _axle_id(),
        },
    )
    said = "The answer as it was sent, with the request as it was read and how it was recorded."
    behind = thing("What stands behind the answer.", {"request": ref("VerdictRequest"), "recorded": recorded})
    return {
        "RecordedVerdict": either_kind("RecordedRotorVerdict", "RecordedDrumVerdict", said),
        "RecordedRotorVerdict": both("RotorVerdict", behind, said),
        "RecordedDrumVerdict": both("DrumVerdict", behind, said),
        "VerdictLine": _verdict_line(),
        "VerdictPage": page(ref("VerdictLine"), "Recorded verdicts, oldest first."),
    }


def _axle_id() -> Schema:
    return or_null(text("The axle verdict that it is a side of; null where it is none.", pattern=VERDICT_ID))


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
            "axle_id": _axle_id(),
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "reference": or_null(text("The caller's own job number.")),
            "site": or_null(text("The site whose key sent the request.")),
            "key": text("The name of the key that it came under."),
            "release": or_null(whole("The release that it was judged under.", minimum=1)),
            "policy": ref("PolicyRevisionName"),
            "limits_id": or_null(text("The limits record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID)),
            "limits_revision": or_null(whole("Its revision.", minimum=1)),
            "digest": text("The answer's digest.", pattern=DIGEST),
        },
    )

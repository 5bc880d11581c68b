"""Replays in the contract: the operation, and the shape of its answer."""

from __future__ import annotations

from turnrule.api.contract_operation import VERDICTS, Operation, Success
from turnrule.api.contract_parts import (
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    VERDICT_ID,
    Schema,
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
from turnrule.judging.words import CheckName, Outcome, Ruling

REPLAY_OPERATIONS = (
    Operation(
        "replayVerdict",
        "post",
        "/v1/verdicts/{verdict_id}/replays",
        VERDICTS,
        "Judge a recorded verdict again",
        "Judges the request of a recorded verdict again, as of its own day. With an empty object: under the release, "
        "the withdrawals and the policy revision that it was judged under; the same engine and pack then give the same "
        "bytes, and `identical` says whether they did. With others named: what changed, and which checks did it. "
        "Nothing is recorded.",
        (Success(200, "The verdict as it comes out now, beside the recorded one.", "Replay"),),
        scopes=("verdicts", "reports"),
        body="ReplayRequest",
        parameters=("verdict_id",),
        problems=("BadBody", "NotFound", "BodyTooLarge", "UnsupportedMediaType", "ReplayRefused"),
    ),
)


def replay_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "Replay": thing(
            "A recorded verdict judged again.",
            {
                "verdict_id": text("The recorded verdict.", pattern=VERDICT_ID),
                "identical": truth("Whether the same bytes came out."),
                "same_versions": truth("Whether it was judged under all that it was judged under before."),
                "recorded_under": ref("ReplayVersions"),
                "judged_under": ref("ReplayVersions"),
                "before": ref("ReplayStanding"),
                "after": or_null(ref("ReplayStanding")),
                "checks": several(ref("ReplayCheck"), "The checks that came out differently."),
                "deciding": several(
                    words(CheckName, "A check."),
                    "Where the verdict or what governs it changed: the checks that decided before and now.",
                ),
                "differs": several(text("A field of the answer."), "The fields that are not what they were."),
                "cannot_be_judged": or_null(ref("ReplayObstacle")),
                "answer": or_null(ref("Verdict")),
            },
        ),
        **_parts(),
    }


def _parts() -> dict[str, Schema]:
    return {
        "ReplayVersions": thing(
            "What a verdict rests on beside its request.",
            {
                "release": or_null(whole("The release; null where none was published yet.", minimum=1)),
                "policy": ref("PolicyRevisionName"),
                "pack": ref("PackName"),
                "engine": text("The engine."),
                "withdrawals": whole("How many withdrawals counted.", minimum=0),
            },
        ),
        "ReplayStanding": thing(
            "How the part stands.",
            {
                "verdict": words(Ruling, "The verdict."),
                "governing": or_null(ref("DecidingCheck")),
                "limits_id": or_null(text("The limits record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID)),
                "limits_revision": or_null(whole("Its revision.", minimum=1)),
                "cut_allowed": or_null(truth("Whether the cut that was asked for may be made.")),
                "most_total_cut": or_null(number("The most metal that may still come off.", minimum=0)),
            },
        ),
        "ReplayCheck": thing(
            "A check that came out differently.",
            {
                "check": words(CheckName, "The check."),
                "quantity": or_null(text("The figure that was held against the limit.")),
                "before": or_null(words(Outcome, "What came of it before; null where it was not made.")),
                "after": or_null(words(Outcome, "What comes of it now; null where it is not made.")),
            },
        ),
        "ReplayObstacle": thing(
            "Why the part cannot be judged any more.",
            {"code": text("A code, as problems have it."), "detail": text("In words.")},
        ),
    }

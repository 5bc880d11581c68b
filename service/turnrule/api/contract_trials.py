"""What the contract says of policy trials: the lines that are streamed, and the operation."""

from __future__ import annotations

from turnrule.actions.trial_candidates import ON_AXLES
from turnrule.api.contract_operation import POLICIES, Operation, Success
from turnrule.api.contract_parts import (
    VERDICT_ID,
    Schema,
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
from turnrule.api.lines import NDJSON
from turnrule.judging.words import Kind, Level, Ruling, Side, Unit


def trial_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "TrialStream": several(
            {"anyOf": [ref("TrialLine"), ref("TrialSoFar"), ref("TrialDone")]},
            "One JSON document a line. Only the last one says `done`; a stream without it did not reach its end.",
        ),
        "TrialLine": _line(),
        "TrialSoFar": thing(
            "How far the trial is, where there was nothing else to tell for a while.",
            {"looked_at": whole("How many verdicts were looked at so far.", minimum=0)},
        ),
        "TrialDone": _done(),
        "TrialRow": _row(),
        "TrialStanding": thing("How a part stands by its own policy.", _standing()),
        "TrialOutcome": _outcome(),
    }


def _standing() -> dict[str, Schema]:
    return {
        "verdict": words(Ruling, "The verdict."),
        "governing": or_null(ref("DecidingCheck", "The check that decides.")),
        "cut_allowed": or_null(truth("Whether the cut that was asked for is allowed; null where none was.")),
        "most_total_cut": or_null(number("The most metal that may come off, in `unit`; null for none.", minimum=0)),
    }


def _outcome() -> Schema:
    obstacle = thing("Why it cannot be judged.", {"code": text("A code."), "detail": text("A sentence.")})
    standing = _standing()
    return thing(
        "How the part stands under one candidate.",
        {
            **standing,
            "verdict": or_null(standing["verdict"]) | {"description": "The verdict; null where it cannot be judged."},
            "cannot_be_judged": {"description": "Null where it can be.", "oneOf": [obstacle, {"type": "null"}]},
        },
    )


def _line() -> Schema:
    return thing(
        "A stored verdict that some candidate changes.",
        {
            "id": text("The verdict.", pattern=VERDICT_ID),
            "judged_at": moment("When it was judged."),
            "site": or_null(text("The site whose key sent the request.")),
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "reference": or_null(text("The caller's own job number.")),
            "kind": words(Kind, "The kind of part."),
            "application": or_null(ref("ImpactApplication", "The vehicle and place; null where none was named.")),
            "side": or_null(words(Side, "The side of the axle.")),
            "unit": words(Unit, "The unit of every length in this line."),
            "before": ref("TrialStanding"),
            "after": several(ref("TrialOutcome"), "One for each row of the end, in their order."),
        },
    )


def _done() -> Schema:
    caution = thing(
        "A caution of the catalogue.",
        {"code": text("Its code."), "level": words(Level, "How loudly it speaks."), "text": text("What it says.")},
    )
    return thing(
        "The end of the stream.",
        {
            "done": {"type": "boolean", "const": True, "description": "Always true."},
            "looked_at": whole("How many verdicts were looked at.", minimum=0),
            "cannot_be_judged": whole("How many of these cannot be judged any more, whatever the policy.", minimum=0),
            "otherwise_today": whole(
                "How many stand otherwise by their own policy than they were answered, since another engine or pack "
                "answered them; they are compared as they stand today.",
                minimum=0,
            ),
            "not_tried": several(
                words(ON_AXLES, "A field."), "Fields of the candidate that no verdict on a single part can show."
            ),
            "rows": several(ref("TrialRow"), "One for the candidate, or for each value of the setting."),
            "cautions": several(caution, "What to mind."),
        },
    )


def _row() -> Schema:
    become = thing(
        "How many of these become what.", {one.value: whole(f"How many become {one}.", minimum=0) for one in Ruling}
    )
    cost = thing(
        "What machining and replacing cost at the caller's prices, of the parts that both can judge.",
        {
            "currency": text("The caller's currency."),
            "before": number("By their own policies."),
            "after": number("Under the candidate."),
            "difference": number("How much more; below 0 where it is less."),
            "open_before": whole("Inconclusive ones, by their own policies; they have no price yet.", minimum=0),
            "open_after": whole("Inconclusive ones under the candidate.", minimum=0),
        },
    )
    return thing(
        "What one candidate comes to.",
        {
            "value": {
                "description": "The value of the setting; null where none is varied.",
                "type": ["number", "string", "boolean", "null"],
            },
            "unit": or_null(text("The unit of the value.")),
            "changed": whole("How many verdicts come out differently, the three kinds below together.", minimum=0),
            "verdicts": thing(
                "How many verdicts are what by their own policy, and become what under the candidate.",
                {one.value: become | {"description": f"Those that are {one}."} for one in Ruling},
            ),
            "other_cut": whole(
                "How many keep their verdict, and the cut that was asked for is allowed now, or not any more.",
                minimum=0,
            ),
            "refused": whole("How many cannot be judged under the candidate.", minimum=0),
            "cost": {"description": "Null without prices.", "oneOf": [cost, {"type": "null"}]},
        },
    )


TRIAL_OPERATIONS = (
    Operation(
        "tryPolicy",
        "post",
        "/v1/policies/{name}/trials",
        POLICIES,
        "Try a policy on stored verdicts",
        "Judges stored verdicts again under a candidate, as of their own day, release and withdrawals, with nothing "
        "but the policy replaced: how many change from what to what, which, and what that costs at given prices. The "
        "candidate is a body as it would be written, a revision, or the newest revision with one `setting` at up to "
        "ten values, each verdict read once for all of them. A candidate that loosens what it inherits is refused as "
        "it would be when written. Answered as a stream, newest verdicts first; nothing is stored. A key that is "
        "bound to a site tries that site's verdicts only.",
        (Success(200, "The verdicts that change, and then the counts.", "TrialStream", (), NDJSON),),
        scopes=("policies:write", "reports"),
        body="TrialBody",
        parameters=("new_policy_name",),
        problems=(
            "BadBody",
            "NotFound",
            "PolicyOfThePack",
            "BodyTooLarge",
            "UnsupportedMediaType",
            "PolicyRefused",
        ),
    ),
)

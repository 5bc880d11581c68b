"""The schemas of the lines that tell what a release changes in stored verdicts."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from turnrule.actions.impact_advice import Action
from turnrule.api.contract_parts import (
    LIMITS_ID,
    LONGEST_LIMITS_ID,
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
from turnrule.judging.words import Axle, CheckName, Kind, Origin, Outcome, Ruling, Side, Unit

_BEFORE, _AFTER = "As it was answered.", "As it comes out under the release; null where it cannot be judged."


def impact_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "ImpactStream": several(
            {"anyOf": [ref("ImpactLine"), ref("ImpactSoFar"), ref("ImpactDone")]},
            "One JSON document a line. Only the last one says `done`; a stream without it did not reach its end, and "
            "is taken up again with the greatest `after` that was read.",
        ),
        "ImpactLine": _line(),
        "ImpactSoFar": thing("How far the stream is, where there was nothing else to tell for a while.", _so_far()),
        "ImpactDone": thing(
            "The end of the stream.",
            {
                "done": {"type": "boolean", "const": True, "description": "Always true."},
                **_so_far(),
                "changed": whole("How many verdicts came out differently.", minimum=0),
                "cannot_be_judged": whole("How many of these cannot be judged any more.", minimum=0),
            },
        ),
        "ImpactApplication": thing(
            "The vehicle and place that the part was for.",
            {
                "make": text("The maker."),
                "model": text("The model."),
                "year": whole("The model year."),
                "axle": words(Axle, "The axle."),
                "brake_option": or_null(text("The brake option, where one was named.")),
            },
        ),
        "DecidingCheck": thing(
            "The check that decides a verdict.",
            {
                "check": words(CheckName, "The check."),
                "limit": or_null(number("Its limit.")),
                "unit": or_null(text("What the limit is counted in: mm, in, km, points; null for none of these.")),
                "origin": or_null(words(Origin, "Where the limit comes from.")),
            },
        ),
        "NamedRevision": thing(
            "A revision of a limits record.",
            {
                "limits_id": text("The record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID),
                "revision": or_null(whole("Its revision.", minimum=1)),
            },
        ),
    }


def _so_far() -> dict[str, Schema]:
    return {
        "after": whole("Where to take the stream up again.", minimum=0),
        "compared": whole("How many verdicts were judged again so far.", minimum=0),
    }


def _both(schema: Schema, description: str) -> Schema:
    """A value before and after; null where there was none."""
    either = or_null(schema)
    return thing(
        description,
        {"before": _said(either, _BEFORE), "after": _said(either, _AFTER)},
    )


def _said(schema: Schema, description: str) -> Schema:
    return schema | {"description": description}


def _words(vocabulary: type[StrEnum] | Iterable[str]) -> Schema:
    return words(vocabulary, "")


def _line() -> Schema:
    changed = {
        "verdict": _both(_words(Ruling), "The verdict."),
        "governing": _both(ref("DecidingCheck"), "The check that decides."),
        "cut_allowed": _both(truth(""), "Whether the cut that the request asked for is allowed; null where none was."),
        "most_total_cut": _both(number("", minimum=0), "The most metal that may come off, in `unit`; null for none."),
        "checks": several(_check(), "The checks that come out differently."),
        "limits": _both(ref("NamedRevision"), "The limits record that governs."),
        "release": _both(whole("", minimum=1), "The release."),
        "differs": several(text("The name of a field."), "Every field of the answer that differs."),
    }
    obstacle = thing("Why it cannot be judged.", {"code": text("A code."), "detail": text("A sentence.")})
    return thing(
        "A stored verdict that comes out differently under the release.",
        {
            "after": whole("Where to take the stream up again behind this line.", minimum=0),
            "id": text("The verdict.", pattern=VERDICT_ID),
            "judged_at": moment("When it was judged."),
            "site": or_null(text("The site whose key sent the request.")),
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "reference": or_null(text("The caller's own job number.")),
            "kind": words(Kind, "The kind of part."),
            "application": or_null(ref("ImpactApplication", "The vehicle and place; null where none was named.")),
            "side": or_null(words(Side, "The side of the axle.")),
            "unit": words(Unit, "The unit of every length in this line."),
            **changed,
            "cannot_be_judged": {"description": "Null where it can be.", "oneOf": [obstacle, {"type": "null"}]},
            "action": words(Action, "What it asks for, to sort by."),
            "what_to_do": text("What it asks for, in a sentence."),
        },
    )


def _check() -> Schema:
    outcome = or_null(_words(Outcome))
    return thing(
        "A check that comes out differently.",
        {
            "check": words(CheckName, "The check."),
            "quantity": or_null(text("The figure that was held against the limit.")),
            "before": _said(outcome, "Its outcome then; null where it was not made."),
            "after": _said(outcome, "Its outcome now; null where it is not made."),
        },
    )

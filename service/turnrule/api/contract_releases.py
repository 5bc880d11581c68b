"""The schemas of releases: what each is, what changed from one to another, what that does to stored verdicts."""

from __future__ import annotations

from turnrule.actions.changes import ChangeKind
from turnrule.api.contract_parts import (
    DIGEST,
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    Schema,
    moment,
    or_null,
    page,
    ref,
    several,
    text,
    thing,
    whole,
    words,
)
from turnrule.judging.words import Kind

_CHANGED_FIELD = "JSON Pointer into a limits body. Lengths stand in mm, whatever unit they were printed in."


def release_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "Release": _release(),
        "ReleasePage": page(ref("Release"), "Releases, oldest first."),
        "Change": _change(),
        "FieldChange": _field_change(),
        "ChangePage": page(
            ref("Change"),
            "Changes in the order in which they were released.",
            {
                "since": whole("What changed after this release; 0 is before the first.", minimum=0),
                "until": whole("Up to this one.", minimum=1),
                "unit": text("The unit of every length in fields.", const="mm"),
            },
        ),
    }


def _release() -> Schema:
    return thing(
        "A numbered, immutable set of verified limits.",
        {
            "number": whole("The release, from 1.", minimum=1),
            "published_at": moment("When it was published."),
            "published_by": text("Who published it."),
            "notes": text("What it brings."),
            "digest": text("SHA-256 of its content.", pattern=DIGEST),
            "records": whole("How many records it holds.", minimum=0),
            "records_by_one_person": whole("Of how many of them one person made both entries.", minimum=0),
            "cautions": several(text("A code of the catalogue of cautions."), "What to mind about the release itself."),
        },
    )


def _change() -> Schema:
    return thing(
        "What became of one record in one release.",
        {
            "release": whole("The release that showed it first.", minimum=1),
            "change": words(ChangeKind, "What became of the record."),
            "limits_id": text("The record.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID),
            "revision": whole(
                "The revision that holds now; the one that held until now where it is withdrawn.", minimum=1
            ),
            "replaces": or_null(whole("The revision that it takes the place of.", minimum=1)),
            "kind": words(Kind, "The kind of part."),
            "application": ref("LimitsFit"),
            "fields": several(ref("FieldChange"), "Every field that changed; of a new record every one that it has."),
            "reason": or_null(text("Why it was corrected or withdrawn; null for a new record.")),
            "entered_by": text("Who entered the revision."),
            "verified_by": text("Who entered it again."),
            "withdrawn_by": or_null(text("Who withdrew it; null where it was not withdrawn.")),
            "source": ref("Source", "The document that the revision was read from."),
        },
    )


def _field_change() -> Schema:
    return thing(
        "One field that changed.",
        {
            "field": text(_CHANGED_FIELD),
            "old": _value("What it said before; null where it said nothing."),
            "new": _value("What it says now; null where it says nothing."),
        },
    )


def _value(description: str) -> Schema:
    """A number, a text, or for `also` the values in the other unit."""
    return {"description": description, "type": ["number", "string", "object", "null"]}

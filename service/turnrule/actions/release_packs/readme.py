"""README.txt of a release pack: what it is, how it is looked at, and what it cannot know."""

from __future__ import annotations

import textwrap

from turnrule.store.port import Release

_WIDE = 88
_WHAT = (
    "This is a release of limits for worn brake rotors and drums, as a data package: limits.jsonl holds one record a "
    "line, withdrawals.jsonl every record that must not be used any more, datapackage.json what each file holds and "
    "its SHA-256. Where there is a signature.json, it is an Ed25519 signature over datapackage.json."
)
_HOW = (
    "Look whether it is whole with 'turnrule pack check FILE'; bring it in with 'turnrule pack import FILE'. Change "
    "nothing in it: a file or row that was changed is refused by name. Each row carries two digests. content_digest "
    "covers what governs, and the release's digest is the SHA-256 over a line 'limits_id digest' for each record, by "
    "limits_id; row_digest covers the whole row."
)
_RIGHT_AS_ITS_DOCUMENT = (
    "A limit here is only as right as the document that it names and the edition of it; the maker's current service "
    "data, the law of the place and licensed practice go before it."
)
_LATER = (
    "A record that was withdrawn after this release was published still stands in this pack. Ask whoever publishes "
    "it for newer releases, and bring them in without delay."
)
_MISSING = (
    "A figure that a record does not give was not in its document. It is not zero, and nothing may be put for it."
)
_EXACT = (
    "Lengths are millimetres, exactly, as decimals in quotes; read them as decimals, not as binary fractions. The "
    "values as the document prints them stand beside them in the document's own unit."
)
_ONE_PERSON = (
    "{count} of the records were entered and checked by the same person: nobody else has compared them with their "
    "document. Compare them before you use them."
)


def readme_text(release: Release) -> str:
    """The text for this release; lines end with a line feed alone."""
    mind = [_RIGHT_AS_ITS_DOCUMENT, _LATER, _MISSING, _EXACT]
    if release.by_one_person:
        mind.insert(0, _ONE_PERSON.format(count=release.by_one_person))
    records = "1 record" if release.records == 1 else f"{release.records} records"
    blocks = [
        f"Limits for brake rotors and drums, release {release.number}",
        textwrap.fill(f"{records}, {release.digest}", _WIDE, break_on_hyphens=False),
        *(textwrap.fill(text, _WIDE) for text in (_WHAT, _HOW)),
        "Mind:",
        *(textwrap.fill(f"- {text}", _WIDE, subsequent_indent="  ") for text in mind),
    ]
    return "\n\n".join(blocks) + "\n"

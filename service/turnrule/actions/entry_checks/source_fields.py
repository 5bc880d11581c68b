"""Whether the document is named so that a second person finds it: no field is a placeholder."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.entry_checks.remarks import Remark, Surroundings, refusal
from turnrule.actions.requests import LimitsEntry
from turnrule.store.folding import fold
from turnrule.store.limit_records import FitsTo, Source

PLACEHOLDERS = frozenset(
    (
        *("n/a", "none", "nil", "null", "unknown", "not known", "unspecified", "not specified"),
        *("not given", "not stated", "tbd", "tba", "tbc", "to do", "todo", "pending", "missing", "blank", "empty"),
    )
)
"""What people write where they have nothing to write. Common practice, no source."""

SAYS_NOTHING_OF_A_DOCUMENT = PLACEHOLDERS | {
    *("na", "no", "xxx", "test", "asdf", "abc", "same", "ditto", "dito", "see above", "as above", "various", "any"),
    *("internet", "web", "online", "experience", "memory", "my head", "guess"),
}
"""As names of vehicles or options these might be meant; as a document, section or edition they lead nowhere."""


def is_placeholder(text: str, placeholders: frozenset[str]) -> bool:
    """Whether a text says nothing: a known placeholder, or no letter and no digit at all."""
    folded = fold(text)
    return folded.replace("-", " ").replace(".", "") in placeholders or not any(letter.isalnum() for letter in folded)


def source_remarks(source: Source, fits: FitsTo) -> Iterator[Remark]:
    """A refusal for each field of the source, and each name of the vehicle, that is a placeholder."""
    for name in ("document", "publisher", "section", "edition"):
        text: str = getattr(source, name)
        if is_placeholder(text, SAYS_NOTHING_OF_A_DOCUMENT):
            detail = f"{text!r} says nothing; a second person has to find the same place in the same document"
            yield refusal(f"/source/{name}", "placeholder", detail)
    for name in ("make", "model", "brake_option"):
        named: str | None = getattr(fits, name)
        if named is not None and is_placeholder(named, PLACEHOLDERS):
            remedy = "leave it out where there is none" if name == "brake_option" else "name the vehicle"
            yield refusal(f"/application/{name}", "placeholder", f"{named!r} says nothing; {remedy}")


def check(entry: LimitsEntry, _around: Surroundings) -> Iterator[Remark]:
    """Refuses a placeholder in the source, and in the names of the vehicle."""
    return source_remarks(entry.source, entry.fits)

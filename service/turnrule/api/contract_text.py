"""What the contract says at its beginning: what the service is for, what it is not, and the rules for all resources."""

from __future__ import annotations

TITLE = "turnrule"
VERSION = "1.0.0"
"""The version of the contract, not of the program: it grows when the contract does."""

SUMMARY = "May this worn brake rotor or drum be machined, must it be replaced, or can it stay?"

CAUTIONS = (
    (
        "A wrong answer here can hurt people. The vehicle maker's service data, the law of the place and the "
        "judgement of a licensed technician go before every answer of this service."
    ),
    (
        "A verdict is as good as the readings that it was given. Measure clean and cold, where the maker says, "
        "with a gauge whose calibration holds."
    ),
    (
        "Where a reading, a limit or a record is missing, the answer is inconclusive or a problem, and never a "
        "pass. Do not read one into it."
    ),
    "All makes, models, vehicles and limits in the examples are invented. Judge no real part by them.",
)

RULES = (
    (
        "Units",
        (
            "Every body says `unit`, `mm` or `in`; it is needed and never assumed. Every length of that body and "
            "of its answer is in it. One inch is exactly 25.4 mm. Angles are in degrees, temperatures in C, "
            "distances carry a unit of their own."
        ),
    ),
    (
        "Numbers",
        (
            "Numbers are JSON numbers and are read exactly, digit by digit, never as binary floats: at most 32 "
            "characters, exponents from -12 to 12, no NaN and no infinities, and nothing nearer to 0 than "
            "0.0000001 but 0 itself. Text is no number. Answers give exact decimals without exponent or trailing "
            "zeros; what does not end in inches is rounded at the seventh decimal, limits and margins to their "
            "safe side. Read them with a decimal type."
        ),
    ),
    (
        "Bodies",
        (
            "JSON in UTF-8 without a byte order mark, at most 256 KiB and 32 levels deep, no name twice in an "
            "object, no Content-Encoding. Fields that are not described here are refused by name. `null` is never "
            "read: leave out what was not read."
        ),
    ),
    (
        "Errors",
        (
            "Every error is a problem (`application/problem+json`, RFC 9457). `errors` names every fault of the "
            "request in one answer, each with a JSON Pointer and a stable code. `type` is an address of this "
            "service that explains it."
        ),
    ),
    (
        "Keys",
        (
            "`Authorization: Bearer` and a key. A key has scopes, and may be bound to a site: then it sees that "
            "site's records only. Keys are made by the operator with `turnrule keys create`. The key is looked at "
            "before anything else of a request."
        ),
    ),
    (
        "Limits",
        (
            "Limits govern once two people have entered the same from the same document, each under a key of their "
            "own and the second without having seen the first, and a release holds them. What waits for its second "
            "entry is hidden from everybody but whoever entered it. Nothing is changed or deleted: a correction is a "
            "new revision, and a withdrawal acts at once."
        ),
    ),
    (
        "Again and again",
        (
            "`Idempotency-Key` makes POST safe to repeat: the first answer comes again, to the byte. What can be kept "
            "has an `ETag`; `If-None-Match` gets 304 while it still holds. What never changes is `immutable` in "
            "`Cache-Control`. What can be changed asks for `If-Match`. GET addresses answer HEAD as well."
        ),
    ),
    (
        "Lists",
        (
            "Lists come in pages. `next` in the body and `Link` with rel=next give the cursor of the next one; the "
            "last page has neither. What is in a cursor is not part of this contract."
        ),
    ),
    (
        "Times",
        "RFC 3339 in UTC. Dates are days of the calendar (YYYY-MM-DD).",
    ),
    (
        "What may change",
        (
            "Answers may get further fields, and problems and faults further codes, without a new version in the "
            "path. What is there keeps its name and its meaning."
        ),
    ),
)


def description() -> str:
    """The beginning of the contract in Markdown."""
    cautions = "\n".join(f"- {caution}" for caution in CAUTIONS)
    rules = "\n\n".join(f"**{title}.** {text}" for title, text in RULES)
    return (
        "Judges measured brake rotors and drums against the limits that govern them, and records every verdict before "
        f"it is answered.\n\n**Cautions**\n\n{cautions}\n\n{rules}\n"
    )

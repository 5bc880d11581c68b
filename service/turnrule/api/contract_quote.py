"""What the contract says of checks of quotes: the schemas of the answer, and the operation."""

from __future__ import annotations

from turnrule.actions.quote_answers import QUOTED
from turnrule.api.contract_operation import VERDICTS, Operation, Success
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
from turnrule.judging.planning_words import Cheaper
from turnrule.judging.quote_words import FindingLevel, Leaning, Measure, Outdated, QuoteCode
from turnrule.judging.words import Axle, CheckName, Kind, Ruling, Sense, Side, Unit


def quote_schemas() -> dict[str, Schema]:
    """Every schema of the answer to a check of a quote, by its name among the components."""
    return {
        "QuoteCheck": _check(),
        "QuoteFinding": _finding(),
        "QuoteEvidence": _evidence(),
        "QuotedPart": _part(),
        "QuoteWay": _way(),
    }


def _check() -> Schema:
    return thing(
        "What a quote came to.",
        {
            "agrees": truth("Whether nothing contradicts and nothing is missing; questions and notes do not count."),
            "summary": text("One sentence that can be read to the customer."),
            "unit": words(Unit, "The unit of every length in this answer: the request's."),
            "currency": or_null(text("The currency of the quote, as it was given.")),
            "sum": or_null(number("What all lines come to; null where they cannot be added up.")),
            "total": or_null(number("The total that the quote states.")),
            "findings": several(ref("QuoteFinding"), "Everything that was found, the loudest first."),
            "parts": several(ref("QuotedPart"), "The parts as given, then those that only lines are about."),
            "cautions": several(
                ref("GivenCaution"), "What to mind; one says whose the prices are, one defers to the maker."
            ),
            "policy": ref("PolicyRevisionName", "The policy whose pair rule holds."),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "checked_at": moment("When it was checked; the day of dates that fall due is taken from it."),
        },
    )


def _finding() -> Schema:
    return thing(
        "One thing that was found.",
        {
            "code": words(QuoteCode, "A stable code; new ones may be added."),
            "level": words(FindingLevel, "How much it weighs; the first two keep a quote from agreeing."),
            "leaning": words(Leaning, "Whether the quote does too little or too much, or does not add up by itself."),
            "sentence": text("One sentence that can be read to the customer."),
            "lines": several(whole("The place of a line, from 0.", minimum=0), "The lines that it is about."),
            "parts": several(
                whole("The place of a part among `parts` of this answer, from 0.", minimum=0),
                "The parts that it is about.",
            ),
            "evidence": or_null(ref("QuoteEvidence", "What it rests on; null where no figure does.")),
        },
    )


def _evidence() -> Schema:
    units = [*Unit, *(measure for measure in Measure if measure is not Measure.LENGTH)]
    return thing(
        "What a finding rests on: a figure held against another.",
        {
            "check": or_null(words(CheckName, "The check of the verdict that says so.")),
            "quantity": text("What was held against a limit."),
            "value": or_null(number("Its value.")),
            "limit": or_null(number("The limit, or what it was held against.")),
            "margin": or_null(number("How far it is on the safe side; negative when past.")),
            "sense": or_null(words(Sense, "Which side is the safe one.")),
            "unit": or_null(words(units, "What value, limit and margin are counted in.")),
            "verdict_id": or_null(text("The stored verdict that it is from.", pattern=VERDICT_ID)),
        },
    )


def _part() -> Schema:
    costs = thing(
        "What both ways cost; machining is a way only where the verdict leaves it open.",
        {
            "machining": ref("QuoteWay"),
            "replacing": ref("QuoteWay"),
            "cheaper": or_null(words(Cheaper, "Which costs less for its life; it tells nothing of safety.")),
        },
    )
    margins = thing(
        "How far the deciding size of its verdict stays on the safe side; negative when past.",
        {
            "to_machining_limit": or_null(number("To the machining limit.")),
            "to_discard_limit": or_null(number("To the discard limit.")),
            "guard_band": number("The uncertainty that is kept from a limit.", minimum=0),
        },
    )
    return thing(
        "A part, what the quote does to it, and what its verdict says.",
        {
            "name": or_null(text("Its name as given; null for one that only lines are about.")),
            "axle": or_null(words(Axle, "The axle, where it is known.")),
            "side": or_null(words(Side, "The side, where it is known.")),
            "kind": or_null(words(Kind, "The kind, where it is known.")),
            "lines": several(whole("The place of a line, from 0.", minimum=0), "The lines that are about it."),
            "quoted": words(QUOTED.values(), "The most that the quote does to it."),
            "verdict": or_null(words(Ruling, "Its verdict; null where there is none.")),
            "verdict_id": or_null(text("The stored verdict.", pattern=VERDICT_ID)),
            "summary": or_null(text("The verdict in a sentence.")),
            "margins": {"description": "The margins of its verdict.", "oneOf": [margins, {"type": "null"}]},
            "most_total_cut": or_null(number("The most metal that may come off it in all; null where none may.")),
            "outdated": or_null(words(Outdated, "Why its verdict no longer stands on what governs.")),
            "costs": costs,
            "cautions": several(ref("GivenCaution"), "Those of its verdict."),
            "release": or_null(whole("The release that it was judged under.", minimum=1)),
            "policy": or_null(ref("PolicyRevisionName", "The policy that it was judged under.")),
        },
    )


def _way() -> Schema:
    return thing(
        "What one way costs and buys, as far as prices and wear are known.",
        {
            "price": or_null(number("The price with labour, of all parts that share the line.")),
            "shared_by": whole("How many parts share the price.", minimum=1),
            "distance_km": or_null(number("The distance that it buys each of them.", minimum=0)),
            "per_1000_km": or_null(number("The cost per 1,000 km of one part, rounded up.")),
        },
    )


QUOTE_OPERATIONS = (
    Operation(
        "checkQuote",
        "post",
        "/v1/quote-checks",
        VERDICTS,
        "Check a quote against what was measured",
        "Holds the lines of a quote against the verdict on each part (a stored one, or one made now), the policy's "
        "pair rule and the quote itself: what contradicts, what is missing, what to ask. Each finding has its evidence "
        "and a sentence for the customer. A line names a part, or says axle, side (or both) and kind. Where prices and "
        "wear are known, the cost of each way per 1,000 km of the life that it buys is told. It is a computation: "
        "nothing is stored, no price is checked, and it can be sent again without an idempotency key; one that is sent "
        "is not looked at.",
        (Success(200, "What was found.", "QuoteCheck"),),
        scopes=("verdicts",),
        body="QuoteBody",
        problems=("BadBody", "BodyTooLarge", "UnsupportedMediaType", "SetupRefused"),
    ),
)

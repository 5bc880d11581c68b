"""The closed vocabularies of a quote check: what a line does, what is found, and how loudly."""

from __future__ import annotations

from enum import StrEnum


class Operation(StrEnum):
    """What a line of a quote does to a part, in the trade's words; `other` is about no rotor or drum."""

    MACHINE = "machine"
    REPLACE = "replace"
    MEASURE = "measure"
    INSPECT = "inspect"
    CLEAN = "clean"
    REFIT = "refit"
    OTHER = "other"


class FindingLevel(StrEnum):
    """How much a finding weighs, the loudest first; the first two keep a quote from agreeing."""

    CONTRADICTION = "contradiction"
    MISSING = "missing"
    QUESTION = "question"
    NOTE = "note"


class Leaning(StrEnum):
    """Whether the quote does too little or too much for a part, or does not add up by itself."""

    TOO_LITTLE = "too_little"
    TOO_MUCH = "too_much"
    ITSELF = "itself"


class QuoteCode(StrEnum):
    """What may be found, the gravest of each level first."""

    MACHINING_OF_PART_TO_REPLACE = "machining_of_part_to_replace"
    MACHINING_PROHIBITED = "machining_prohibited"
    MACHINING_ON_VEHICLE_ONLY = "machining_on_vehicle_only"
    CUT_TOO_DEEP = "cut_too_deep"
    NO_ROOM_TO_MACHINE = "no_room_to_machine"
    CUT_DOES_NOT_CLEAN_UP = "cut_does_not_clean_up"
    CUT_OUT_OF_BALANCE = "cut_out_of_balance"
    BAD_PART_LEFT_OUT = "bad_part_left_out"
    PAIR_RULE_BROKEN = "pair_rule_broken"
    REPLACEMENT_NOT_NEEDED = "replacement_not_needed"
    MACHINING_NOT_NEEDED = "machining_not_needed"
    MACHINED_AND_REPLACED = "machined_and_replaced"
    LINE_TWICE = "line_twice"
    LINE_NAMES_ANOTHER_PART = "line_names_another_part"
    VERDICT_ON_ANOTHER_PART = "verdict_on_another_part"
    TWO_CURRENCIES = "two_currencies"
    TOTAL_DIFFERS = "total_differs"
    LIMITS_WITHDRAWN = "limits_withdrawn"
    LIMITS_CHANGED = "limits_changed"
    NO_READING = "no_reading"
    VERDICT_INCONCLUSIVE = "verdict_inconclusive"
    CUT_CANNOT_BE_JUDGED = "cut_cannot_be_judged"
    OTHER_SIDE_NOT_MEASURED = "other_side_not_measured"
    PRICE_MISSING = "price_missing"
    LABOUR_MISSING = "labour_missing"
    ONE_SIDE_ONLY = "one_side_only"
    LATHE_NOT_NAMED = "lathe_not_named"
    CUT_DIFFERS = "cut_differs"
    REPLACEMENT_WHERE_MACHINING_DOES = "replacement_where_machining_does"
    DEARER_PER_DISTANCE = "dearer_per_distance"
    VEHICLES_DIFFER = "vehicles_differ"
    PART_GIVEN_TWICE = "part_given_twice"
    REPLACED_FOR_THE_PAIR = "replaced_for_the_pair"
    MACHINED_FOR_THE_PAIR = "machined_for_the_pair"
    TOTAL_NOT_COMPARED = "total_not_compared"

    @property
    def level(self) -> FindingLevel:
        """How much it weighs: the codes are listed level by level."""
        if self in _NOTES:
            return FindingLevel.NOTE
        place = list(QuoteCode).index(self)
        if place >= list(QuoteCode).index(QuoteCode.ONE_SIDE_ONLY):
            return FindingLevel.QUESTION
        withdrawn = list(QuoteCode).index(QuoteCode.LIMITS_WITHDRAWN)
        return FindingLevel.MISSING if place >= withdrawn else FindingLevel.CONTRADICTION

    @property
    def leaning(self) -> Leaning:
        """Which way it leans."""
        if self in _TOO_MUCH:
            return Leaning.TOO_MUCH
        return Leaning.ITSELF if self in _ITSELF else Leaning.TOO_LITTLE


_NOTES = frozenset({QuoteCode.REPLACED_FOR_THE_PAIR, QuoteCode.MACHINED_FOR_THE_PAIR, QuoteCode.TOTAL_NOT_COMPARED})
_TOO_MUCH = frozenset(
    {
        QuoteCode.REPLACEMENT_NOT_NEEDED,
        QuoteCode.MACHINING_NOT_NEEDED,
        QuoteCode.REPLACEMENT_WHERE_MACHINING_DOES,
        QuoteCode.DEARER_PER_DISTANCE,
        QuoteCode.REPLACED_FOR_THE_PAIR,
        QuoteCode.MACHINED_FOR_THE_PAIR,
    }
)
_ITSELF = frozenset(
    {
        QuoteCode.MACHINED_AND_REPLACED,
        QuoteCode.LINE_TWICE,
        QuoteCode.LINE_NAMES_ANOTHER_PART,
        QuoteCode.VERDICT_ON_ANOTHER_PART,
        QuoteCode.TWO_CURRENCIES,
        QuoteCode.TOTAL_DIFFERS,
        QuoteCode.PRICE_MISSING,
        QuoteCode.LABOUR_MISSING,
        QuoteCode.CUT_DIFFERS,
        QuoteCode.VEHICLES_DIFFER,
        QuoteCode.PART_GIVEN_TWICE,
        QuoteCode.TOTAL_NOT_COMPARED,
    }
)


class Outdated(StrEnum):
    """Why a verdict no longer stands on what governs."""

    CHANGED = "changed"
    WITHDRAWN = "withdrawn"


class Measure(StrEnum):
    """What the figures of an evidence are counted in."""

    LENGTH = "length"
    MONEY = "money"
    MONEY_PER_1000_KM = "money_per_1000_km"
    KM = "km"
    POINTS = "points"

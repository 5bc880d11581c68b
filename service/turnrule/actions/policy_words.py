"""How a policy's fields are spoken of to whoever runs a fleet: one sentence for each difference."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule
from turnrule.pack import Difference, Direction
from turnrule.pack.tightening import shown

WHAT: Mapping[str, str] = MappingProxyType(
    {
        "decision_rule": "How a figure is held against a strength limit",
        "instrument/resolution": "The step of a gauge of which a request says nothing",
        "instrument/expanded_uncertainty": "The expanded uncertainty of a gauge of which a request says nothing",
        "instrument/repeatability": "The spread of readings of which a request says nothing",
        "minimum_points": "Least readings of a track",
        "discard_margin": "Kept between a part and its discard limit",
        "machining_margin": "Kept between a part and its machining limit",
        "wear_allowance": "Left to wear above the discard limit after a cut",
        "derive_machining_limit": "Where no machining limit is known, the discard limit and the wear allowance serve",
        "accept_caller_limits": "Limits that a request gives are judged by",
        "maximum_runout": "Greatest lateral runout",
        "maximum_thickness_variation": "Greatest thickness variation",
        "maximum_out_of_round": "Greatest out-of-round",
        "maximum_taper": "Greatest taper",
        "groove_limit": "Greatest groove depth",
        "minimum_cut": "Least cut that is planned for a face",
        "total_cut": "Greatest cut in total",
        "face_balance": "Greatest difference between the cuts of the two faces",
        "axle_difference": "Greatest difference between the two sides of an axle",
        "pair_rule": "What is asked of the two parts of an axle",
        "remaining_distance": "Least distance that must be left in a part",
        "limits_review_due": "Limits that are past their review",
        "calibration_overdue": "A gauge that is past its calibration",
        "inherits": "It inherits from",
    }
)
"""What each field that has one value is about."""

SAID: Mapping[object, str] = MappingProxyType(
    {
        DecisionRule.SIMPLE: "as the gauge reads",
        DecisionRule.GUARDED: "with a guard band for the gauge's uncertainty",
        PairRule.ADVISE: "a caution where they differ",
        PairRule.MACHINE_BOTH: "both are machined where one is",
        PairRule.REPLACE_BOTH: "both are replaced where one is",
        Overdue.CAUTION: "are told as a caution",
        Overdue.INCONCLUSIVE: "leave the verdict open",
        True: "yes",
        False: "no",
        None: "nothing",
    }
)
"""How the words of a policy are said."""

EFFECTS: Mapping[Effect, str] = MappingProxyType(
    {
        Effect.CAUTION: "is told as a caution",
        Effect.MEASURE: "has to be measured",
        Effect.MACHINE: "asks for machining",
        Effect.REPLACE: "replaces the part",
    }
)
_ENDS = {Direction.STRICTER: "This is stricter.", Direction.LOOSER: "This is looser.", Direction.OTHER: ""}


def sentence(one: Difference, book: Catalogue) -> str:
    """What differs, in a sentence, and which way it goes."""
    field, _, code = one.field.partition("/")
    if field == "findings":
        title = book.findings[code].title if code in book.findings else code
        told = f"The finding {title!r} {_said(one, one.new)}; before, it {_said(one, one.old)}."
    elif field == "why":
        told = "Why it asks for all this is said in other words."
    elif field in {"require", "regulations", "jurisdictions"}:
        told = _of_entry(field, str(one.new or one.old), book, on=one.new is not None)
    else:
        told = f"{WHAT[one.field]}: {_said(one, one.new)}; before, {_said(one, one.old)}."
    return f"{told} {_ENDS[one.direction]}".rstrip()


def _said(one: Difference, value: object) -> str:
    if isinstance(value, Effect):
        return EFFECTS[value]
    if value is None or isinstance(value, bool | DecisionRule | PairRule | Overdue):
        return SAID[value]
    return shown(value, one.unit)


def _of_entry(field: str, entry: str, book: Catalogue, *, on: bool) -> str:
    """An entry that came to a list, or went."""
    if field == "require":
        name = entry.replace("_", " ")
        return f"The {name} must have been read." if on else f"The {name} need not have been read any more."
    if field == "jurisdictions":
        name = entry.replace("_", " ")
        return f"All laws held of {name} {'are' if on else 'are no longer'} turned on, those to come included."
    law = book.regulations.get(entry)
    told = entry if law is None else f"{law.place}: {law.text}"
    return f"This law {'holds' if on else 'no longer holds'}: {told}"

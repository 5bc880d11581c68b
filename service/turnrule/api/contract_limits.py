"""The schemas of limits: as they govern, as drafts, with what became of each revision."""

from __future__ import annotations

from turnrule.actions.figure_names import DRUM_NAMES, ROTOR_NAMES, FigureNames
from turnrule.api.contract_parts import (
    LIMITS_ID,
    LONGEST_LIMITS_ID,
    Schema,
    day,
    either_kind,
    moment,
    number,
    or_null,
    page,
    ref,
    several,
    text,
    thing,
    whole,
    words,
)
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.limit_records import EntryState

_DRUMS = [Kind.DRUM, Kind.PARKING_DRUM]
NEVER_ACCEPTED = (EntryState.DRAFT, EntryState.DISPUTED, EntryState.REJECTED)
ACCEPTED = (EntryState.VERIFIED, EntryState.PUBLISHED, EntryState.WITHDRAWN)
_MISMATCHES = "How many second entries differed from it."


def limits_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "LimitsFit": _fits(),
        "RotorLimitsRecord": _record(ROTOR_NAMES, "rotor", [Kind.ROTOR]),
        "DrumLimitsRecord": _record(DRUM_NAMES, "drum or parking drum", _DRUMS),
        "LimitsRecord": either_kind("RotorLimitsRecord", "DrumLimitsRecord", "One accepted revision of a record."),
        "RotorLimitsDraft": _draft(ROTOR_NAMES, "rotor", [Kind.ROTOR]),
        "DrumLimitsDraft": _draft(DRUM_NAMES, "drum or parking drum", _DRUMS),
        "LimitsDraft": either_kind("RotorLimitsDraft", "DrumLimitsDraft", "A draft, as whoever entered it sees it."),
        "HiddenDraft": _hidden(),
        "LimitsRevision": {
            "description": "One revision of a record: with all its values once it was accepted, and before that only "
            "for whoever entered it.",
            "oneOf": [
                ref("RotorLimitsRecord"),
                ref("DrumLimitsRecord"),
                ref("RotorLimitsDraft"),
                ref("DrumLimitsDraft"),
                ref("HiddenDraft"),
            ],
        },
        "AnsweredWarning": _warning(),
        "Rejection": _rejection(),
        "RecordWithdrawal": _record_withdrawal(),
        "LimitsPage": page(
            ref("LimitsRecord"),
            "Limits records that govern, by their id.",
            {
                "release": or_null(whole("The release that was looked in; null while there is none.", minimum=1)),
                "on": day("The day that was looked at."),
            },
        ),
        "LimitsRevisionPage": page(ref("LimitsRevision"), "The revisions of a record, oldest first."),
        "WithdrawalAnswer": _withdrawal_answer(),
    }


def _fits() -> Schema:
    return thing(
        "The vehicles that a record is for.",
        {
            "make": text("The maker."),
            "model": text("The model."),
            "year_from": whole("First model year, included."),
            "year_to": or_null(whole("Last model year, included; null while it is still built.")),
            "axle": words(Axle, "The axle."),
            "brake_option": or_null(text("The brake option, where there is more than one.")),
        },
    )


def _id() -> Schema:
    return text("The record's id.", pattern=LIMITS_ID, maxLength=LONGEST_LIMITS_ID)


def _entered(kinds: list[Kind], names: FigureNames) -> dict[str, Schema]:
    """What was entered, by whom, and why."""
    exact = {name: number("In mm, exactly.") for name in names if name is not None}
    return {
        "limits_id": _id(),
        "revision": whole("The revision, from 1.", minimum=1),
        "unit": words(Unit, "The unit of the values as printed."),
        "kind": words(kinds, "The kind of part."),
        "application": ref("LimitsFit"),
        "millimetres": thing("The same values in exact millimetres, whatever the unit.", {}, exact),
        "also": _also(names),
        "machining": words(Machining, "What the document says of machining the part at all."),
        "construction": or_null(words(Construction, "How the part is built.")),
        "expansion_per_k": or_null(number("Linear expansion per kelvin, where it is not that of grey iron.")),
        "source": ref("Source"),
        "effective_from": day("The first day on which these limits hold."),
        "effective_to": or_null(day("The first day on which they hold no longer.")),
        "review_due": or_null(day("The day until which they are to be looked at again.")),
        "entered_by": text("Who entered them."),
        "entered_at": or_null(moment("When they were entered; null where that was not recorded.")),
        "reason": or_null(text("Why they were corrected; null for the first revision.")),
        "answered_warnings": several(ref("AnsweredWarning"), "Warnings at entry, each with why it stands."),
        "note": or_null(text("What else a reader should know.")),
    }


def _also(names: FigureNames) -> Schema:
    printed = {name: number("As the document prints it in that unit.") for name in names if name is not None}
    other = thing("Values in the other unit.", {"unit": words(Unit, "The other unit.")}, printed)
    return {
        "description": "The values that the document prints in its other unit as well; null where it prints one.",
        "oneOf": [other, {"type": "null"}],
    }


def _printed(names: FigureNames) -> dict[str, Schema]:
    return {name: number("As the document prints it, in the record's unit.") for name in names if name is not None}


def _record(names: FigureNames, kind: str, kinds: list[Kind]) -> Schema:
    accepted = {
        "verified_by": text("Who entered them again without seeing the first entry."),
        "verified_at": or_null(moment("When they were entered again; null where that was not recorded.")),
        "cautions": several(text("A code of the catalogue of cautions."), "What to mind about the record itself."),
    }
    standing = {
        "state": words(ACCEPTED, "How it stands now; not there where the answer is the same for ever."),
        "release": or_null(whole("The first release that held it; null while it waits for one.", minimum=1)),
        "mismatches": whole(_MISMATCHES, minimum=0),
        "withdrawal": or_null(ref("RecordWithdrawal", "Its withdrawal; null while it may be used.")),
        "overruled": or_null(whole("The draft that two other people overruled by this revision.", minimum=1)),
    }
    return thing(
        f"One revision of the limits of a {kind}, entered twice. A value that the document does not give is left out, "
        "never guessed.",
        {**_entered(kinds, names), **accepted},
        {**_printed(names), **standing},
    )


def _draft(names: FigureNames, kind: str, kinds: list[Kind]) -> Schema:
    state = {
        "state": words(NEVER_ACCEPTED, "How far it has come; disputed after two second entries that differ."),
        "mismatches": whole(_MISMATCHES, minimum=0),
    }
    return thing(
        f"A draft of the limits of a {kind}, as whoever entered it sees it; to everybody else it is hidden.",
        {**_entered(kinds, names), **state},
        {**_printed(names), "rejection": ref("Rejection")},
    )


def _hidden() -> Schema:
    vehicle = thing(
        "What the document is to be looked up for.", {"make": text("The maker."), "model": text("The model.")}
    )
    return thing(
        "A revision that was never accepted, as everybody but its author sees it: enough to find the document, and "
        "nothing that stands in its tables. The second entry is made without having seen the first.",
        {
            "limits_id": _id(),
            "revision": whole("The revision, from 1.", minimum=1),
            "values": text("hidden", const="hidden"),
            "state": words(NEVER_ACCEPTED, "How far it has come; disputed after two second entries that differ."),
            "mismatches": whole(_MISMATCHES, minimum=0),
            "kind": words(Kind, "The kind of part."),
            "application": vehicle,
            "source": ref("Source"),
            "entered_by": text("Who entered it."),
            "entered_at": or_null(moment("When it was entered.")),
        },
        {"rejection": ref("Rejection")},
    )


def _warning() -> Schema:
    return thing(
        "A warning at entry that did not hold the entry up, because somebody wrote down why.",
        {
            "code": text("The warning's code."),
            "pointer": text("JSON Pointer to the field that it was about."),
            "detail": text("What it said."),
            "reason": text("Why it stands all the same."),
        },
    )


def _rejection() -> Schema:
    return thing(
        "Why a draft never governed and never will.",
        {"rejected_by": text("Who gave it up."), "rejected_at": moment("When."), "reason": text("Why.")},
    )


def _record_withdrawal() -> Schema:
    return thing(
        "A withdrawal: from then on the record and all its revisions up to this one are not judged by.",
        {
            "revision": whole("The last revision that went.", minimum=1),
            "withdrawn_by": text("Who withdrew it."),
            "withdrawn_at": moment("When."),
            "reason": text("Why."),
        },
    )


def _withdrawal_answer() -> Schema:
    return thing(
        "What was withdrawn, in force from now on in every process; or the draft that was given up.",
        {
            "limits_id": _id(),
            "revision": whole("The last revision that went.", minimum=1),
            "state": words((EntryState.WITHDRAWN, EntryState.REJECTED), "Withdrawn, or a draft that was given up."),
            "reason": text("Why."),
            "withdrawn_by": text("Who withdrew it."),
            "withdrawn_at": moment("When."),
            "verdicts": whole("How many verdicts that this key may see rested on the record until then.", minimum=0),
            "touched": text("The address of the list of these verdicts.", format="uri-reference"),
        },
    )

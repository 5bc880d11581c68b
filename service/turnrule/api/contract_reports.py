"""What the contract says of the reports: their lines, and their operations."""

from __future__ import annotations

from turnrule.actions.call_back_lines import Reason, Urgency
from turnrule.actions.compliance_lines import RULES, Rule
from turnrule.actions.reporting_verdicts import MARGINS, MOST_GROUPS, By
from turnrule.api import report_queries
from turnrule.api.contract_operation import JSON, KEPT, REPORTS, Operation, Success
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
    whole,
    words,
)
from turnrule.api.lines import NDJSON
from turnrule.api.report_documents import FIGURES
from turnrule.api.report_tables import CALL_BACK_COLUMNS, COMPLIANCE_COLUMNS
from turnrule.judging.words import Axle, Kind, Level, Ruling, Side, Unit

CSV = "text/csv"
_SITE, _REFERENCE = "The site whose key sent the request.", "The caller's own job number."


def report_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {**_verdict_report(), **_compliance(), **_call_backs()}


def _verdict_report() -> dict[str, Schema]:
    named = {str(by): or_null(text(f"The {by}; null for verdicts that do not say.")) for by in By}
    return {
        "VerdictReport": thing(
            "Verdicts counted, and how far the parts were from their limits.",
            {
                "unit": words(Unit, "The unit of every length in this report."),
                "by": several(words(By, "A word."), "What the verdicts are put into groups by."),
                "total": ref("VerdictCount"),
                "groups": several(
                    ref("VerdictGroup"),
                    "The groups in the order of their names, null last.",
                    maxItems=MOST_GROUPS,
                ),
                "cautions": _cautions(),
            },
        ),
        "VerdictGroup": thing(
            "One group, by its names.",
            {"group": thing("The name of the group in each of what it is grouped by.", {}, named), **_count()},
        ),
        "VerdictCount": thing("How many verdicts, how they came out, and how their margins spread.", _count()),
        "Spread": thing(
            "How margins spread; null where none is known. A quartile between two margins lies on the straight line "
            "between them. In inches none is shown greater than it is.",
            {
                "known": whole("How many verdicts have this margin.", minimum=0),
                **{name: or_null(number(f"The {name.replace('_', ' ')}, in `unit`.")) for name in FIGURES},
            },
        ),
        "ReportCaution": thing(
            "A caution of the catalogue.",
            {
                "code": text("Its code."),
                "level": words(Level, "How loudly it speaks."),
                "text": text("What it says."),
            },
        ),
        "ReportSoFar": thing(
            "How far the stream is, where there was nothing else to tell for a while.",
            {"looked_at": whole("How many verdicts were looked at.", minimum=0)},
        ),
    }


def _count() -> dict[str, Schema]:
    return {
        "verdicts": whole("How many verdicts.", minimum=0),
        "rulings": thing("How many of each.", {str(one): whole(f"{one}.", minimum=0) for one in Ruling}),
        "margins": thing("By margin, as it was answered.", {name: ref("Spread") for name in MARGINS}),
    }


def _cautions() -> Schema:
    return several(ref("ReportCaution"), "What stands beside every report.")


def _done() -> dict[str, Schema]:
    return {"done": {"type": "boolean", "const": True, "description": "Always true."}}


def _compliance() -> dict[str, Schema]:
    return {
        "ComplianceStream": several(
            {"anyOf": [ref("ComplianceLine"), ref("ReportSoFar"), ref("ComplianceDone")]},
            "One JSON document a line. Only the last one says `done`; a stream without it did not reach its end.",
        ),
        "ComplianceLine": thing(
            "Something that was asked for and not got.",
            {
                "rule": words(Rule, " ".join(f"`{rule}`: {meaning}" for rule, meaning in RULES.items())),
                "verdict_ids": several(
                    text("A verdict.", pattern=VERDICT_ID),
                    "The verdict that shows it, then those that it hangs on.",
                    minItems=1,
                ),
                "axle_id": or_null(text("The axle verdict that the first is a side of.", pattern=VERDICT_ID)),
                "judged_at": moment("When the first was judged."),
                "site": or_null(text(_SITE)),
                "vehicle": or_null(text("The caller's own name for the vehicle.")),
                "reference": or_null(text(_REFERENCE)),
                "kind": words(Kind, "The kind of part."),
                "axle": or_null(words(Axle, "The axle.")),
                "side": or_null(words(Side, "The side of the axle.")),
                "policy": ref("PolicyRevisionName", "The policy that the first was judged under."),
                "evidence": text("What shows it, in a sentence."),
                "what_to_do": text("What it asks for, in a sentence."),
            },
        ),
        "ComplianceDone": thing(
            "The end of the stream.",
            {
                **_done(),
                "verdicts": whole("How many verdicts the report is about.", minimum=0),
                "rules": thing("How many lines of each rule.", {str(one): whole(f"{one}.", minimum=0) for one in Rule}),
                "cautions": _cautions(),
            },
        ),
    }


def _call_backs() -> dict[str, Schema]:
    return {
        "CallBackStream": several(
            {"anyOf": [ref("CallBack"), ref("ReportSoFar"), ref("CallBackDone")]},
            "One JSON document a line, most urgent first. Only the last one says `done`; a stream without it did not "
            "reach its end.",
        ),
        "CallBack": thing(
            "One axle of one vehicle about which something has to be done.",
            {
                "urgency": words(Urgency, "That of the most urgent part, most urgent first in this list of words."),
                "vehicle": text("The caller's own name for the vehicle."),
                "axle": words(Axle, "The axle."),
                "kind": words(Kind, "The kind of part."),
                "site": or_null(text("The site of the verdict on the most urgent part.")),
                "what_to_do": text("What the most urgent part asks for, in a sentence."),
                "parts": several(ref("CalledPart"), "The parts of the axle that are on the list.", minItems=1),
            },
        ),
        "CalledPart": thing(
            "One part, by the newest verdict on it.",
            {
                "side": or_null(words(Side, "The side of the axle; null where the verdict does not say.")),
                "verdict_id": text("The newest verdict on it.", pattern=VERDICT_ID),
                "judged_at": moment("When it was judged."),
                "site": or_null(text(_SITE)),
                "reference": or_null(text(_REFERENCE)),
                "verdict": words(Ruling, "The verdict."),
                "comes_out_as": or_null(
                    words(Ruling, "What it is under the newest release; null for the same, or where that is unknown.")
                ),
                "reasons": several(words(Reason, "A reason."), "Why it is on the list.", minItems=1),
                "urgency": words(Urgency, "What it asks for, to sort by."),
                "what_to_do": text("What it asks for, in a sentence."),
            },
        ),
        "CallBackDone": thing(
            "The end of the stream.",
            {
                **_done(),
                "release": or_null(whole("The newest release, that verdicts were compared with.", minimum=1)),
                "parts": whole("How many parts the list looked at.", minimum=0),
                "urgencies": thing(
                    "How many entries of each urgency.", {str(one): whole(f"{one}.", minimum=0) for one in Urgency}
                ),
                "cautions": _cautions(),
            },
        ),
    }


_SITES_ONLY = "A key that is bound to a site sees that site's verdicts only."
_AS_CSV = "With `Accept: text/csv` it comes as a table with a header; no cell of it can begin a formula."

REPORT_OPERATIONS = (
    Operation(
        "countVerdicts",
        "get",
        "/v1/reports/verdicts",
        REPORTS,
        "Count verdicts and their margins",
        "How many verdicts came out how, and how far the parts were from their limits: least, quartiles and greatest "
        "of each margin, exactly, of any number of verdicts; together and, with `by` and `then_by`, in groups, of "
        f"which there are {MOST_GROUPS} at most. {_SITES_ONLY} {_AS_CSV} There each group is a row, and all together "
        "where there are no groups.",
        (
            Success(
                200,
                "The report.",
                "VerdictReport",
                (*KEPT, "Vary"),
                JSON,
                other_types={CSV: None},
            ),
        ),
        scopes=("reports",),
        query=report_queries.VERDICT_REPORT,
        problems=("BadParameters", "NotAcceptable"),
    ),
    Operation(
        "listCompliance",
        "get",
        "/v1/reports/compliance",
        REPORTS,
        "List what policies asked for and did not get",
        "What the policy that each verdict was judged under asked for and did not get, with what shows it and what to "
        "do. What one verdict shows by itself is told in the order of recording; then, vehicle by vehicle, what the "
        "verdicts on one axle show together, whichever of them the parameters leave out. Verdicts without a vehicle, "
        f"an axle or a side are held against no others. {_SITES_ONLY} {_AS_CSV} Its columns are "
        f"{', '.join(COMPLIANCE_COLUMNS)}.",
        (
            Success(
                200, "The lines, as they are found.", "ComplianceStream", ("Vary",), NDJSON, other_types={CSV: None}
            ),
        ),
        scopes=("reports",),
        query=report_queries.COMPLIANCE,
        problems=("BadParameters", "NotAcceptable"),
    ),
    Operation(
        "listCallBacks",
        "get",
        "/v1/reports/call-backs",
        REPORTS,
        "List the vehicles to call back",
        "Every axle of every vehicle about which something has to be done, most urgent first: the newest verdict on "
        "one of its parts rests on limits that were withdrawn since, says replace or inconclusive, or comes out "
        f"differently under the newest release. {_SITES_ONLY} {_AS_CSV} There each part is a row; its columns are "
        f"{', '.join(CALL_BACK_COLUMNS)}.",
        (Success(200, "The list.", "CallBackStream", ("Vary",), NDJSON, other_types={CSV: None}),),
        scopes=("reports",),
        query=report_queries.CALL_BACKS,
        problems=("BadParameters", "NotAcceptable"),
    ),
)

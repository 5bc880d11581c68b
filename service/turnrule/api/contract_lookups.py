"""The schemas of what is looked up: policies, catalogues, what was asked for in vain, the service itself."""

from __future__ import annotations

from turnrule.api.contract_parts import (
    Schema,
    moment,
    number,
    or_null,
    page,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.api.queries import CoverageList
from turnrule.judging.words import Axle, DecisionRule, Effect, Kind, Level, Overdue, PairRule, Reading


def lookup_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {**_policies(), **_catalogues(), **_coverage(), **_service()}


def _policies() -> dict[str, Schema]:
    policy = thing(
        "One revision of a policy: as it was written, and with everything that it inherits.",
        {
            "name": text("The policy's name."),
            "revision": whole("The revision, from 1.", minimum=1),
            "origin": words(("pack", "store"), "Whether it came with the reference pack or was written here."),
            "inherits": or_null(ref("PolicyRevisionName", "The policy, and its revision, that this one tightens.")),
            "document": ref("PolicyBody", "The policy as it was written."),
            "effective": ref("EffectivePolicy"),
            "written_at": or_null(moment("When it was written; null for a policy of the pack.")),
            "written_by": or_null(text("The name of the key that wrote it.")),
        },
    )
    return {
        "Policy": policy,
        "EffectivePolicy": _effective(),
        "PolicyPage": page(ref("Policy"), "The revisions of a policy, oldest first."),
    }


def _effective() -> Schema:
    kept = number("In mm, 0 or more.", minimum=0)
    bound = or_null(number("In mm; null where the policy sets no bound.", minimum=0))
    gauge = thing(
        "The gauge, where a request is silent.",
        {"resolution": kept, "expanded_uncertainty": kept, "repeatability": kept},
    )
    distance = thing("A distance.", {"value": number("Kilometres.", minimum=0), "unit": text("km", const="km")})
    overdue = words(Overdue, "What becomes of the verdict.")
    return thing(
        "Everything that holds under the policy; lengths in mm.",
        {
            "unit": text("Always mm.", const="mm"),
            "decision_rule": words(DecisionRule, "How a figure is held against a strength limit."),
            "instrument": gauge,
            "minimum_points": whole("Least readings of a track.", minimum=1),
            "require": several(words(Reading, "A reading."), "Readings without which a verdict is inconclusive."),
            "discard_margin": kept,
            "machining_margin": kept,
            "wear_allowance": kept,
            "derive_machining_limit": truth(
                "Whether discard and wear allowance serve where no machining limit is known."
            ),
            "accept_caller_limits": truth("Whether limits in a request are judged by."),
            "maximum_runout": bound,
            "maximum_thickness_variation": bound,
            "maximum_out_of_round": bound,
            "maximum_taper": bound,
            "groove_limit": kept,
            "minimum_cut": kept,
            "total_cut": bound,
            "face_balance": bound,
            "axle_difference": bound,
            "pair_rule": words(PairRule, "What is asked of the two parts of an axle."),
            "remaining_distance": {"description": "Least distance left.", "oneOf": [distance, {"type": "null"}]},
            "findings": {
                "type": "object",
                "description": "Findings with the effect that they are raised to.",
                "additionalProperties": words(Effect, "What the finding does."),
            },
            "jurisdictions": several(text("The code of a place."), "Places whose laws all hold."),
            "regulations": several(
                text("A code of the catalogue of laws."), "Laws that hold, by themselves or with their place."
            ),
            "limits_review_due": overdue,
            "calibration_overdue": overdue,
        },
    )


def _catalogues() -> dict[str, Schema]:
    source = text("Where it was read, or that it is common practice.")
    pack = {"pack": ref("PackName")}
    finding = thing(
        "Something that may be seen on a part.",
        {
            "code": text("The code that a request names."),
            "title": text("What people call it."),
            "effect": words(Effect, "What it does to the verdict, where no policy raises it."),
            "kinds": several(words(Kind, "A kind of part."), "The kinds of part that it is seen on."),
            "parameters": several(text("The name of a field."), "What should be measured of it."),
            "text": text("How to tell it, and what it means."),
            "source": source,
        },
    )
    caution = thing(
        "A caution that a verdict may carry; a verdict fills in what stands in braces.",
        {
            "code": text("Its code."),
            "level": words(Level, "How loudly it speaks."),
            "text": text("What it says."),
            "source": source,
        },
    )
    rule = thing(
        "A rule that parts are judged by.",
        {"code": text("Its code."), "title": text("Its title."), "text": text("The rule in words."), "source": source},
    )
    return {
        "FindingEntry": finding,
        "CautionEntry": caution,
        "RuleEntry": rule,
        "FindingsPage": page(ref("FindingEntry"), "The catalogue of findings, by code.", pack),
        "CautionsPage": page(ref("CautionEntry"), "The catalogue of cautions, by code.", pack),
        "RulesPage": page(ref("RuleEntry"), "The rules of judgement, by code.", pack),
    }


def _coverage() -> dict[str, Schema]:
    miss = thing(
        "An application that was asked for and not found.",
        {
            "make": text("The maker, as it was asked for."),
            "model": text("The model."),
            "year": whole("The model year."),
            "axle": words(Axle, "The axle."),
            "kind": words(Kind, "The kind of part."),
            "brake_option": or_null(text("The brake option, where one was named.")),
            "count": whole("How often it was asked for.", minimum=1),
            "first_at": moment("When it was first asked for."),
            "last_at": moment("When it was last asked for."),
        },
    )
    counts = thing(
        "How much there is to do.",
        {
            "not_found": whole("Applications that were asked for and not found.", minimum=0),
            "awaiting_verification": whole("Drafts that wait for their second entry.", minimum=0),
            "review_due": whole("Records that govern past their review date.", minimum=0),
        },
    )
    lists = {
        "MissPage": (CoverageList.NOT_FOUND, "Miss", "What was asked for and not found, most wanted first."),
        "AwaitingPage": (CoverageList.AWAITING_VERIFICATION, "HiddenDraft", "Drafts that wait for a second entry."),
        "ReviewDuePage": (CoverageList.REVIEW_DUE, "LimitsRecord", "Records that govern past their review date."),
    }
    pages = {
        name: page(ref(entry), said, {"list": text("The list.", const=wanted.value), "counts": ref("CoverageCounts")})
        for name, (wanted, entry, said) in lists.items()
    }
    either = {"description": "A page of what is not there yet, told apart by `list`.", "oneOf": [*map(ref, pages)]}
    return {"Miss": miss, "CoverageCounts": counts, **pages, "CoveragePage": either}


def _service() -> dict[str, Schema]:
    meaning = thing(
        "What one problem means.",
        {
            "code": text("The problem's code."),
            "type": text("Its address, as it stands in type.", format="uri-reference"),
            "status": whole("The status that it is answered with.", minimum=400, maximum=599),
            "title": text("What it is."),
            "remedy": text("What a caller can do about it."),
        },
    )
    return {
        "Alive": thing("This process answers.", {"status": text("alive", const="alive")}),
        "Ready": thing(
            "The store can be read and written.",
            {"status": text("ready", const="ready"), "pack": text("The version of the reference pack.")},
        ),
        "Contract": thing(
            "An OpenAPI 3.1 document.",
            {
                "openapi": text("The version of OpenAPI.", pattern="^3[.]1[.]"),
                "info": {"type": "object", "description": "What the document is about."},
                "paths": {"type": "object", "description": "The operations by path and method."},
                "components": {"type": "object", "description": "What the operations share."},
            },
        ),
        "ProblemMeaning": meaning,
        "ProblemMeanings": thing("Every problem.", {"items": several(ref("ProblemMeaning"), "By status.")}),
    }

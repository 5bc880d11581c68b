"""Every operation of the service, in the order in which the contract lists them."""

from __future__ import annotations

from turnrule.api import queries
from turnrule.api.contract_operation import LIMITS, VERDICTS, Operation, Success, kept, link, listing
from turnrule.api.contract_service_operations import CATALOGUE_OPERATIONS, POLICY_OPERATIONS, SERVICE_OPERATIONS

_VERDICT_LINKS = {
    "record": link("readVerdict", "The verdict with its request.", verdict_id="$response.body#/id"),
    "limits": link("readLimits", "The limits record that governed.", limits_id="$response.body#/limits/limits_id"),
    "policy": link("readPolicy", "The policy that it was judged under.", name="$response.body#/policy/name"),
    "release": link("readRelease", "The release that it was judged under.", number="$response.body#/release"),
}

_VERDICTS = (
    Operation(
        "judgePart",
        "post",
        "/v1/verdicts",
        VERDICTS,
        "Judge one part",
        "Judges one rotor, drum or parking drum by its readings, and records the verdict before it is answered: "
        "what is answered is stored. The limits come from the store by `application`, from the request by `limits`, "
        "from the part by `marking`, or from all three; the strictest governs. With an `Idempotency-Key` the same "
        "request can be sent again without a second record.",
        (
            Success(
                201,
                "The verdict, recorded. With an Idempotency-Key that came before: the first answer again, to the byte.",
                "Verdict",
                ("Location", "Idempotency-Replayed"),
                links=_VERDICT_LINKS,
            ),
        ),
        scopes=("verdicts",),
        body="VerdictRequest",
        parameters=("Idempotency-Key",),
        problems=("BadBodyOrHeader", "BodyTooLarge", "UnsupportedMediaType", "RequestRefused"),
    ),
    Operation(
        "listVerdicts",
        "get",
        "/v1/verdicts",
        VERDICTS,
        "List recorded verdicts",
        "Recorded verdicts in short, in the order of recording. A key that is bound to a site sees that site's only.",
        (
            listing(
                "VerdictPage",
                "A page of recorded verdicts.",
                "listVerdicts",
                {"first": link("readVerdict", "The first of them.", verdict_id="$response.body#/items/0/id")},
            ),
        ),
        scopes=("verdicts", "reports"),
        query=queries.VERDICTS,
        problems=("BadParameters",),
    ),
    Operation(
        "readVerdict",
        "get",
        "/v1/verdicts/{verdict_id}",
        VERDICTS,
        "Read one verdict",
        "The answer as it was sent, byte for byte, followed by the request that it answered and how it was recorded.",
        (kept("RecordedVerdict", "The verdict with its request.", links=_VERDICT_LINKS),),
        scopes=("verdicts", "reports"),
        parameters=("verdict_id",),
        problems=("BadParameters", "NotFound"),
    ),
)

_LIMITS = (
    Operation(
        "listLimits",
        "get",
        "/v1/limits",
        LIMITS,
        "Look up the limits that govern",
        "Limits records by what they are for, in the newest release or an earlier one, on one day. A cursor keeps to "
        "the release and the day of its first page. Where nothing is found, `items` is empty.",
        (
            listing(
                "LimitsPage",
                "A page of limits records.",
                "listLimits",
                {"first": link("readLimits", "The first of them.", limits_id="$response.body#/items/0/limits_id")},
            ),
        ),
        query=queries.LIMITS,
        problems=("BadParameters",),
    ),
    Operation(
        "readLimits",
        "get",
        "/v1/limits/{limits_id}",
        LIMITS,
        "Read one limits record",
        "One revision of a record: every value as its document prints it, and in exact millimetres.",
        (kept("LimitsRecord", "The record."),),
        query=queries.REVISION,
        parameters=("limits_id",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listReleases",
        "get",
        "/v1/releases",
        LIMITS,
        "List the releases",
        "The numbered releases of the limits, oldest first. A release never changes.",
        (
            listing(
                "ReleasePage",
                "A page of releases.",
                "listReleases",
                {"first": link("readRelease", "The first of them.", number="$response.body#/items/0/number")},
            ),
        ),
        query=queries.PAGE,
        problems=("BadParameters",),
    ),
    Operation(
        "readRelease",
        "get",
        "/v1/releases/{number}",
        LIMITS,
        "Read one release",
        "When and by whom it was published, and the digest of what it holds.",
        (kept("Release", "The release."),),
        parameters=("number",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listMisses",
        "get",
        "/v1/coverage",
        LIMITS,
        "List what was asked for and not found",
        "Applications that requests named and the store does not hold, most wanted first: what to enter next.",
        (listing("MissPage", "A page of what is not there.", "listMisses"),),
        query=queries.PAGE,
        problems=("BadParameters",),
    ),
)

OPERATIONS = (*_VERDICTS, *_LIMITS, *CATALOGUE_OPERATIONS, *POLICY_OPERATIONS, *SERVICE_OPERATIONS)

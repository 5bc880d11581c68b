"""Every operation of the service, in the order in which the contract lists them."""

from __future__ import annotations

from turnrule.api import queries
from turnrule.api.contract_operation import Operation, Success, kept, link, listing

VERDICTS, LIMITS, CATALOGUES, POLICIES, SERVICE = "Verdicts", "Limits", "Catalogues", "Policies", "Service"

TAGS = {
    VERDICTS: "The main job: one part measured, judged and recorded; and the records.",
    LIMITS: "What governs: the limits as they were released, each with its document, and what is not there yet.",
    CATALOGUES: "What may be seen on a part, what to mind, and the rules in words.",
    POLICIES: "What a fleet or shop asks for beyond the limits; a policy only ever tightens.",
    SERVICE: "Whether the service lives and is ready, what it counts, what its problems mean, and this contract.",
}

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

_CATALOGUES = (
    Operation(
        "listFindings",
        "get",
        "/v1/findings",
        CATALOGUES,
        "List the findings",
        "Everything that may be seen on a part and named in a request, with what it does to the verdict and its source.",
        (kept("FindingsPage", "The whole catalogue; it has one page."),),
        problems=("BadParameters",),
    ),
    Operation(
        "listCautions",
        "get",
        "/v1/cautions",
        CATALOGUES,
        "List the cautions",
        "Every caution that a verdict may carry.",
        (kept("CautionsPage", "The whole catalogue; it has one page."),),
        problems=("BadParameters",),
    ),
    Operation(
        "listRules",
        "get",
        "/v1/rules",
        CATALOGUES,
        "List the rules of judgement",
        "The rules that parts are judged by, in words, each with its source.",
        (kept("RulesPage", "All rules; there is one page."),),
        problems=("BadParameters",),
    ),
)

_POLICY_LINKS = {
    "revisions": link("listPolicyRevisions", "Its revisions.", name="$response.body#/name"),
}

_POLICIES = (
    Operation(
        "readPolicy",
        "get",
        "/v1/policies/{name}",
        POLICIES,
        "Read a policy",
        "A policy as it was written and with everything that it inherits; its newest revision or an earlier one.",
        (kept("Policy", "The policy.", links=_POLICY_LINKS),),
        query=queries.REVISION,
        parameters=("policy_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listPolicyRevisions",
        "get",
        "/v1/policies/{name}/revisions",
        POLICIES,
        "List the revisions of a policy",
        "Every revision of a policy, oldest first. A revision never changes.",
        (listing("PolicyPage", "A page of revisions.", "listPolicyRevisions"),),
        query=queries.PAGE,
        parameters=("policy_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "writePolicy",
        "put",
        "/v1/policies/{name}",
        POLICIES,
        "Write the next revision of a policy",
        "Makes a policy (with `If-None-Match: *`) or writes its next revision (with `If-Match` and the ETag that was "
        "read). It keeps to the revision of its parent that it is written over, and is refused where it would loosen "
        "anything. Policies of the reference pack are not written; inherit from them.",
        (
            Success(201, "The policy, made.", "Policy", ("ETag", "Location"), links=_POLICY_LINKS),
            Success(200, "Its next revision, written.", "Policy", ("ETag", "Location"), links=_POLICY_LINKS),
        ),
        scopes=("policies:write",),
        body="PolicyBody",
        parameters=("policy_name", "If-Match", "If-None-Match-All"),
        problems=(
            "BadBody",
            "NotFound",
            "PolicyOfThePack",
            "Stale",
            "BodyTooLarge",
            "UnsupportedMediaType",
            "PolicyRefused",
            "PreconditionRequired",
        ),
    ),
)

_SERVICE = (
    Operation(
        "isAlive",
        "get",
        "/healthz",
        SERVICE,
        "Is the process alive?",
        "Answers as long as the process can answer at all; nothing else is looked at.",
        (Success(200, "It is.", "Alive"),),
        scopes=None,
    ),
    Operation(
        "isReady",
        "get",
        "/readyz",
        SERVICE,
        "Is the service ready?",
        "Looks whether the store is of this version and can be read and written now.",
        (Success(200, "It is.", "Ready"),),
        scopes=None,
        problems=("Unavailable",),
    ),
    Operation(
        "readMetrics",
        "get",
        "/metrics",
        SERVICE,
        "Read the counts",
        "Requests, durations and verdicts, counted over all processes, in the text format of Prometheus.",
        (Success(200, "The counts.", None, (), "text/plain; version=1.0.0; charset=utf-8"),),
        scopes=None,
    ),
    Operation(
        "listProblems",
        "get",
        "/problems",
        SERVICE,
        "List the problems",
        "Every problem that an answer may name as its `type`.",
        (kept("ProblemMeanings", "All of them."),),
        scopes=None,
        problems=("BadParameters",),
    ),
    Operation(
        "readProblem",
        "get",
        "/problems/{code}",
        SERVICE,
        "Read what a problem means",
        "The address that stands as `type` in a problem: what it means and what to do.",
        (kept("ProblemMeaning", "What it means."),),
        scopes=None,
        parameters=("problem_code",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "readContract",
        "get",
        "/openapi.json",
        SERVICE,
        "Read this contract",
        "This document, as JSON.",
        (kept("Contract", "The OpenAPI document."),),
        scopes=None,
        problems=("BadParameters",),
    ),
    Operation(
        "readDocs",
        "get",
        "/docs",
        SERVICE,
        "Read this contract as a page",
        "This document as a page to read. It needs no script and loads one style sheet of this service.",
        (Success(200, "The page.", None, ("ETag", "Cache-Control"), "text/html; charset=utf-8"),),
        scopes=None,
        problems=("BadParameters",),
    ),
    Operation(
        "readDocsStyle",
        "get",
        "/docs/style.css",
        SERVICE,
        "Read the page's style sheet",
        "The style sheet of the page.",
        (Success(200, "The style sheet.", None, ("ETag", "Cache-Control"), "text/css; charset=utf-8"),),
        scopes=None,
        problems=("BadParameters",),
    ),
    Operation(
        "enter",
        "get",
        "/",
        SERVICE,
        "Come in",
        "Leads to the page of this contract.",
        (Success(302, "The page is at Location.", None, ("Location",), None),),
        scopes=None,
        problems=("BadParameters",),
    ),
)

OPERATIONS = (*_VERDICTS, *_LIMITS, *_CATALOGUES, *_POLICIES, *_SERVICE)

"""The operations on limits: entered twice, released, looked up, compared, withdrawn."""

from __future__ import annotations

from turnrule.api import impact, lines, queries
from turnrule.api.contract_operation import LIMITS, Operation, Success, for_ever, kept, link, listing

_OF_RECORD = {
    "revisions": link("listRevisions", "Its revisions.", limits_id="$response.body#/limits_id"),
}
_OF_DRAFT = {
    **_OF_RECORD,
    "verification": link("verifyLimits", "Where the second entry goes.", limits_id="$response.body#/limits_id"),
}
_SENT = ("BadBodyOrHeader", "BodyTooLarge", "UnsupportedMediaType")
"""Problems of everything that is sent to be stored."""

_ONCE = ("Location", "Idempotency-Replayed")
_AGAIN = "With an Idempotency-Key that came before: the first answer again, to the byte."

ENTRY_OPERATIONS = (
    Operation(
        "enterLimits",
        "post",
        "/v1/limits",
        LIMITS,
        "Enter limits",
        "The first of two entries, by someone with the document in hand: a new record, or with `corrects` the next "
        "revision of one. It is held against everything that can be known of it, and then waits as a draft, its values "
        "hidden, for somebody else to enter the same from the same document. What looks wrong is refused; what only "
        "looks odd is warned of, and goes on once `answered_warnings` says why it stands.",
        (Success(201, f"The draft. {_AGAIN}", "LimitsDraft", _ONCE, links=_OF_DRAFT),),
        scopes=("limits:write",),
        body="LimitsBody",
        parameters=("Idempotency-Key",),
        problems=(*_SENT, "EntryInTheWay", "EntryRefused"),
    ),
    Operation(
        "verifyLimits",
        "post",
        "/v1/limits/{limits_id}/verifications",
        LIMITS,
        "Enter limits a second time",
        "The second entry: somebody else enters the same limits from the same document, under a key of their own, "
        "without having seen the first. Equal: the draft is verified, and the next release holds it. Else 409 names "
        "the fields that differ, and never a value. After two entries that differ, somebody who made none of them "
        "settles it: whichever entry theirs equals is verified. A key with the scope `admin` is still one person.",
        (Success(201, f"The revision that is verified. {_AGAIN}", "LimitsRecord", _ONCE, links=_OF_RECORD),),
        scopes=("limits:verify",),
        body="SecondEntryBody",
        parameters=("limits_id", "Idempotency-Key"),
        problems=(*_SENT, "NotFound", "SecondEntryInTheWay", "BodyRefused"),
        forbidden="OtherPersonNeeded",
    ),
    Operation(
        "withdrawLimits",
        "post",
        "/v1/limits/{limits_id}/withdrawals",
        LIMITS,
        "Withdraw limits, or give up a draft",
        "Takes a record out of use at once, in every process, without a release: from the answer on no part is judged "
        "by any of its revisions, and a verdict that would need it is inconclusive and says why. Releases that held it "
        "stay as they were. Where no revision was ever accepted, or `revision` names it, the open draft is given up.",
        (
            Success(
                201,
                f"What was withdrawn, and how many recorded verdicts rest on it. {_AGAIN}",
                "WithdrawalAnswer",
                _ONCE,
                links=_OF_RECORD,
            ),
        ),
        scopes=("limits:write", "limits:verify", "releases:publish"),
        body="WithdrawalBody",
        parameters=("limits_id", "Idempotency-Key"),
        problems=(*_SENT, "NotFound", "NothingToWithdraw", "BodyRefused"),
    ),
    Operation(
        "publishRelease",
        "post",
        "/v1/releases",
        LIMITS,
        "Publish a release",
        "Publishes all that is verified as the next numbered release, without what was withdrawn. A release never "
        "changes; its digest is that of everything that it holds.",
        (
            Success(
                201,
                f"The release. {_AGAIN}",
                "Release",
                _ONCE,
                links={
                    "release": link("readRelease", "The release.", number="$response.body#/number"),
                    "changes": link("listChanges", "What it changed.", number="$response.body#/number"),
                    "impact": link("listImpact", "Which verdicts it changes.", number="$response.body#/number"),
                },
            ),
        ),
        scopes=("releases:publish",),
        body="ReleaseBody",
        parameters=("Idempotency-Key",),
        problems=(*_SENT, "NothingToPublish", "BodyRefused"),
    ),
)

_LOOK_UPS = (
    Operation(
        "listLimits",
        "get",
        "/v1/limits",
        LIMITS,
        "Look up the limits that govern",
        "Limits records by what they are for, on one day. Without `release`: in the newest one, less what was "
        "withdrawn since. With it: as it answered on the day on which it was published, for ever. A cursor keeps to "
        "the release, the day and the withdrawals of its first page. Where nothing is found, `items` is empty.",
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
        "Every value as its document prints it, and in exact millimetres, with who entered it and who entered it "
        "again. Without `revision`: the newest one that was released (before that the newest of any state), and how "
        "it stands now. With it: that revision, which never changes once it is accepted; it says nothing of what came "
        "after. The values of what was never accepted are shown to nobody but whoever entered it.",
        (kept("LimitsRevision", "The record.", links=_OF_RECORD),),
        query=queries.REVISION,
        parameters=("limits_id",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listRevisions",
        "get",
        "/v1/limits/{limits_id}/revisions",
        LIMITS,
        "List the revisions of a limits record",
        "Every revision that was ever entered, oldest first, with what became of it. Nothing is changed or deleted.",
        (listing("LimitsRevisionPage", "A page of revisions.", "listRevisions"),),
        query=queries.PAGE,
        parameters=("limits_id",),
        problems=("BadParameters", "NotFound"),
    ),
)

_RELEASES = (
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
        (for_ever("Release", "The release."),),
        parameters=("number",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listChanges",
        "get",
        "/v1/releases/{number}/changes",
        LIMITS,
        "List what changed between two releases",
        "Row by row: which field, what it said before and what it says now, why, by whom, from which document; and "
        "what was withdrawn. Without `since`: since the release before.",
        (listing("ChangePage", "A page of changes.", "listChanges"),),
        query=queries.CHANGES,
        parameters=("number",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listImpact",
        "get",
        "/v1/releases/{number}/impact",
        LIMITS,
        "List the verdicts that a release changes",
        "Every stored verdict that would come out differently under the release, judged again as of its day and under "
        "its policy: the list of whom to call back. It is streamed, one JSON document a line, and can be taken up "
        "again where it broke. A key that is bound to a site sees that site's verdicts only.",
        (Success(200, "The verdicts, as they are found.", "ImpactStream", (), lines.NDJSON),),
        scopes=("reports", "releases:publish"),
        query=impact.IMPACT,
        parameters=("number",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "readPack",
        "get",
        "/v1/releases/{number}/pack",
        LIMITS,
        "Take a release along as a data pack",
        "The release as one file, the same to the byte whenever and wherever it is made. Another store that imports it "
        "holds a release of the same digest.",
        (Success(200, "The pack.", None, ("ETag", "Cache-Control"), "application/zip"),),
        parameters=("number",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listMisses",
        "get",
        "/v1/coverage",
        LIMITS,
        "List what is not there yet",
        "What there is to do: applications that requests named and the store does not hold, most wanted first; drafts "
        "that wait for their second entry; records that govern past their review date. `counts` tells how many of "
        "each.",
        (listing("CoveragePage", "A page of what is not there.", "listMisses"),),
        query=queries.COVERAGE,
        problems=("BadParameters",),
    ),
)

LIMITS_OPERATIONS = (*_LOOK_UPS, *ENTRY_OPERATIONS, *_RELEASES)

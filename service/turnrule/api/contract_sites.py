"""What the contract says of policies in lists and in words, and of the sites that are given them."""

from __future__ import annotations

from turnrule.api import queries
from turnrule.api.contract_operation import POLICIES, Operation, Success, kept, link, listing
from turnrule.api.contract_parts import Schema, moment, or_null, page, ref, several, text, thing, whole, words
from turnrule.pack import Direction

SITE_PATTERN = "^[A-Za-z0-9][A-Za-z0-9 ._-]{0,62}$"
_NAMED = "PolicyRevisionName"


def site_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "PolicyLine": thing(
            "The newest revision of a policy in short.",
            {
                "name": text("The policy's name."),
                "revision": whole("The revision, from 1.", minimum=1),
                "origin": words(("pack", "store"), "Whether it came with the reference pack or was written here."),
                "inherits": or_null(ref(_NAMED, "The policy, and its revision, that this one tightens.")),
                "why": or_null(text("Why it asks for what it asks for.")),
                "written_at": or_null(moment("When it was written; null for a policy of the pack.")),
                "written_by": or_null(text("The name of the key that wrote it.")),
            },
        ),
        "PolicyLinePage": page(ref("PolicyLine"), "The policies, by name."),
        "PolicyChanges": _changes(),
        "PolicyChange": _change(),
        "Site": thing(
            "Which policy a site has from a moment on.",
            {
                "site": text("The site, as keys are bound to it.", pattern=SITE_PATTERN),
                "revision": whole("The revision, from 1.", minimum=1),
                "policy": text("The policy that the verdicts of its keys are judged under, in its newest revision."),
                "written_at": moment("When it was given."),
                "written_by": text("The name of the key that gave it."),
            },
        ),
        "SitePage": page(ref("Site"), "Sites by name, or the revisions of one, oldest first."),
    }


def _changes() -> Schema:
    counts = {
        Direction.STRICTER: "How many of the changes make it stricter.",
        Direction.LOOSER: "How many make it looser.",
        Direction.OTHER: "How many change nothing that holds.",
    }
    return thing(
        "What differs between two policies or revisions; what they inherit is filled in on both sides.",
        {
            "old": ref(_NAMED, "What it is compared with."),
            "new": ref(_NAMED, "What is told of."),
            **{direction.value: whole(said, minimum=0) for direction, said in counts.items()},
            "changes": several(ref("PolicyChange"), "Every field that differs."),
        },
    )


def _change() -> Schema:
    value = {"type": ["number", "string", "boolean", "null"]}
    return thing(
        "One field that differs; of a list, one entry of it.",
        {
            "field": text("Its JSON Pointer in a policy body."),
            "old": {"description": "What it was; null where nothing was set, or the entry was not there.", **value},
            "new": {"description": "What it is; null where nothing is set, or the entry is gone.", **value},
            "unit": or_null(words(("mm", "km"), "The unit of both; null where they have none.")),
            "direction": words(Direction, "Which way it goes."),
            "set_by": or_null(ref(_NAMED, "The policy in the line whose document says so; null where none does.")),
            "sentence": text("The same in words."),
        },
    )


_POLICY = {"policy": link("readPolicy", "The policy.", name="$response.body#/policy")}

POLICY_LIST_OPERATIONS = (
    Operation(
        "listPolicies",
        "get",
        "/v1/policies",
        POLICIES,
        "List the policies",
        "The newest revision of every policy, those of the reference pack and those written here, by name.",
        (
            listing(
                "PolicyLinePage",
                "A page of policies.",
                "listPolicies",
                {"first": link("readPolicy", "The first of them.", name="$response.body#/items/0/name")},
            ),
        ),
        query=queries.NAMES,
        problems=("BadParameters",),
    ),
    Operation(
        "listPolicyChanges",
        "get",
        "/v1/policies/{name}/changes",
        POLICIES,
        "Tell in words what changed in a policy",
        "What holds otherwise under a revision than under an earlier one, under what it inherits (where it is the "
        "first), or under another policy. What is inherited counts: a parent's newer revision shows where the policy "
        "was written over it. Each change says whether it is stricter or looser, and in one sentence what it means.",
        (kept("PolicyChanges", "What differs."),),
        query=queries.POLICY_CHANGES,
        parameters=("policy_name",),
        problems=("BadParameters", "NotFound"),
    ),
)

SITE_OPERATIONS = (
    Operation(
        "listSites",
        "get",
        "/v1/sites",
        POLICIES,
        "List the sites and their policies",
        "The sites that were given a policy, by name. A key that is bound to a site sees that one only.",
        (listing("SitePage", "A page of sites.", "listSites"),),
        query=queries.NAMES,
        problems=("BadParameters",),
    ),
    Operation(
        "readSite",
        "get",
        "/v1/sites/{site}",
        POLICIES,
        "Read which policy a site has",
        "The policy that a site was given; the newest revision or an earlier one. Where a site was given none, the "
        "default policy holds, and this is not found.",
        (kept("Site", "The site and its policy.", links=_POLICY),),
        query=queries.REVISION,
        parameters=("site_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listSiteRevisions",
        "get",
        "/v1/sites/{site}/revisions",
        POLICIES,
        "List the policies that a site was given",
        "Every policy that a site was given, oldest first. A revision never changes.",
        (listing("SitePage", "A page of revisions.", "listSiteRevisions"),),
        query=queries.PAGE,
        parameters=("site_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "giveSitePolicy",
        "put",
        "/v1/sites/{site}",
        POLICIES,
        "Give a site a policy",
        "From now on, what keys of this site ask for is judged under the policy, in its newest revision, where a "
        "request names none. A request that names another is refused unless that one inherits from the site's and is "
        "nowhere looser. For the first time with `If-None-Match: *`, then with `If-Match` and the ETag that was read.",
        (
            Success(201, "The site, given its first policy.", "Site", ("ETag", "Location"), links=_POLICY),
            Success(200, "The site, given another one.", "Site", ("ETag", "Location"), links=_POLICY),
        ),
        scopes=("policies:write",),
        body="SiteBody",
        parameters=("site_name", "If-Match", "If-None-Match-All"),
        problems=(
            "BadBody",
            "NotFound",
            "Stale",
            "BodyTooLarge",
            "UnsupportedMediaType",
            "SiteRefused",
            "PreconditionRequired",
        ),
    ),
)

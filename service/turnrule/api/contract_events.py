"""What the contract says of the feed of events."""

from __future__ import annotations

from turnrule.api import report_queries
from turnrule.api.contract_operation import REPORTS, Operation, kept, link
from turnrule.api.contract_parts import (
    CURSOR,
    DIGEST,
    Schema,
    moment,
    or_null,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.words import Ruling
from turnrule.store.port import EventKind


def event_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "Event": thing(
            "Something that happened, and where it can be read.",
            {
                "sequence": whole("Its place in the order of commit; keys that see less see gaps.", minimum=1),
                "kind": words(EventKind, "What happened: something of this kind was stored."),
                "subject": text("The id of the verdict or record, the number of the release, or a name."),
                "revision": or_null(whole("Of a policy, lathe, site or withdrawn record: its revision.", minimum=0)),
                "at": moment("When."),
                "by": text("The name of the key, or of the person at the command line."),
                "site": or_null(text("Of a verdict or a site: the site.")),
                "verdict": or_null(words(Ruling, "Of a verdict: what it says.")),
                "digest": or_null(text("Of a verdict or release: its digest.", pattern=DIGEST)),
                "href": text("The address of what happened.", format="uri-reference"),
            },
        ),
        "EventPage": thing(
            "A page of the feed.",
            {
                "items": several(ref("Event"), "What happened, in the order of commit."),
                "next": text(
                    "Where to go on, as `after`; also on a page that is empty.", pattern=CURSOR, maxLength=1000
                ),
                "more": truth("Whether there is more behind this page now, though perhaps nothing for this key."),
            },
        ),
    }


EVENT_OPERATIONS = (
    Operation(
        "listEvents",
        "get",
        "/v1/events",
        REPORTS,
        "Follow what happens",
        "Verdicts, axle verdicts, releases, withdrawals, policies, lathes and sites, in the order in which they were "
        "committed. Pull a page, do what is to be done, keep `next`, and pull on from there: whoever goes on from the "
        "last `next` that was kept misses nothing, and meets again what was done after it was kept. Where `more` is "
        "false, wait a while. A key that is bound to a site sees the verdicts of that site, and what concerns all.",
        (
            kept(
                "EventPage",
                "A page of the feed.",
                "Link",
                links={"next": link("listEvents", "What happens after this page.", after="$response.body#/next")},
            ),
        ),
        scopes=("reports", "verdicts"),
        query=report_queries.EVENTS,
        problems=("BadParameters",),
    ),
)

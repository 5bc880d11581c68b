"""Every operation of the service, in the order in which the contract lists them."""

from __future__ import annotations

from turnrule.api import queries
from turnrule.api.contract_axle import AXLE_OPERATIONS
from turnrule.api.contract_batch import BATCH_OPERATIONS
from turnrule.api.contract_certificates import CERTIFICATE_OPERATIONS
from turnrule.api.contract_events import EVENT_OPERATIONS
from turnrule.api.contract_lathes import LATHE_OPERATIONS
from turnrule.api.contract_limits_operations import LIMITS_OPERATIONS
from turnrule.api.contract_operation import VERDICTS, Operation, Success, for_ever, link, listing
from turnrule.api.contract_quote import QUOTE_OPERATIONS
from turnrule.api.contract_replay import REPLAY_OPERATIONS
from turnrule.api.contract_reports import REPORT_OPERATIONS
from turnrule.api.contract_service_operations import CATALOGUE_OPERATIONS, POLICY_OPERATIONS, SERVICE_OPERATIONS
from turnrule.api.contract_setup_operations import SETUP_OPERATIONS
from turnrule.api.contract_sites import POLICY_LIST_OPERATIONS, SITE_OPERATIONS
from turnrule.api.contract_trials import TRIAL_OPERATIONS

_VERDICT_LINKS = {
    "record": link("readVerdict", "The verdict with its request.", verdict_id="$response.body#/id"),
    "certificate": link(
        "readCertificate", "The certificate, where the part is finished.", verdict_id="$response.body#/id"
    ),
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
        (for_ever("RecordedVerdict", "The verdict with its request.", links=_VERDICT_LINKS),),
        scopes=("verdicts", "reports"),
        parameters=("verdict_id",),
        problems=("BadParameters", "NotFound"),
    ),
)

OPERATIONS = (
    *_VERDICTS,
    *CERTIFICATE_OPERATIONS,
    *BATCH_OPERATIONS,
    *REPLAY_OPERATIONS,
    *AXLE_OPERATIONS,
    *SETUP_OPERATIONS,
    *QUOTE_OPERATIONS,
    *LIMITS_OPERATIONS,
    *CATALOGUE_OPERATIONS,
    *POLICY_LIST_OPERATIONS,
    *POLICY_OPERATIONS,
    *TRIAL_OPERATIONS,
    *LATHE_OPERATIONS,
    *SITE_OPERATIONS,
    *REPORT_OPERATIONS,
    *EVENT_OPERATIONS,
    *SERVICE_OPERATIONS,
)

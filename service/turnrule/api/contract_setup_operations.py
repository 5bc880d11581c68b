"""The operation that checks a set-up."""

from __future__ import annotations

from turnrule.api.contract_operation import VERDICTS, Operation, Success

SETUP_OPERATIONS = (
    Operation(
        "checkSetup",
        "post",
        "/v1/setup-checks",
        VERDICTS,
        "Check a set-up at the lathe",
        "Is the part mounted right, or is it to be mounted again? Takes scratches or indicator traces of the face, the "
        "part turned on the arbor in between, and tells the mount's runout from the part's own, what the mount would "
        "cost in metal, and whether the part can afford it. Also works out where on the hub a part runs truest "
        "(`hub`), where the tools must go (`faces`) and the form of a drum (`tracks`). Each block is answered under "
        "its own name, as far as the readings tell it, and `missing` says what to read for more. It is a computation: "
        "nothing is stored, and it can be sent again without an idempotency key; one that is sent is not looked at.",
        (Success(200, "What the readings tell.", "SetupCheck"),),
        scopes=("verdicts",),
        body="SetupRequest",
        problems=("BadBody", "BodyTooLarge", "UnsupportedMediaType", "SetupRefused"),
    ),
)

"""A batch of verdicts in the contract: the operation, and the shapes of what is sent and answered."""

from __future__ import annotations

from turnrule.api.batch_answers import COLUMNS
from turnrule.api.batches import BATCH
from turnrule.api.contract_operation import VERDICTS, Operation, Success
from turnrule.api.contract_parts import Schema, ref, several, thing, truth, whole

NDJSON, CSV = "application/x-ndjson", "text/csv"

_HOW = (
    "Judges one verdict request after another, of a JSON array, of NDJSON or of CSV, and answers each in its place, in "
    "the same order: with its verdict, which is recorded before it is answered, or with the problem that it would "
    "have alone. A bad item never stops the others; where the frame breaks (an array that is not closed, a quote in "
    "CSV) the problem stands in the place of the next item, and nothing behind it is read. Memory does not grow with "
    "the batch, which may have 1 GiB. With an `Idempotency-Key` a batch that broke off can be sent again whole: each "
    "item that was recorded is answered as before. CSV has a header with the names of a request's fields, with a dot "
    "for each step inwards (`vehicle.label`); lists stand in one cell with spaces between. "
    f"The answer in CSV has the columns {', '.join(COLUMNS)}. "
    "The answer has the form of the batch, unless `Accept` asks for another of the three."
)

BATCH_OPERATIONS = (
    Operation(
        "judgeBatch",
        "post",
        "/v1/verdict-batches",
        VERDICTS,
        "Judge many parts",
        _HOW,
        (
            Success(
                200,
                "What became of each item. An answer that does not reach its end broke off.",
                "BatchAnswer",
                other_types={NDJSON: "BatchItem", CSV: None},
            ),
        ),
        scopes=("verdicts",),
        query=BATCH,
        body="VerdictBatch",
        other_bodies={NDJSON: "VerdictRequest", CSV: None},
        parameters=("Idempotency-Key",),
        problems=("BadBodyOrHeader", "NotAcceptable", "BodyTooLarge", "UnsupportedMediaType", "BatchRefused"),
    ),
)


def batch_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    place = {"index": whole("The place of the item in the batch, from 0.", minimum=0)}
    return {
        "VerdictBatch": several(ref("VerdictRequest"), "Verdict requests, to be judged in this order."),
        "BatchAnswer": several(ref("BatchItem"), "One answer to each item, in their order."),
        "BatchItem": {
            "description": "What became of one item; in NDJSON each stands on a line.",
            "oneOf": [ref("BatchVerdict"), ref("BatchProblem")],
        },
        "BatchVerdict": thing(
            "An item whose verdict is recorded.",
            {
                **place,
                "status": {
                    "type": "integer",
                    "const": 201,
                    "description": "As for a request of its own.",
                },
                "replayed": truth("True where it was recorded before, under the same Idempotency-Key."),
                "verdict": ref("Verdict"),
            },
        ),
        "BatchProblem": thing(
            "An item that could not be judged or recorded.",
            {
                **place,
                "status": whole("The status of the problem.", minimum=400, maximum=599),
                "problem": ref("Problem"),
            },
        ),
    }

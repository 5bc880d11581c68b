"""Axle verdicts as the JSON documents that lists and records show."""

from __future__ import annotations

import orjson

from turnrule.actions.answers import Json, moment
from turnrule.store.port import AxleRecord


def axle_line(record: AxleRecord) -> Json:
    """An axle verdict as a list shows it; the whole of it stands under its own address."""
    return {
        "id": record.id,
        "sequence": record.sequence,
        "judged_at": moment(record.judged_at),
        "verdict": record.ruling,
        "kind": record.kind,
        "left_verdict_id": record.left_id,
        "right_verdict_id": record.right_id,
        "vehicle": record.vehicle,
        "reference": record.reference,
        "site": record.site,
        "key": record.key_name,
        "digest": record.digest,
    }


def whole_axle(record: AxleRecord) -> bytes:
    """The answer as it was sent, with the request as it was read and how it was recorded.

    The answer's own bytes are kept: what is added stands behind them.
    """
    beside = orjson.dumps(
        {
            "request": orjson.Fragment(record.request),
            "recorded": {"sequence": record.sequence, "key": record.key_name, "site": record.site},
        }
    )
    return record.answer[:-1] + b"," + beside[1:]

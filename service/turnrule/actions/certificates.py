"""What was measured of a finished part, with what, against which limits, and what was decided: a certificate.

It is made from the stored record alone, so that it is the same to the byte whenever it is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import orjson

from turnrule.actions.answers import Json, moment
from turnrule.actions.finished_parts import stage_of
from turnrule.actions.numbers import canonical, digest_of, read_exact, write_exact
from turnrule.actions.refusals import refused
from turnrule.judging.words import CheckName, Ruling, Stage
from turnrule.store.port import VerdictRecord

NOT_FINISHED = "not_a_finished_part"
"""The code of the refusal where the record is not of a finished part."""

STATEMENT = (
    "This states what was measured, with which gauge, and what the rules named here decide from it. It is no licence "
    "and no inspection, and nobody looked at the part to make it. The maker's service data, the law of the place and "
    "the judgement of the licensed technician go before it."
)

_TRACKS = ("thickness", "thickness_inner", "diameter", "diameter_inner", "lateral_runout_trace")
_READINGS = (
    *_TRACKS,
    "lateral_runout",
    "runout_read_on",
    "setup_runout",
    "groove_depth",
    "surface_roughness",
    "part_temperature_c",
    "marking",
    "findings",
)
_FINISHED = frozenset({CheckName.SURFACE_FINISH})
_BALANCE = frozenset({CheckName.TOTAL_CUT, CheckName.FACE_BALANCE})

Document = Mapping[str, Any]


def certificate_of(record: VerdictRecord) -> bytes:
    """The certificate of a stored verdict. Raises `RefusedError` where the part was not machined yet."""
    if stage_of(record) is not Stage.AFTER_MACHINING:
        detail = f"verdict {record.id} is on a part before machining; one with stage after_machining has a certificate"
        raise refused(NOT_FINISHED, "", detail)
    request, answer = read_exact(record.request), read_exact(record.answer)
    document = {
        "statement": STATEMENT,
        "passed": record.ruling is Ruling.SERVICEABLE,
        "verdict": {
            "id": record.id,
            "verdict": record.ruling,
            "summary": answer["summary"],
            "digest": record.digest,
            "judged_at": moment(record.judged_at),
        },
        "kind": record.kind,
        "part": _part(record, request),
        "unit": answer["unit"],
        "measured": _measured(request),
        "instrument": _instrument(request, answer),
        "figures": answer["figures"],
        "limits": answer["limits"],
        "checks": answer["checks"],
        "surface_finish": [check for check in answer["checks"] if check["check"] in _FINISHED],
        "cut": [check for check in answer["checks"] if check["check"] in _BALANCE],
        "metal_taken": answer.get("metal_taken"),
        "missing": answer["missing"],
        "cautions": answer["cautions"],
        "recorded": {"sequence": record.sequence, "key": record.key_name, "site": record.site},
        **{name: answer[name] for name in ("release", "policy", "pack", "engine")},
    }
    return write_exact({**document, "digest": digest_of(canonical(document))})


def _part(record: VerdictRecord, request: Document) -> Json:
    """Which part it is, as the request names it; null where it does not."""
    vehicle = request.get("vehicle", {})
    return {
        "application": request.get("application"),
        "side": record.side,
        "vehicle": record.vehicle,
        "odometer": vehicle.get("odometer"),
        "reference": record.reference,
        "axle_id": record.axle_id,
    }


def _measured(request: Document) -> Json:
    """Every reading as it was given, to its last digit, and how many there are of each track."""
    given = {name: request[name] for name in _READINGS if name in request}
    return {
        "stage": request["stage"],
        "points": {name: len(given[name]) for name in _TRACKS if name in given},
        "readings": _as_given(given),
    }


def _as_given(value: object) -> object:
    """The same document with every number written as it came: a last 0 says how finely it was read."""
    if isinstance(value, Mapping):
        return {name: _as_given(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_as_given(inner) for inner in value]
    return orjson.Fragment(str(value)) if isinstance(value, Decimal) else value


def _instrument(request: Document, answer: Document) -> Json:
    """What it was measured with; null as it was taken where the answer is older than that it told this."""
    given = request.get("instrument", {})
    return {
        "label": given.get("label"),
        "calibration_due": given.get("calibration_due"),
        "taken": answer.get("instrument"),
        "guard_band": answer["margins"]["guard_band"],
    }

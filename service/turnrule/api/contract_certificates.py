"""Certificates in the contract: the operation, and the schemas of what it answers."""

from __future__ import annotations

from turnrule.api.contract_operation import VERDICTS, Operation, for_ever, link
from turnrule.api.contract_parts import (
    DIGEST,
    VERDICT_ID,
    Schema,
    either_kind,
    moment,
    number,
    or_null,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.words import Kind, Ruling, Side, Stage, Unit

CERTIFICATE_OPERATIONS = (
    Operation(
        "readCertificate",
        "get",
        "/v1/verdicts/{verdict_id}/certificate",
        VERDICTS,
        "Read the certificate of a finished part",
        "For a verdict with stage after_machining: what was measured, with what, against which limits, what was taken "
        "off and what was decided, by which key and when; made from the stored record alone. It states measurements "
        "and a decision by rule. It is no licence and no inspection.",
        (
            for_ever(
                "Certificate",
                "The certificate.",
                links={
                    "record": link(
                        "readVerdict", "The verdict with its request.", verdict_id="$response.body#/verdict/id"
                    ),
                },
            ),
        ),
        scopes=("verdicts", "reports"),
        parameters=("verdict_id",),
        problems=("BadParameters", "NotFound", "NotFinished"),
    ),
)


def certificate_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "Certificate": either_kind("RotorCertificate", "DrumCertificate", "The certificate of a finished part."),
        "RotorCertificate": _certificate("Rotor"),
        "DrumCertificate": _certificate("Drum"),
        "CertifiedVerdict": _verdict(),
        "CertifiedPart": _part(),
        "CertifiedReadings": _measured(),
        "CertifiedInstrument": _instrument(),
    }


def _certificate(kind: str) -> Schema:
    return thing(
        "What was measured of a finished part, and what was decided.",
        {
            "statement": text("What this says and what it does not."),
            "passed": truth("True where the verdict is serviceable, and only there."),
            "verdict": ref("CertifiedVerdict"),
            "kind": words([one for one in Kind if one.is_rotor is (kind == "Rotor")], "The kind of part."),
            "part": ref("CertifiedPart"),
            "unit": words(Unit, "The unit of every length: the request's."),
            "measured": ref("CertifiedReadings"),
            "instrument": ref("CertifiedInstrument"),
            "figures": ref(f"{kind}Figures"),
            "limits": ref(f"{kind}GoverningLimits"),
            "checks": several(ref("Check"), "Every check of the verdict."),
            "surface_finish": several(ref("Check"), "Of these, that of the finish."),
            "cut": several(ref("Check"), "Of these, those of the policy's bounds of a cut."),
            "metal_taken": or_null(ref(f"{kind}MetalTaken", "Null where the request told nothing of it.")),
            "missing": several(text("A reading, or a limit that is not known."), "What was missing."),
            "cautions": several(ref("GivenCaution"), "What to mind, the loudest first."),
            "recorded": thing(
                "How the verdict was recorded.",
                {
                    "sequence": whole("Its place in the order of recording.", minimum=1),
                    "key": text("The name of the key that the request came under."),
                    "site": or_null(text("The site that the key is bound to.")),
                },
            ),
            "release": or_null(whole("The release of the limits; null while there was none.", minimum=1)),
            "policy": ref("PolicyRevisionName"),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "digest": text(
                "SHA-256 of this document without digest: JSON with sorted names, no spaces, UTF-8.", pattern=DIGEST
            ),
        },
    )


def _verdict() -> Schema:
    return thing(
        "The verdict that is certified.",
        {
            "id": text("Its id.", pattern=VERDICT_ID),
            "verdict": words(Ruling, "The verdict."),
            "summary": text("One sentence that can be read to a customer."),
            "digest": text("Its digest.", pattern=DIGEST),
            "judged_at": moment("When it was judged."),
        },
    )


def _part() -> Schema:
    given = {"type": "object"}
    return thing(
        "Which part it is, as the request named it.",
        {
            "application": or_null({**given, "description": "The vehicle and place that it is fitted to."}),
            "side": or_null(words(Side, "The side of the axle.")),
            "vehicle": or_null(text("The caller's own name for the vehicle.")),
            "odometer": or_null({**given, "description": "What the odometer showed."}),
            "reference": or_null(text("The caller's own job number.")),
            "axle_id": or_null(text("The axle verdict that this is a side of.", pattern=VERDICT_ID)),
        },
    )


def _measured() -> Schema:
    return thing(
        "Every reading of the request.",
        {
            "stage": words([Stage.AFTER_MACHINING], "When the readings were taken."),
            "points": {
                "type": "object",
                "description": "How many readings each track has.",
                "additionalProperties": {"type": "integer", "minimum": 1},
            },
            "readings": {
                "type": "object",
                "description": "The readings by their names in the request, each to its last digit.",
            },
        },
    )


def _instrument() -> Schema:
    return thing(
        "What it was measured with.",
        {
            "label": or_null(text("The caller's name for the gauge.")),
            "calibration_due": or_null(text("The day until which its calibration holds.")),
            "taken": or_null(
                ref("InstrumentTaken", "Its figures and who states them; null for a verdict of an engine before 2.")
            ),
            "guard_band": number("The expanded uncertainty (k = 2) of one reading.", minimum=0),
        },
    )

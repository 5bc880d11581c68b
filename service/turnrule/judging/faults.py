"""What is wrong with a request that its shape alone does not show; each fault names the field and the remedy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy
from turnrule.judging.words import Face


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: a JSON Pointer in the contract's names, a stable code, a sentence with the remedy."""

    pointer: str
    code: str
    detail: str


class PartError(Exception):
    """The request cannot be judged as it stands; `faults` says why, all at once."""

    code = "invalid_request"

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(f"{fault.pointer}: {fault.detail}" for fault in faults))
        self.faults = faults


def faults_of(
    part: Part,
    *,
    caller: LimitSet | None,
    policy: Policy,
    catalogue: Catalogue,
    record: Record | None = None,
) -> tuple[Fault, ...]:
    """Every fault of the whole; empty when the part can be judged. `record` is the one found for it, if any."""
    return (
        *_findings(part, catalogue),
        *_faces(part),
        *_tracks(part),
        *_history(part),
        *_basis(part, record, caller, policy),
        *_regulations(policy, catalogue),
    )


def _findings(part: Part, catalogue: Catalogue) -> Iterator[Fault]:
    for index, finding in enumerate(part.findings):
        rule = catalogue.findings.get(finding.code)
        pointer = f"/findings/{index}"
        if rule is None:
            yield Fault(
                pointer,
                "unknown_finding",
                f"{finding.code!r} is not in the catalogue of findings; take a code from GET /v1/findings",
            )
        elif part.kind not in rule.kinds:
            yield Fault(
                pointer,
                "finding_of_another_kind",
                f"{finding.code!r} is not a finding of a {part.kind.value}; "
                f"it is one of {', '.join(sorted(rule.kinds))}",
            )
        if finding.face is not None and finding.face not in part.faces:
            yield Fault(
                pointer,
                "face_of_another_kind",
                f"a {part.kind.value} has no face {finding.face.value!r}; "
                f"name one of {', '.join(part.faces)} or leave it out",
            )


def _faces(part: Part) -> Iterator[Fault]:
    for face in part.readings.grooves:
        if face not in part.faces:
            yield Fault(
                "/groove_depth",
                "face_of_another_kind",
                f"a {part.kind.value} has no face {face.value!r}; give {', '.join(part.faces)}",
            )
    if part.cut is None:
        return
    given = {
        Face.INBOARD: part.cut.inboard,
        Face.OUTBOARD: part.cut.outboard,
        Face.DEPTH: part.cut.depth,
    }
    for face, depth in given.items():
        if face in part.faces and depth is None:
            yield Fault(f"/cut/{face.value}", "missing", "say how deep this face is cut; 0 for not at all")
        if face not in part.faces and depth is not None:
            yield Fault(
                f"/cut/{face.value}",
                "face_of_another_kind",
                f"a cut of a {part.kind.value} has {', '.join(part.faces)}",
            )


def _tracks(part: Part) -> Iterator[Fault]:
    size = "thickness" if part.kind.is_rotor else "diameter"
    if part.readings.inner_track and not part.readings.track:
        yield Fault(f"/{size}", "missing", f"{size}_inner is the second track; give the first one as {size} too")


def _history(part: Part) -> Iterator[Fault]:
    for index, earlier in enumerate(part.history):
        if part.odometer_km is None:
            yield Fault("/vehicle/odometer", "missing", "a history needs today's odometer to be told from it")
            return
        if earlier.odometer_km > part.odometer_km:
            yield Fault(
                f"/history/{index}/odometer",
                "out_of_range",
                "an earlier reading cannot stand at a greater distance than today's odometer; check both",
            )


def _basis(part: Part, record: Record | None, caller: LimitSet | None, policy: Policy) -> Iterator[Fault]:
    if caller is not None and not policy.accept_caller_limits:
        yield Fault(
            "/limits",
            "caller_limits_refused",
            f"{policy.source} judges by the reference store only; leave limits out and have them entered there",
        )
    if part.application is None and part.marking is None and caller is None and record is None:
        yield Fault(
            "/application",
            "missing",
            "nothing says which limits hold: give the application, or limits, or the marking on the part",
        )


def _regulations(policy: Policy, catalogue: Catalogue) -> Iterator[Fault]:
    for code in policy.regulations:
        if code not in catalogue.regulations:
            yield Fault(
                "/policy",
                "unknown_regulation",
                f"{policy.source} names the regulation {code!r}, which the pack does not hold; mend the policy",
            )

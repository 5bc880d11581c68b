"""What is wrong with a request that its shape alone does not show; each fault names the field and the remedy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from turnrule.judging.catalogue import Catalogue
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import Part, Services
from turnrule.judging.policy import Policy
from turnrule.judging.words import Face, Stage


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
        *_cut_made(part),
        *_tracks(part),
        *_life(part),
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


def _cut_made(part: Part) -> Iterator[Fault]:
    """What was done at the lathe is told of a finished part only, and of the faces that it has."""
    made = part.cut_made
    if part.stage is not Stage.AFTER_MACHINING:
        for name, given in (("cut_made", made), ("before", part.before)):
            if given is not None:
                yield not_finished(name)
    if made is None:
        return
    for face, depth in {Face.INBOARD: made.inboard, Face.OUTBOARD: made.outboard, Face.DEPTH: made.depth}.items():
        if face in part.faces and depth is None:
            yield Fault(f"/cut_made/{face.value}", "missing", "say how much was taken off this face; 0 for nothing")
        if face not in part.faces and depth is not None:
            yield Fault(
                f"/cut_made/{face.value}",
                "face_of_another_kind",
                f"the cut made of a {part.kind.value} has {', '.join(part.faces)}",
            )


def not_finished(name: str) -> Fault:
    """The fault of a field that only a finished part has."""
    detail = f"{name} tells of a part that was machined: give stage after_machining with it, or leave it out"
    return Fault(f"/{name}", "not_machined_yet", detail)


def _tracks(part: Part) -> Iterator[Fault]:
    size = "thickness" if part.kind.is_rotor else "diameter"
    if part.readings.inner_track and not part.readings.track:
        yield Fault(f"/{size}", "missing", f"{size}_inner is the second track; give the first one as {size} too")


def _life(part: Part) -> Iterator[Fault]:
    """What is given for the life that is left must lie before today's odometer."""
    today = part.odometer_km
    if today is None:
        for given, what in ((part.history, "a history"), (part.new, "the part when new"), (part.services, "services")):
            if given:
                yield Fault("/vehicle/odometer", "missing", f"{what} needs today's odometer to be told from it")
                return
        return
    for index, earlier in enumerate(part.history):
        if earlier.odometer_km > today:
            yield Fault(
                f"/history/{index}/odometer",
                "out_of_range",
                "an earlier reading cannot stand at a greater distance than today's odometer; check both",
            )
    if part.new is not None and part.new.odometer_km > today:
        yield Fault(
            "/when_new/odometer",
            "out_of_range",
            "the part cannot have been new at a greater distance than today's odometer; check both",
        )
    if part.services is not None:
        yield from service_faults(part.services, today)


def service_faults(services: Services, odometer_km: Decimal) -> Iterator[Fault]:
    """What is wrong with the services, as of today's odometer."""
    if (services.interval_km is None) == (not services.at_km):
        yield Fault(
            "/services",
            "interval_or_odometers",
            "give the service interval, or the odometers of the services, and not both",
        )
    if services.at_km and services.from_km > 0:
        yield Fault(
            "/services/last", "last_without_interval", "the last service counts an interval; leave it out beside a list"
        )
    if services.interval_km is not None and services.interval_km <= 0:
        yield Fault("/services/interval", "out_of_range", "give a service interval above 0")
    if services.from_km > odometer_km:
        yield Fault(
            "/services/last", "out_of_range", "the last service cannot stand at more than today's odometer; check both"
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
    for code in policy.jurisdictions:
        if code not in catalogue.jurisdictions:
            yield Fault(
                "/policy",
                "unknown_jurisdiction",
                f"{policy.source} turns on the laws of {code!r}, of which the pack holds none; mend the policy",
            )

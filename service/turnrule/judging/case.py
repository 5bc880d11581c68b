"""The case that is being judged: the part with its figures, limits, policy and uncertainty, worked out once."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from turnrule.judging.catalogue import Catalogue, Regulation
from turnrule.judging.findings import Weighed, weigh
from turnrule.judging.governing import (
    Origins,
    Strength,
    all_limits,
    discard_limit,
    machining_limit,
    permission,
)
from turnrule.judging.limits import LimitSet, Record
from turnrule.judging.parts import Part
from turnrule.judging.policy import Policy
from turnrule.judging.readings import Measured, measure
from turnrule.judging.uncertainty import Uncertainty, of_instrument
from turnrule.judging.verdict import Limits
from turnrule.judging.words import Effect, LatheKind, Machining, Stage


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that the checks are made from; `withdrawn` says why the record for the part must not be used."""

    part: Part
    origins: Origins
    policy: Policy
    catalogue: Catalogue
    on: datetime.date
    measured: Measured
    uncertainty: Uncertainty
    discard: Strength
    machining: Strength
    limits: Limits
    laws: tuple[Regulation, ...]
    weighed: tuple[Weighed, ...]
    withdrawn: str | None = None

    @property
    def finished(self) -> bool:
        """True where the readings were taken after machining."""
        return self.part.stage is Stage.AFTER_MACHINING

    def having(self, effect: Effect) -> tuple[Weighed, ...]:
        """The reported findings with this effect."""
        return tuple(weighed for weighed in self.weighed if weighed.effect is effect)


def prepare(
    part: Part,
    *,
    record: Record | None,
    caller: LimitSet | None,
    policy: Policy,
    catalogue: Catalogue,
    on: datetime.date,
    withdrawn: str | None = None,
) -> Case:
    """Work out what all checks share."""
    origins = Origins(record, caller)
    in_force = catalogue.in_force(policy.regulations, policy.jurisdictions)
    laws = tuple(law for law in in_force if part.kind in law.kinds)
    discard = discard_limit(part, origins, policy, laws)
    machining = machining_limit(part, origins, policy, laws, discard)
    expansion = record.limits.expansion_per_k if record else None
    if expansion is None and caller is not None:
        expansion = caller.expansion_per_k
    return Case(
        part=part,
        origins=origins,
        policy=policy,
        catalogue=catalogue,
        on=on,
        measured=measure(part, expansion_per_k=expansion, lathe=lathe_for(part, permission(origins))),
        uncertainty=of_instrument(part.instrument, policy.instrument),
        discard=discard,
        machining=machining,
        limits=all_limits(part, origins, policy, discard, machining),
        laws=laws,
        weighed=weigh(part, policy, catalogue),
        withdrawn=withdrawn,
    )


def lathe_for(part: Part, allowed: Machining) -> LatheKind:
    """The lathe as stated; else the one that the record insists on; else a bench lathe."""
    if part.lathe is not None:
        return part.lathe
    return LatheKind.ON_VEHICLE if allowed is Machining.ON_VEHICLE_ONLY else LatheKind.BENCH
